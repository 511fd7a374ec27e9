"""Self-check of a store and of the machine it is on: what is missing or off, and what to do."""

import os
import shutil
import stat
from collections.abc import Iterator
from datetime import datetime
from enum import StrEnum
from importlib.util import find_spec
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from sqlalchemy import Connection

from rvsmlog.dates import show_instant
from rvsmlog.frozen import dataclass
from rvsmlog.records.operator import Operator
from rvsmlog.store.connection import SCHEMA_REVISION, Store, revision
from rvsmlog.store.reading.books import OPERATOR, find_book
from rvsmlog.store.reading.reader import read, view
from rvsmlog.store.safekeeping.guards import missing_guards
from rvsmlog.store.writing.clock import clock_state

#: Less free room than this is too little whatever the store's size, bytes.
_LEAST_ROOM = 50 << 20
_OTHERS, _OTHERS_WRITE = 0o077, 0o022
#: Each extra: the module that it brings, and what needs it.
_EXTRAS = (
    ("plot", "matplotlib", "`rvsmlog drift --plot` needs it for a .png"),
    ("postgres", "psycopg", "a store on a PostgreSQL server needs it"),
)


class State(StrEnum):
    """How one thing stands."""

    GOOD = "good"
    OFF = "off"
    NOT_INSTALLED = "not installed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """One thing that was looked at.

    Parameters
    ----------
    what : str
        The thing.
    state : State
        How it stands.
    says : str
        What was found.
    do : str
        What to do; ``""`` where nothing is to be done.
    """

    what: str
    state: State = State.GOOD
    says: str = ""
    do: str = ""


def self_check(store: Store, now: datetime) -> tuple[Looked, ...]:
    """Look at an open store of any schema, and at what the program has on this machine.

    Parameters
    ----------
    store : Store
        Open.
    now : datetime
        What the machine's clock says, aware.
    """
    return (*_store(store, now), *_file(store.path), *_machine())


def _store(store: Store, now: datetime) -> Iterator[Looked]:
    """Look at schema, guards, log, clock and time zone."""
    schema = revision(store) or "none"
    if schema != SCHEMA_REVISION:
        newer = schema > SCHEMA_REVISION
        yield Looked(
            what="schema",
            state=State.OFF,
            says=f"{schema}; this program has {SCHEMA_REVISION}",
            do="install a newer rvsmlog" if newer else "run `rvsmlog store upgrade`",
        )
        return
    yield Looked(what="schema")
    with store.reading() as connection:
        lost = missing_guards(connection)
        yield (
            Looked(
                what="triggers and indexes",
                state=State.OFF,
                says="; ".join(lost),
                do="run `rvsmlog store verify`, and find out who changed the store",
            )
            if lost
            else Looked(what="triggers and indexes")
        )
        if store.is_sqlite:
            yield _journal(connection, store.name)
        yield _clock(connection, now)
        yield _zone(connection)


def _journal(connection: Connection, name: str) -> Looked:
    """Look at how the file is written."""
    mode = connection.exec_driver_sql("PRAGMA journal_mode").scalar()
    if mode == "wal":
        return Looked(what="write-ahead log")
    return Looked(
        what="write-ahead log",
        state=State.OFF,
        says=f"the journal mode is {mode}: readers and writers keep each other waiting",
        do=f"make a backup and restore it over {name} with --replace",
    )


def _clock(connection: Connection, now: datetime) -> Looked:
    """Hold the machine's clock against the newest entry of each logbook."""
    barred = [each for each in clock_state(connection, now).times if each.bars]
    if not barred:
        return Looked(what="clock")
    worst = max(barred, key=lambda each: each.ahead)
    return Looked(
        what="clock",
        state=State.OFF,
        says=f"it says {show_instant(now)}; {worst.newest} was made at "
        f"{show_instant(worst.made_at)}: nothing can be entered there",
        do="set the machine's clock; if it is right and was wrong then, see `rvsmlog store clock`",
    )


def _zone(connection: Connection) -> Looked:
    """Look for the data of the operator's time zone."""
    book = find_book(connection, OPERATOR)
    found = read(connection, view(connection, book), Operator.kind) if book else ()
    name = max(found, key=lambda each: each.first).record.time_zone if found else "UTC"
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        return Looked(
            what="time zones",
            state=State.OFF,
            says=f"there are no data for {name}",
            do="pip install tzdata",
        )
    return Looked(what="time zones")


def _file(path: Path | None) -> Iterator[Looked]:
    """Look at the file's permissions and at the room beside it."""
    if path is None:
        return
    if os.name == "posix":
        yield _permissions("permissions of the file", path, _OTHERS, "chmod 600")
        # A file can be put in the place of another by whoever may write its folder.
        yield _permissions("permissions of the folder", path.parent, _OTHERS_WRITE, "chmod go-w")
    free = shutil.disk_usage(path.parent).free
    wanted = max(_LEAST_ROOM, 2 * path.stat().st_size)
    if free >= wanted:
        yield Looked(what="free room")
    else:
        yield Looked(
            what="free room",
            state=State.OFF,
            says=f"{free >> 20:,} MiB; a backup or an upgrade may need {wanted >> 20:,} MiB",
            do="free some room on that disk",
        )


def _permissions(what: str, path: Path, barred: int, mend: str) -> Looked:
    """Look at who else may read or write."""
    status = path.stat()
    mode = stat.S_IMODE(status.st_mode)
    sticky = bool(mode & stat.S_ISVTX)  # only owners remove or replace files there
    if not mode & barred or sticky:
        return Looked(what=what)
    return Looked(
        what=what,
        state=State.OFF,
        says=f"{mode:04o}: others than its owner may {'write' if mode & 0o022 else 'read'} it",
        do=f"{mend} {path}, unless that is meant",
    )


def _machine() -> Iterator[Looked]:
    """Look for the extras."""
    for extra, module, needs in _EXTRAS:
        if find_spec(module) is not None:
            yield Looked(what=f"extra {extra}")
        else:
            yield Looked(
                what=f"extra {extra}",
                state=State.NOT_INSTALLED,
                says=f"not installed; {needs}",
                do=f"pip install 'rvsmlog[{extra}]'",
            )
