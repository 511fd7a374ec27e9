"""The demo: an invented operator's store, built from the CSV files by the ordinary import."""

import json
from collections.abc import Callable
from datetime import date, datetime

from rvsmlog.dates import parse_date, parse_instant
from rvsmlog.errors import RvsmlogError, StoreError
from rvsmlog.frozen import dataclass
from rvsmlog.records.kinds import KIND
from rvsmlog.records.operator import Operator
from rvsmlog.shipped import shipped
from rvsmlog.store.connection import (
    Store,
    make_engine,
    open_store,
    revision,
    store_path,
    store_url,
)
from rvsmlog.store.files import new_file
from rvsmlog.store.importing.csv_import import import_csv
from rvsmlog.store.importing.drift_keeping import refresh_drift
from rvsmlog.store.reading.airframes import registrations
from rvsmlog.store.reading.books import OPERATOR, find_book
from rvsmlog.store.reading.reader import read, view
from rvsmlog.store.safekeeping.schema import create_store, make_tables

#: Who records the demo, and by whom a demo store is known again.
DEMO_AUTHOR = "rvsmlog demo"
_DESCRIPTION = "demo.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Demo:
    """What the demo is about.

    Parameters
    ----------
    operator : str
        The invented operator.
    at : datetime
        The instant at which the demo looks at its records.
    level : int
        The flight level asked about.
    pilot : str
        The code of the pilot who asks.
    ends_on : date
        The last day on record.
    commands : tuple of str
        Commands to go on with, without the program's name and the store.
    files : tuple of (str, str)
        Each file with the kind of its rows, in the order of their import.
    """

    operator: str
    at: datetime
    level: int
    pilot: str
    ends_on: date
    commands: tuple[str, ...]
    files: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoStore:
    """Where the demo store is.

    Parameters
    ----------
    where : str
        A file or a URL, for ``--store``.
    made : bool
        False when it was there already.
    kept_clear_of : str or None
        The store that was named, but is something else.
    """

    where: str
    made: bool
    kept_clear_of: str | None = None


def demo() -> Demo:
    """Read what the demo is about from its folder."""
    described = json.loads((shipped("sample_data") / _DESCRIPTION).read_text("utf-8"))
    return Demo(
        operator=described["operator"],
        at=parse_instant(described["at"]),
        level=described["level"],
        pilot=described["pilot"],
        ends_on=parse_date(described["ends_on"]),
        commands=tuple(described["try"]),
        files=tuple((each["file"], each["kind"]) for each in described["files"]),
    )


def demo_store(named: str | None, clock: Callable[[], datetime]) -> DemoStore:
    """Find the demo store, or build it where nothing is yet.

    Parameters
    ----------
    named : str or None
        The store that was asked for. Where it holds other records it is left alone, and the demo
        has a file of its own in the user's data folder; without a name it has that too.
    clock : callable
        Gives the present instant.

    Raises
    ------
    StoreError
        When the demo's own file holds something else, or a store cannot be made.
    """
    if named is not None:
        if not _exists(named):
            build_demo(named, clock)
            return DemoStore(where=named, made=True)
        if is_demo(named):
            return DemoStore(where=named, made=False)
    own = own_store()
    if not _exists(own):
        build_demo(own, clock)
        return DemoStore(where=own, made=True, kept_clear_of=named)
    if not is_demo(own):
        raise StoreError(
            f"{own} exists and is no demo store", "name a file that does not exist with --store"
        )
    return DemoStore(where=own, made=False, kept_clear_of=named)


def own_store() -> str:
    """Give the demo's own file in the user's data folder."""
    from platformdirs import user_data_path  # imported here: only this path needs it

    return str(user_data_path("rvsmlog", appauthor=False) / "demo.sqlite3")


def is_demo(where: str) -> bool:
    """Say whether a store is a demo store: its first entry is the demo's own."""
    try:
        with open_store(where) as store, store.reading() as connection:
            book = find_book(connection, OPERATOR)
            if book is None:
                return False
            first = read(connection, view(connection, book, 1), Operator.kind)
    except RvsmlogError:
        return False
    return bool(first) and (first[0].recorded_by, first[0].record.name) == (
        DEMO_AUTHOR,
        demo().operator,
    )


def build_demo(where: str, clock: Callable[[], datetime]) -> None:
    """Make a store and import the demo into it.

    A file is built beside its place and put there whole, so that what an interruption leaves is
    never taken for the demo. Nothing that stands at its place is overwritten.

    Raises
    ------
    StoreError
        When there is something at that place already, or it cannot be made.
    """
    path = store_path(store_url(where))
    if path is None:
        with create_store(where) as store:
            _fill(store, clock)
        return
    with new_file(path) as draft:
        make_tables(draft)
        with open_store(str(draft)) as store:
            _fill(store, clock)


def _fill(store: Store, clock: Callable[[], datetime]) -> None:
    """Import every file of the demo."""
    folder, about = shipped("sample_data"), demo()

    def not_before_the_demo() -> datetime:
        # A machine whose clock is behind still gets its demo: nothing in it is in the future then.
        return max(clock(), about.at)

    for name, kind in about.files:
        result = import_csv(
            store, folder / name, KIND[kind], by=DEMO_AUTHOR, clock=not_before_the_demo
        )
        if result.bad:
            raise StoreError(f"the demo's {name} is damaged: {result.bad[0]}", "install anew")
    with store.reading() as connection:
        fleet = registrations(connection)
    for _, book in fleet:
        refresh_drift(store, book, about.at)


def _exists(where: str) -> bool:
    """Say whether there is anything at a place: a file, or tables in a server's database."""
    url = store_url(where)
    path = store_path(url)
    if path is not None:
        return path.exists()
    with Store(make_engine(url), url) as store:
        return revision(store) is not None
