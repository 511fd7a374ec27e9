"""Records of one kind made ready for the log, by columns."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from rvsmlog.records.base import Record, RecordKind
from rvsmlog.records.fields import Scalar
from rvsmlog.store.encoding import pack_details

Column = Sequence[Scalar | None]


class Ready(NamedTuple):
    """Records of one kind, in their order.

    Parameters
    ----------
    kind : RecordKind
        What they are.
    names : tuple of str
        The fields that are given; the others are absent from all of them.
    columns : sequence of sequence
        Those fields as stored, each of all records.
    bodies : sequence of bytes
        What of each goes into the digest.
    """

    kind: RecordKind
    names: tuple[str, ...]
    columns: Sequence[Column]
    bodies: Sequence[bytes]

    def column(self, name: str) -> Column:
        """Give one field of all records."""
        if name in self.names:
            return self.columns[self.names.index(name)]
        return (None,) * len(self.bodies)

    def scalars(self) -> Iterator[tuple[Scalar | None, ...]]:
        """Give each record's fields in the order in which the kind declares them."""
        return zip(*map(self.column, self.kind.by_name), strict=True)

    def record(self, place: int, cls: type[Record] | None = None) -> Record:
        """Give one as a record, or as one of a class like it."""
        scalars = [self.column(name)[place] for name in self.kind.by_name]
        return self.kind.read_row(scalars, cls)

    def picked(self, places: Sequence[int]) -> "Ready":
        """Give some of them, in the order of the places."""
        columns = [[column[place] for place in places] for column in self.columns]
        bodies = [self.bodies[place] for place in places]
        return Ready(self.kind, self.names, columns, bodies)


def made_ready(kind: RecordKind, records: Sequence[Record]) -> Ready:
    """Make records of one kind ready that were checked."""
    scalars = [record.scalars() for record in records]
    columns = [[each[name] for each in scalars] for name in kind.by_name]
    return Ready(kind, tuple(kind.by_name), columns, list(map(pack_details, scalars)))
