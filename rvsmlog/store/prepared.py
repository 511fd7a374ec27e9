"""Rows of text made ready for the log: record, scalars and canonical bytes, each cell read once.

A file of readings says the same few things again and again: a phase, a level, a pilot, a round
number of feet. What a cell of a column means is therefore remembered by its text: its value, the
scalar that is stored, and the bytes that go into the digest. The first time it is read and checked
by the field's own type, as everywhere else.
"""

from collections.abc import Callable, Sequence
from operator import itemgetter
from typing import Any, NamedTuple

from rvsmlog.errors import InputError
from rvsmlog.records.base import FieldSpec, Record, RecordKind
from rvsmlog.records.fields import Scalar
from rvsmlog.records.trade_fields import Instant
from rvsmlog.store.csv_cells import as_written
from rvsmlog.store.encoding import pack, pack_details

#: So many texts of a column are remembered; what is different in each row is not worth it.
_REMEMBERED = 4096


class Prepared(NamedTuple):
    """A record made ready.

    Parameters
    ----------
    record : Record
        Checked, all but what hangs on the log and the clock.
    scalars : tuple
        Its fields as stored, in the order in which the kind declares them.
    body : bytes
        Its fields as they go into the digest.
    """

    record: Record
    scalars: tuple[Scalar | None, ...]
    body: bytes


class _Cell(NamedTuple):
    """What a text in a column means."""

    value: Any
    scalar: Scalar | None
    packed: bytes


class _Column:
    """Reads the cells of one column."""

    def __init__(self, spec: FieldSpec) -> None:
        self.spec = spec
        self.known: dict[str, _Cell] = {}
        self.most = 0 if isinstance(spec.type, Instant) else _REMEMBERED

    def absent(self) -> _Cell:
        """Give what an empty cell means."""
        if self.spec.required:
            raise InputError(f"{self.spec.name} is missing")
        return self._cell(self.spec.default)

    def read(self, text: str) -> _Cell:
        """Read and check a cell that is not known yet.

        Raises
        ------
        InputError
            When it is wrong.
        """
        if not text or text.isspace():
            cell = self.absent()
        else:
            # A quote that an export put before text, so that no spreadsheet obeys it.
            cell = self._cell(self.spec.type.parse(as_written(text) if text[0] == "'" else text))
        if len(self.known) < self.most:
            self.known[text] = cell
        return cell

    def _cell(self, value: Any) -> _Cell:
        """Give a value with its scalar and its bytes."""
        if value is None:
            return _Cell(None, None, b"")
        scalar = self.spec.type.to_scalar(value)
        return _Cell(value, scalar, pack(self.spec.name, scalar))


class RowReader:
    """Makes the rows of a file ready, all of one kind and with the same columns.

    Parameters
    ----------
    kind : RecordKind
        What the rows are.
    names : sequence of str
        The columns in the file's order; those that are no field of the kind are passed over.
    """

    def __init__(self, kind: RecordKind, names: Sequence[str]) -> None:
        self._new = kind.cls
        at = [place for place, name in enumerate(names) if name in kind.by_name]
        columns = [_Column(kind.by_name[names[place]]) for place in at]
        self._at = at if len(at) < len(names) else None
        self._columns = [(column.known, column.read) for column in columns]
        given = {column.spec.name for column in columns}
        left_out = [_Column(spec) for spec in kind.fields if spec.name not in given]
        # Required columns are there: the header was checked.
        rest = [column.absent() for column in left_out]
        self._rest_values, self._rest_scalars, self._rest_packed = _turned(rest)
        order = [column.spec.name for column in (*columns, *left_out)]
        self._puts = [getattr(kind.cls, name).__set__ for name in order]
        self._as_declared = _picked([order.index(spec.name) for spec in kind.fields])
        told = [name for name in sorted(order) if name in given or any(self._rest_packed)]
        self._by_name = _picked([order.index(name) for name in told])

    def read(self, cells: Sequence[str]) -> Prepared:
        """Make one row ready.

        Parameters
        ----------
        cells : sequence of str
            As many as there are columns.

        Raises
        ------
        InputError
            When a cell is wrong, or the fields contradict each other.
        """
        texts = cells if self._at is None else [cells[place] for place in self._at]
        found = [
            known.get(text) or read(text)
            for (known, read), text in zip(self._columns, texts, strict=True)
        ]
        values, scalars, packed = zip(*found, strict=True)
        record = object.__new__(self._new)
        for put, value in zip(self._puts, values + self._rest_values, strict=True):
            put(record, value)
        # Each field was checked where it was read.
        record.check()
        return Prepared(
            record,
            self._as_declared(scalars + self._rest_scalars),
            b"".join(self._by_name(packed + self._rest_packed)),
        )


def _picked(places: Sequence[int]) -> Callable[[tuple[Any, ...]], tuple[Any, ...]]:
    """Give what picks some places out of a tuple, in this order."""
    if len(places) == 1:
        (place,) = places
        return lambda given: (given[place],)
    return itemgetter(*places)


def made_ready(record: Record) -> Prepared:
    """Make a record ready that was checked as a whole."""
    scalars = record.scalars()
    return Prepared(record, tuple(scalars.values()), pack_details(scalars))


def _turned(
    cells: Sequence[_Cell],
) -> tuple[tuple[Any, ...], tuple[Scalar | None, ...], tuple[bytes, ...]]:
    """Give the values, the scalars and the bytes of some cells."""
    values = tuple(cell.value for cell in cells)
    scalars = tuple(cell.scalar for cell in cells)
    return values, scalars, tuple(cell.packed for cell in cells)
