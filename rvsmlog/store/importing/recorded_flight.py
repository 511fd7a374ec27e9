"""Recorded flight data read row by row: named columns become samples, bad rows are counted."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import field
from datetime import datetime, timedelta
from pathlib import Path

from rvsmlog.dates import parse_instant
from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.records.fields import Real, Whole
from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.trade_fields import instant_to_scalar, scalar_to_instant
from rvsmlog.science.level_segments import Sample
from rvsmlog.store.csv_rows import Row, read_rows

#: What a row may give besides its time, each with the column in which it is looked for. The
#: primaries must be there; the others are taken where the column is.
FIELDS = (
    "primary_1_ft",
    "primary_2_ft",
    "standby_ft",
    "transponder_ft",
    "gnss_height_ft",
    "mach",
    "static_air_temperature_c",
    "total_air_temperature_c",
    "latitude_deg",
    "longitude_deg",
)
PRIMARIES = FIELDS[:2]
TIME_COLUMN = "time"
#: Sub-scale settings that are 1013.25 hPa, as hectopascals or inches of mercury.
_STANDARD_HPA = (1012.7, 1013.8)
_STANDARD_INHG = (29.905, 29.935)
_TELL_EVERY = 4096
_MICROSECONDS = 1_000_000.0

Tell = Callable[[int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """Which column of a file holds what.

    Parameters
    ----------
    time : str
        Instants in ISO 8601 with Z or an offset; with ``start`` seconds since then.
    named : mapping of str to str
        Columns of :data:`FIELDS` named by the user: they must be there. Those not named are
        looked for under their own names.
    settings : tuple of str
        Columns of sub-scale settings, hPa or inHg: only rows on 1013.25 hPa count.
    start : datetime or None
        Instant from which seconds count.
    """

    time: str = TIME_COLUMN
    named: Mapping[str, str] = field(default_factory=dict)
    settings: tuple[str, ...] = ()
    start: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Layout:
    """Where in a row stands what; the fewest cells that a row must have."""

    time: int
    fields: tuple[tuple[str, int], ...]
    settings: tuple[int, ...]
    cells: int


class Recording:
    """A file of recorded flight data, read once.

    Parameters
    ----------
    path : Path
        UTF-8, commas; lines before the header that begin with # are passed over.
    columns : Columns
        Which column holds what.
    tell : callable, optional
        Told how many bytes are read, now and then.

    Attributes
    ----------
    rows : int
        Rows below the header so far.
    left_out : Counter of str
        How many rows were left out, by reason; and single values, by column.
    """

    def __init__(self, path: Path, columns: Columns, tell: Tell | None = None) -> None:
        self.path = path
        self.columns = columns
        self.tell = tell
        self.rows = 0
        self.left_out: Counter[str] = Counter()
        self._fault: InputError | None = None
        self._done = 0
        self._limits = {name: _limits(name) for name in FIELDS}

    def instant(self, at_s: float) -> datetime:
        """Give the UTC instant of a sample, to the second."""
        exact = scalar_to_instant(round(at_s * _MICROSECONDS))
        return (exact + timedelta(microseconds=500_000)).replace(microsecond=0)

    def samples(self) -> Iterator[Sample]:
        """Give the rows that have a time and both altitudes on 1013.25 hPa.

        Raises
        ------
        InputError
            When the file or its columns cannot be read, time runs backwards, or no row is usable.
        """
        rows = self._told(read_rows(self.path))
        header = next((row for row in rows if not row.cells[0].lstrip().startswith("#")), None)
        layout = self._layout(header)
        newest, usable = float("-inf"), False
        for row in rows:
            self.rows += 1
            sample = self._sample(row, layout)
            if sample is None:
                continue
            if sample.at_s < newest:
                raise InputError(
                    f"{self.path}, line {row.line}: time runs backwards",
                    "give one recording after another, in order of time",
                )
            newest, usable = sample.at_s, True
            yield sample
        if not usable:
            raise self._fault or InputError(
                f"{self.path}: no row has a time and both altitudes",
                "name the columns with --time-column, --primary-1-column, --primary-2-column",
            )

    def _told(self, rows: Iterator[Row]) -> Iterator[Row]:
        """Give the rows on, and tell how far they go."""
        for number, row in enumerate(rows):
            self._done += len(row.raw) + 1
            if self.tell is not None and number % _TELL_EVERY == 0:
                self.tell(self._done)
            yield row

    def _layout(self, header: Row | None) -> _Layout:
        """Find the columns."""
        if header is None:
            raise InputError(f"{self.path} is empty", "the first row names the columns")
        names = [cell.strip() for cell in header.cells]
        wanted = {name: self.columns.named.get(name, name) for name in FIELDS}
        must = [wanted[name] for name in FIELDS if name in (*PRIMARIES, *self.columns.named)]
        for name in (self.columns.time, *must, *self.columns.settings):
            if names.count(name) != 1:
                how = "no column" if name not in names else "more than one column"
                raise InputError(
                    f"{self.path}: {how} {name!r}",
                    "columns here: " + ", ".join(names[:20]) + "; name yours with --...-column",
                )
        fields = tuple(
            (name, names.index(column)) for name, column in wanted.items() if column in names
        )
        settings = tuple(names.index(name) for name in self.columns.settings)
        time = names.index(self.columns.time)
        last = max(time, *settings, *(at for _, at in fields))
        return _Layout(time=time, fields=fields, settings=settings, cells=last + 1)

    def _sample(self, row: Row, layout: _Layout) -> Sample | None:
        """Read a row; None, and counted, where it does not serve."""
        cells = row.cells
        if len(cells) < layout.cells:
            self.left_out["rows cut short"] += 1
            return None
        at_s = self._time(row, cells[layout.time])
        if at_s is None:
            self.left_out["rows without a time"] += 1
            return None
        if not all(_standard(cells[at]) for at in layout.settings):
            self.left_out["rows not on 1013.25 hPa"] += 1
            return None
        values = {name: self._value(name, cells[at]) for name, at in layout.fields}
        if values["primary_1_ft"] is None or values["primary_2_ft"] is None:
            self.left_out["rows without both altitudes"] += 1
            return None
        return Sample(at_s=at_s, **values)  # type: ignore[arg-type]  # both primaries are numbers

    def _time(self, row: Row, cell: str) -> float | None:
        """Read the time, seconds since 1970."""
        start = self.columns.start
        try:
            if start is None:
                return instant_to_scalar(parse_instant(cell)) / _MICROSECONDS
            return start.timestamp() + _SECONDS.parse(cell)
        except InputError as error:
            if self._fault is None and cell.strip():
                hint = error.hint + "; for seconds, give --start" if start is None else error.hint
                self._fault = InputError(f"{self.path}, line {row.line}: {error.message}", hint)
            return None

    def _value(self, name: str, cell: str) -> float | None:
        """Read a number within the bounds of its field; None, and counted, where it is none."""
        low, high = self._limits[name]
        try:
            value = float(cell)
        except ValueError:
            if cell.strip():
                self.left_out[f"values of {name} that are no number"] += 1
            return None
        if low <= value <= high:
            return value
        self.left_out[f"values of {name} out of range"] += 1
        return None


_SECONDS = Real("seconds", low=0, high=1e9)


def _limits(name: str) -> tuple[float, float]:
    """Give the bounds that the cross-check has for a field."""
    kind = CrossCheck.kind.by_name[name].type
    assert isinstance(kind, Real | Whole)  # noqa: S101  # all of FIELDS are
    return kind.low, kind.high


def _standard(cell: str) -> bool:
    """Say whether a sub-scale setting is 1013.25 hPa or 29.92 inHg."""
    try:
        setting = float(cell)
    except ValueError:
        return False
    return any(low <= setting <= high for low, high in (_STANDARD_HPA, _STANDARD_INHG))
