"""What a new entry of particulars leaves out that the one it takes the place of said."""

from rvsmlog.frozen import dataclass
from rvsmlog.records.base import FieldSpec, Record, Ref
from rvsmlog.records.kinds import PARTICULARS
from rvsmlog.store.connection import Store
from rvsmlog.store.reading.books import find_book
from rvsmlog.store.reading.reader import read, view


@dataclass(frozen=True, slots=True, kw_only=True)
class Replaced:
    """The entry whose place a new one takes.

    Parameters
    ----------
    before : Ref
        The earlier entry.
    dropped : tuple of FieldSpec
        Fields that it said and the new one does not.
    """

    before: Ref
    dropped: tuple[FieldSpec, ...]


def replaced_by(store: Store, ref: Ref, record: Record) -> Replaced | None:
    """Give what a new entry takes the place of.

    Parameters
    ----------
    store : Store
        Open.
    ref : Ref
        The new entry.
    record : Record
        What it says.

    Returns
    -------
    Replaced or None
        None for a correction, which keeps what it leaves out, for the first entry of its name, and
        for kinds of which every entry counts.
    """
    kind = record.kind
    if kind.name not in PARTICULARS:
        return None
    name = PARTICULARS[kind.name]
    with store.reading() as connection:
        book = find_book(connection, ref.logbook)
        standing = () if book is None else read(connection, view(connection, book, ref.entry), kind)
    if not any(each.first == ref.entry for each in standing):
        return None
    same = [
        each
        for each in standing
        if each.first != ref.entry
        and (not name or getattr(each.record, name) == getattr(record, name))
    ]
    if not same:
        return None
    before = same[-1]
    dropped = tuple(
        spec
        for spec in kind.fields
        if getattr(record, spec.name) is None and getattr(before.record, spec.name) is not None
    )
    return Replaced(before=before.ref, dropped=dropped)
