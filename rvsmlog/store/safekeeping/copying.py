"""A whole store copied into an empty one, from database to database: a file to a server, and back.

Numbers, authors, times and digests stay as they were made; every digest is computed anew on both
sides, and the seals are compared before anything is kept.
"""

from collections.abc import Callable, Iterator
from datetime import datetime

from sqlalchemy import Connection

from rvsmlog.errors import StoreError
from rvsmlog.records.base import Logbook
from rvsmlog.store.connection import Store
from rvsmlog.store.reading.books import Book, books
from rvsmlog.store.safekeeping.exchange import in_order
from rvsmlog.store.safekeeping.transfer import TakenIn, check_empty, check_kept, taken_in, told
from rvsmlog.store.safekeeping.verify import BookWalk
from rvsmlog.store.writing.foreign import Foreign, record_of
from rvsmlog.store.writing.logbook import writing

Progress = Callable[[int], None]


def copy_store(
    source: Store,
    target: Store,
    *,
    by: str,
    clock: Callable[[], datetime],
    progress: Progress | None = None,
) -> tuple[TakenIn, ...]:
    """Copy every logbook of a store into an empty one, in one transaction.

    Parameters
    ----------
    source : Store
        Open; it is read in one state and stays as it is.
    target : Store
        Open and empty; on another database or file.
    by : str
        Who copies; entries keep their authors.
    clock : callable
        Gives the present instant.
    progress : callable, optional
        Told the number of entries copied, now and then.

    Returns
    -------
    tuple of TakenIn
        What became of each logbook.

    Raises
    ------
    InputError
        When the target holds a logbook already.
    StoreError
        When an entry of the source is not as it was written, or the target did not keep what was
        written: nothing was written then.
    """
    taken = []
    done = 0
    with source.reading() as here, writing(target, by, clock) as log:
        check_empty(log.connection)
        for book in in_order(books(here)):
            copy = log.open_book(Logbook(book.kind), book.name, book.uid)
            added = log.replay(copy, told(_entries(here, book), progress, done))
            done += added
            taken.append(taken_in(log.connection, copy, added))
        check_kept(log.connection, (each.seal for each in taken))
    return tuple(taken)


def _entries(connection: Connection, book: Book) -> Iterator[Foreign]:
    """Give each entry of a logbook, as long as its digests agree."""
    walk = BookWalk(connection, book)
    for head, scalars, digest in walk:
        if walk.faults or scalars is None:
            break
        kept = {name: value for name, value in scalars.items() if value is not None}
        yield Foreign(head=head, record=record_of(head.kind, kept), scalars=kept, digest=digest)
    if walk.faults:
        raise StoreError(
            f"not copied: {walk.faults[0]}", "run `rvsmlog store verify`; restore a backup"
        )
