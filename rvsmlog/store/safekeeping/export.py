"""Logbooks written to a file: all of a store, or that of one airframe."""

from collections.abc import Callable, Sequence
from pathlib import Path

from sqlalchemy import Connection

from rvsmlog.errors import StoreError
from rvsmlog.facts import Seal
from rvsmlog.frozen import dataclass
from rvsmlog.store.connection import Store
from rvsmlog.store.reading.airframes import find_airframe
from rvsmlog.store.reading.books import Book, books
from rvsmlog.store.reading.reader import newest_number
from rvsmlog.store.safekeeping.exchange import Lines, in_order, new_lines
from rvsmlog.store.safekeeping.verify import BookWalk

Progress = Callable[[int], None]
_TELL = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class Exported:
    """What was written to a file.

    Parameters
    ----------
    file : Path
        The file.
    entries : int
        How many entries.
    seals : tuple of Seal
        Newest number and digest of each logbook.
    """

    file: Path
    entries: int
    seals: tuple[Seal, ...]


def export_store(store: Store, path: Path, progress: Progress | None = None) -> Exported:
    """Write all logbooks of a store to a new file, and verify them on the way.

    Parameters
    ----------
    store : Store
        Open.
    path : Path
        The new file; compressed when its name ends in ``.gz``.
    progress : callable, optional
        Told the number of entries written, now and then.

    Raises
    ------
    StoreError
        When an entry is not as it was written, or the file cannot be made: there is none then.
    """
    with store.reading() as connection:
        return _export(connection, books(connection), path, progress)


def export_airframe(
    store: Store, registration: str, path: Path, progress: Progress | None = None
) -> Exported:
    """Write the logbook of one airframe to a new file, as :func:`export_store`.

    Raises
    ------
    InputError
        When no airframe bears the registration.
    StoreError
        As :func:`export_store`.
    """
    with store.reading() as connection:
        return _export(connection, (find_airframe(connection, registration),), path, progress)


def _export(
    connection: Connection, wanted: Sequence[Book], path: Path, progress: Progress | None
) -> Exported:
    """Write logbooks in their order."""
    total = sum(newest_number(connection, book) for book in wanted)
    seals = []
    with new_lines(path) as lines:
        lines.header(len(wanted), total)
        done = 0
        for book in in_order(wanted):
            seals.append(_export_book(connection, book, lines, done, progress))
            done += seals[-1].entry
    return Exported(file=path, entries=total, seals=tuple(seals))


def _export_book(
    connection: Connection, book: Book, lines: Lines, done: int, progress: Progress | None
) -> Seal:
    """Write one logbook entry by entry, while its digests are computed anew."""
    walk = BookWalk(connection, book)
    lines.book(book)
    for head, scalars, digest in walk:
        if walk.faults or scalars is None:
            break
        lines.entry(head, scalars, digest)
        if progress is not None and head.number % _TELL == 0:
            progress(done + head.number)
    if walk.faults:
        raise StoreError(
            f"not exported: {walk.faults[0]}", "run `rvsmlog store verify`; restore a backup"
        )
    seal = Seal(logbook=book.name, entry=walk.number, digest=walk.digest.hex())
    lines.seal(seal)
    return seal
