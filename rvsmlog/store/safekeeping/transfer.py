"""Logbooks taken in from a file: an airframe's into any store, a whole store's into an empty one.

Everything happens in one transaction: a file that is wrong anywhere leaves nothing behind. Numbers,
authors, times and digests stay as they were made; every digest is computed anew.
"""

from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from itertools import chain
from pathlib import Path

from sqlalchemy import Connection, select

from rvsmlog.errors import InputError, StoreError
from rvsmlog.facts import Seal
from rvsmlog.frozen import dataclass
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.base import Logbook
from rvsmlog.records.operator import Operator
from rvsmlog.store.connection import Store
from rvsmlog.store.encoding import next_digest
from rvsmlog.store.reading.airframes import registrations
from rvsmlog.store.reading.books import Book, as_book, books, find_book, seal
from rvsmlog.store.safekeeping.exchange_reader import BookHead, LogbookFile, open_logbooks
from rvsmlog.store.safekeeping.verify import BookWalk, Entered, verify
from rvsmlog.store.tables import logbook
from rvsmlog.store.writing.foreign import Foreign
from rvsmlog.store.writing.logbook import Writer, writing

Progress = Callable[[int], None]
_TELL = 2000
#: What a logbook begins with.
_FIRST = {Logbook.AIRFRAME: Airframe.kind.name, Logbook.OPERATOR: Operator.kind.name}


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """What became of one logbook of a file.

    Parameters
    ----------
    logbook : str
        Its name.
    registration : str or None
        The registration that the airframe bears by the logbook.
    added : int
        Entries added here; 0 when all were here already.
    seal : Seal
        The logbook's newest number and digest in this store now.
    beyond : int
        Entries that this store has and the file has not.
    """

    logbook: str
    registration: str | None
    added: int
    seal: Seal
    beyond: int = 0


def import_airframe(
    store: Store,
    path: Path,
    *,
    by: str,
    clock: Callable[[], datetime],
    progress: Progress | None = None,
) -> TakenIn:
    """Take in the logbook of one airframe, or the entries that it gained since it was last here.

    Parameters
    ----------
    store : Store
        Open.
    path : Path
        A file made by an export of one airframe.
    by : str
        Who takes it in; its entries keep their authors.
    clock : callable
        Gives the present instant.
    progress : callable, optional
        Told the number of entries read, now and then.

    Raises
    ------
    InputError
        When the file is no such file, its history is not that of the logbook here, or the airframe
        cannot be told from another one here. Nothing was written then.
    StoreError
        When the logbook here is not as it was written.
    """
    with open_logbooks(path) as file:
        if file.logbooks != 1:
            raise InputError(
                f"{path} holds {file.logbooks} logbooks, not that of one airframe",
                "take a whole store in with `rvsmlog store import`, into an empty store",
            )
        with writing(store, by, clock) as log:
            # The reading goes on to the end of the file, past the one logbook.
            (taken,) = [_merge(log, book, told(made, progress)) for book, made in file.books()]
    return taken


def import_store(
    store: Store,
    path: Path,
    *,
    by: str,
    clock: Callable[[], datetime],
    progress: Progress | None = None,
) -> tuple[TakenIn, ...]:
    """Take all logbooks of a file into an empty store, and verify it before it is kept.

    Parameters
    ----------
    store, path, by, clock, progress
        As :func:`import_airframe`; the file was made by an export of a store or an airframe.

    Raises
    ------
    InputError
        When there is a logbook already, or the file is wrong: nothing was written then.
    """
    with open_logbooks(path) as file, writing(store, by, clock) as log:
        check_empty(log.connection)
        taken = tuple(_import_books(log, file, progress))
        check_kept(log.connection, (each.seal for each in taken))
    return taken


def check_empty(connection: Connection) -> None:
    """Refuse a store that holds a logbook already."""
    known = books(connection)
    if known:
        raise InputError(
            f"the store holds the logbook {known[0].name} already",
            "make an empty one with `rvsmlog store init`, or take one airframe in with "
            "`rvsmlog airframe import`",
        )


def check_kept(connection: Connection, seals: Iterable[Seal]) -> None:
    """Verify a whole store just written, within its transaction, and hold its seals against some.

    Raises
    ------
    StoreError
        When it is not sound, or has other seals; the transaction must then be given up.
    """
    found = verify(connection)
    if found.faults or set(seals) != set(found.seals):
        raise StoreError("the store did not keep what was written", "try another disk")


def _import_books(log: Writer, file: LogbookFile, progress: Progress | None) -> Iterator[TakenIn]:
    """Take in each logbook of a file as a new one."""
    done = 0
    for head, made in file.books():
        book = _open(log, head)
        added = log.replay(book, told(_begun(head, made), progress, done))
        done += added
        yield taken_in(log.connection, book, added)


