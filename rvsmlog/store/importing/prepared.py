"""Rows of text made ready for the log by columns: what is stored, and what goes into the digest.

A file of readings says the same few things again and again: a phase, a level, a pilot, a round
number of feet. What a cell of a column means is therefore remembered by its text. The first time
it is read and checked by the field's own type, as everywhere else. What the fields must be like
together is asked by the record's own check (:mod:`rvsmlog.store.importing.row_checks`).
"""

import re
from collections.abc import Callable, Iterable, Sequence
from itertools import repeat
from typing import TypeVar

from rvsmlog.errors import InputError
from rvsmlog.records.base import FieldSpec, RecordKind
from rvsmlog.records.fields import Scalar
from rvsmlog.records.trade_fields import Instant
from rvsmlog.store.csv_cells import as_written
from rvsmlog.store.encoding import pack, pack_wholes
from rvsmlog.store.importing.row_checks import RowChecks
from rvsmlog.store.ready import Column, Ready

#: So many texts of a column are remembered.
_REMEMBERED = 4096
K = TypeVar("K")
V = TypeVar("V")
# The parts of an instant in UTC, and a day by which the others are read.
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_MINUTE = re.compile(r"T\d{2}:\d{2}", re.ASCII)
_SECOND = re.compile(r"(:\d{2})?Z", re.ASCII)
_SOME_DAY = "1970-01-01"


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
        self.kind = kind
        self._width = len(names)
        fields = kind.by_name
        self._columns = [
            (at, _column(fields[name])) for at, name in enumerate(names) if name in fields
        ]
        # Required columns are there: the header was checked.
        self._left_out = [
            (spec.name, scalar)
            for spec in kind.fields
            if spec.name not in names and (scalar := _default(spec)) is not None
        ]
        given = [column.spec.name for _, column in self._columns]
        self.names = (*given, *(name for name, _ in self._left_out))
        self._checks = RowChecks(kind)

    def read(self, rows: Sequence[Sequence[str]]) -> Ready:
        """Make rows ready.

        Parameters
        ----------
        rows : sequence of sequence of str
            The cells of each.

        Raises
        ------
        InputError
            When one of the rows has more or fewer cells than there are columns, a cell is wrong,
            or the fields of a row contradict each other.
        """
        if set(map(len, rows)) != {self._width}:
            raise InputError("a row has other fields than the header")
        by_column = list(zip(*rows, strict=True))
        columns: list[Column] = []
        packed: dict[str, Iterable[bytes]] = {}
        for at, column in self._columns:
            scalars = column.read(by_column[at])
            columns.append(scalars)
            packed[column.spec.name] = column.packed(scalars)
        for name, scalar in self._left_out:
            columns.append([scalar] * len(rows))
            packed[name] = repeat(pack(name, scalar), len(rows))
        by_name = (packed[name] for name in sorted(packed))
        bodies = list(map(b"".join, zip(*by_name, strict=True)))
        ready = Ready(self.kind, self.names, columns, bodies)
        self._checks.hold(ready)
        return ready


class _Remembered(dict[K, V]):
    """What a function gives, remembered for some of the things it was asked for.

    When there are too many, all are forgotten: days come one after the other, and do not come back.
    """

    def __init__(self, function: Callable[[K], V]) -> None:
        super().__init__()
        self._function = function

    def __missing__(self, key: K) -> V:
        value = self._function(key)
        if len(self) >= _REMEMBERED:
            self.clear()
        self[key] = value
        return value


class _Column:
    """Reads the cells of one column."""

    def __init__(self, spec: FieldSpec) -> None:
        self.spec = spec
        self._scalars = _Remembered(self._scalar)
        self._packed = _Remembered(self._pack)

    def read(self, texts: Sequence[str]) -> Column:
        """Read and check cells.

        Raises
        ------
        InputError
            When one is wrong.
        """
        return list(map(self._scalars.__getitem__, texts))

    def packed(self, scalars: Column) -> list[bytes]:
        """Give cells as they go into the digest."""
        return list(map(self._packed.__getitem__, scalars))

    def _scalar(self, text: str) -> Scalar | None:
        """Read and check one cell."""
        if not text or text.isspace():
            if self.spec.required:
                raise InputError(f"{self.spec.name} is missing")
            return _default(self.spec)
        # A quote that an export put before text, so that no spreadsheet obeys it.
        value = self.spec.type.parse(as_written(text) if text[0] == "'" else text)
        return self.spec.type.to_scalar(value)

    def _pack(self, scalar: Scalar | None) -> bytes:
        return b"" if scalar is None else pack(self.spec.name, scalar)


class _Instants(_Column):
    """Reads instants, of which no two are alike, though days, minutes and seconds are.

    In UTC an instant is the midnight of its day, and the minutes and seconds since then: each part
    can be read by itself. What is written in another way is read whole.
    """

    def __init__(self, spec: FieldSpec) -> None:
        super().__init__(spec)
        self._days = _Remembered(self._day)
        self._minutes = _Remembered(self._minute)
        self._seconds = _Remembered(self._second)

    def read(self, texts: Sequence[str]) -> Column:
        """Read and check cells, as any column does."""
        days, minutes, seconds = self._days, self._minutes, self._seconds
        try:
            return [days[text[:10]] + minutes[text[10:16]] + seconds[text[16:]] for text in texts]
        except InputError:
            return super().read(texts)

    def packed(self, scalars: Column) -> list[bytes]:
        """Give cells as they go into the digest."""
        wholes = [scalar for scalar in scalars if isinstance(scalar, int)]
        if len(wholes) < len(scalars):
            return super().packed(scalars)
        return pack_wholes(self.spec.name, wholes)

    def _day(self, text: str) -> int:
        """Give the midnight with which a day begins."""
        return self._whole(_DAY, text, f"{text}T00:00Z")

    def _minute(self, text: str) -> int:
        """Give the time from midnight to the beginning of a minute."""
        return self._whole(_MINUTE, text, f"{_SOME_DAY}{text}Z") - self._day(_SOME_DAY)

    def _second(self, text: str) -> int:
        """Give the time within a minute."""
        return self._whole(_SECOND, text, f"{_SOME_DAY}T00:00{text}") - self._day(_SOME_DAY)

    def _whole(self, form: re.Pattern[str], text: str, instant: str) -> int:
        """Read an instant of which a part is known to have its form."""
        if not form.fullmatch(text):
            raise InputError("written in another way")
        scalar = self._scalar(instant)
        assert isinstance(scalar, int)  # noqa: S101  # an instant is stored as one
        return scalar


def _column(spec: FieldSpec) -> _Column:
    """Give what reads a field's column."""
    return _Instants(spec) if isinstance(spec.type, Instant) else _Column(spec)


def _default(spec: FieldSpec) -> Scalar | None:
    """Give what is stored where a field is left out."""
    return None if spec.default is None else spec.type.to_scalar(spec.default)