def told(made: Iterator[Foreign], progress: Progress | None, done: int = 0) -> Iterator[Foreign]:
    """Pass entries on, and tell how many there were."""
    for count, foreign in enumerate(made, done + 1):
        if progress is not None and count % _TELL == 0:
            progress(count)
        yield foreign


def _open(log: Writer, head: BookHead) -> Book:
    """Open a logbook that was begun elsewhere."""
    here = find_book(log.connection, head.name)
    if here is not None:
        raise InputError(
            f"the logbook {head.name} here was begun by itself, not taken over: the first entry "
            "differs",
            "only one of the two can be this airframe's history; keep the other store apart",
        )
    return log.open_book(head.kind, head.name, head.uid)


def _begun(head: BookHead, made: Iterator[Foreign]) -> Iterator[Foreign]:
    """Pass entries on; the first says whose logbook it is."""
    for foreign in made:
        if foreign.head.number == 1 and foreign.head.kind != _FIRST[head.kind]:
            raise InputError(
                f"{head.name}#1 is no entry that begins a logbook", "ask for the file anew"
            )
        yield foreign


def _merge(log: Writer, head: BookHead, made: Iterator[Foreign]) -> TakenIn:
    """Bring one airframe's logbook here up to that of a file."""
    if head.kind is not Logbook.AIRFRAME:
        raise InputError(
            f"the file holds the logbook {head.name}, not that of an airframe",
            "take a whole store in with `rvsmlog store import`, into an empty store",
        )
    row = log.connection.execute(select(logbook).where(logbook.c.uid == head.uid)).first()
    if row is None:
        book, beyond = _open(log, head), 0
        added = log.replay(book, _begun(head, made))
        if not added:
            raise InputError(f"the logbook {head.name} of the file has no entries", "nothing to do")
    else:
        book = as_book(row)
        if (book.kind, book.name) != (head.kind.value, head.name):
            raise InputError(
                f"the file calls the logbook {book.name} {head.name}", "ask for the file anew"
            )
        added, beyond = _append_missing(log, book, made)
    if added:
        _check_registration(log.connection, book)
    return taken_in(log.connection, book, added, beyond)


def _append_missing(log: Writer, book: Book, made: Iterator[Foreign]) -> tuple[int, int]:
    """Hold the common history against that here, then add what is missing.

    Returns
    -------
    tuple of int
        How many entries were added, and how many this store has beyond those of the file.
    """
    log.newest(book)
    walk = BookWalk(log.connection, book)
    here, previous = iter(walk), walk.digest
    beyond: list[Foreign] = []
    for foreign in made:
        kept = next(here, None)
        if kept is None:
            beyond.append(foreign)
            break
        digest = next_digest(previous, foreign.head, foreign.scalars)
        if not (digest == foreign.digest == kept.digest):
            raise _conflict(book, kept, foreign, sound=digest == foreign.digest)
        previous = digest
    more = sum(1 for _ in here)
    if walk.faults:
        raise StoreError(
            f"the logbook here is not as it was written: {walk.faults[0]}",
            "run `rvsmlog store verify`; restore a backup before taking anything in",
        )
    return log.replay(book, chain(beyond, made)), more


def _conflict(book: Book, kept: Entered, foreign: Foreign, *, sound: bool) -> InputError:
    """Say which entry differs, and how."""
    where = f"{book.name}#{foreign.head.number}"
    if not sound:
        return InputError(
            f"{where}: the digest in the file does not agree with what the entry says",
            "the file was changed; ask for it anew",
        )
    return InputError(
        f"{where} differs: here it is {_told_of(kept)}; in the file {foreign}",
        "the histories part at this entry; only one of them can be the aeroplane's",
    )


def _told_of(kept: Entered) -> str:
    """Say in short what an entry here is."""
    head = kept.head
    if kept.scalars is None:
        return f"damaged, {head.kind}"
    scalars = {name: value for name, value in kept.scalars.items() if value is not None}
    return str(Foreign(head=head, record=None, scalars=scalars, digest=kept.digest))


def _check_registration(connection: Connection, book: Book) -> None:
    """Refuse a registration that another airframe here bears: it would name neither."""
    borne = {name: registration for registration, name in registrations(connection)}
    for name, registration in borne.items():
        if name != book.name and registration == borne.get(book.name):
            raise InputError(
                f"{registration} is borne by {name} here and by {book.name} in the file",
                f"change the registration of {name} first with `rvsmlog airframe add`",
            )


def taken_in(connection: Connection, book: Book, added: int, beyond: int = 0) -> TakenIn:
    """Say what became of a logbook."""
    borne = {name: registration for registration, name in registrations(connection)}
    return TakenIn(
        logbook=book.name,
        registration=borne.get(book.name),
        added=added,
        seal=seal(connection, book),
        beyond=beyond,
    )
