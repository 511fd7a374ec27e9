"""From rows of a CSV file to checked records and their logbooks, or to what is wrong with them.

Rows are read, checked and held against the clock many at a time, without saying which of them is at
fault. Only where something is wrong is it looked for, by halves and then cell by cell.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import FieldError, Logbook, Record, RecordKind
from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.slips import ALTITUDES, any_slip
from rvsmlog.store.csv_cells import as_written
from rvsmlog.store.csv_rows import Batch, Row
from rvsmlog.store.importing.prepared import RowReader
from rvsmlog.store.reading.books import OPERATOR, Book
from rvsmlog.store.reading.references import depends
from rvsmlog.store.ready import Ready, made_ready
from rvsmlog.store.writing.logbook import Writer
from rvsmlog.store.writing.recording import book_for, book_of, check_no_slip

#: The column that names the airframe by its registration.
AIRFRAME_COLUMN = "airframe"


@dataclass(frozen=True, slots=True, kw_only=True)
class BadRow:
    """One fault of one row.

    Parameters
    ----------
    line : int
        Line of the file on which the row begins.
    column : str
        The column; ``""`` when the row as a whole is wrong.
    value : str
        What stands there.
    says, wanted : str
        What is wrong, and what to write instead.
    """

    line: int
    column: str
    value: str
    says: str
    wanted: str = ""

    def __str__(self) -> str:
        column = f", {self.column}" if self.column else ""
        wanted = f"; {self.wanted}" if self.wanted else ""
        return f"line {self.line}{column}: {self.says}{wanted}"


class Good(NamedTuple):
    """Rows that make entries of one logbook, with their places in the batch."""

    book: Book
    places: Sequence[int]
    ready: Ready

    def picked(self, some: Sequence[int]) -> "Good":
        """Give some of them."""
        places = [self.places[each] for each in some]
        return Good(self.book, places, self.ready.picked(some))


class Bad(NamedTuple):
    """A row that does not, and why."""

    row: Row
    faults: tuple[BadRow, ...]


def opens_books(kind: RecordKind) -> bool:
    """Whether the first record of a kind opens its logbook."""
    return kind.name in {"airframe", OPERATOR}


def stands_alone(kind: RecordKind) -> bool:
    """Whether a record of a kind is held against nothing but itself and the clock.

    What names other entries or opens logbooks is held against those before it.
    """
    return not (depends(kind) or opens_books(kind))


def names_airframe(kind: RecordKind) -> bool:
    """Whether the rows of a kind stand under an airframe that is named beside them."""
    return kind.logbook is Logbook.AIRFRAME and not opens_books(kind)


def _has_slip(ready: Ready) -> bool:
    """Whether a cross-check among records has a reading that may be a slip of the pen."""
    if ready.kind is not CrossCheck.kind:
        return False
    held = ("phase", "level", "field_elevation_ft", *ALTITUDES)
    return any_slip(zip(*map(ready.column, held), strict=True))


class Drafter:
    """Makes records of rows.

    Parameters
    ----------
    log : Writer
        In the import's transaction.
    kind : RecordKind
        What the rows are.
    names : tuple of str
        The columns in the file's order.
    registration : str or None
        The airframe of all rows.
    readings_confirmed : bool
        Whether readings stand that no altimeter shows in service.

    Raises
    ------
    InputError
        When the one logbook of the whole file is not there.
    """

    def __init__(
        self,
        log: Writer,
        kind: RecordKind,
        names: tuple[str, ...],
        registration: str | None,
        *,
        readings_confirmed: bool = False,
    ) -> None:
        self.log = log
        self.kind = kind
        self.names = names
        self._doubts = not readings_confirmed
        self._reader = RowReader(kind, names)
        self._books: dict[str, Book | InputError] = {}
        self._airframe_at = names.index(AIRFRAME_COLUMN) if AIRFRAME_COLUMN in names else None
        self._one_book: Book | None = None
        self._alone = stands_alone(kind)
        if self._airframe_at is None and not opens_books(kind):
            self._one_book = book_for(log.connection, kind, registration)
        log.allow(kind.name, self._one_book)

    def draft(self, batch: Batch) -> tuple[list[Good], list[Bad]]:
        """Make records of rows, by logbook, and say what is wrong with the others."""
        places: Sequence[int] = range(len(batch.cells))
        try:
            return self._good(batch, places), []
        except InputError:
            bad = dict(self._bad(batch, places))
        rest = [place for place in places if place not in bad]
        return self._good(batch, rest), list(bad.values())

    def _bad(self, batch: Batch, places: Sequence[int]) -> Iterator[tuple[int, Bad]]:
        """Find the rows with which something is wrong, by halves."""
        try:
            self._good(batch, places)
        except InputError:
            if len(places) == 1:
                row = batch.row(places[0])
                yield places[0], self.bad(row, *self._faults(row))
                return
            middle = len(places) // 2
            yield from self._bad(batch, places[:middle])
            yield from self._bad(batch, places[middle:])

    def _good(self, batch: Batch, places: Sequence[int]) -> list[Good]:
        """Make records of rows, by logbook.

        Raises
        ------
        InputError
            When something is wrong with one of them.
        """
        if not places:
            return []
        ready = self._reader.read([batch.cells[place] for place in places])
        if self._doubts and _has_slip(ready):
            raise InputError("a reading may be a slip of the pen")  # which, the row alone says
        if not self._alone:
            return [self._held(ready, batch, place) for place in places]
        good = []
        for book, some in self._by_book(batch, places):
            part = ready if len(some) == len(places) else ready.picked(some)
            self.log.vet_ready(book, part)
            good.append(Good(book, [places[each] for each in some], part))
        return good

    def _held(self, ready: Ready, batch: Batch, place: int) -> Good:
        """Hold one row, which is a batch by itself, against what is on record."""
        record = ready.record(0)
        book = self._book(record, batch.row(place))
        vetted = self.log.vet(book, record)
        if vetted is not record:  # what it names was made good
            ready = made_ready(self.kind, [vetted])
        return Good(book, [place], ready)

    def _by_book(self, batch: Batch, places: Sequence[int]) -> Iterator[tuple[Book, Sequence[int]]]:
        """Find the logbooks of rows, each with those of the places that belong there."""
        at = self._airframe_at
        if self._one_book is not None:
            yield self._one_book, range(len(places))
            return
        assert at is not None  # noqa: S101  # else there is one logbook, or rows open their own
        by_name: dict[str, list[int]] = {}
        for each, place in enumerate(places):
            by_name.setdefault(batch.cells[place][at], []).append(each)
        by_book: dict[Book, list[int]] = {}
        for name, some in by_name.items():
            by_book.setdefault(self._named(name), []).extend(some)
        for book, some in by_book.items():
            yield book, sorted(some)

    def bad(self, row: Row, *faults: tuple[str, str, str]) -> Bad:
        """Say what is wrong with a row: column, fault, what is wanted."""
        cells = dict(zip(self.names, row.cells, strict=False))
        return Bad(
            row,
            tuple(
                BadRow(
                    line=row.line,
                    column=column,
                    value=cells.get(column, ""),
                    says=says,
                    wanted=wanted,
                )
                for column, says, wanted in faults
            ),
        )

    def _faults(self, row: Row) -> list[tuple[str, str, str]]:
        """Say what is wrong with a row: of its cells all that is, else what comes first."""
        if len(row.cells) != len(self.names):
            says = f"the row has {len(row.cells)} fields, the header {len(self.names)}"
            return [("", says, "quote a field that holds a comma")]
        faults = []
        for name, cell in zip(self.names, row.cells, strict=True):
            spec = self.kind.by_name.get(name)
            if spec is None:
                continue
            if not cell or cell.isspace():
                if spec.required:
                    faults.append((name, "is missing", f"write {spec.type.wanted}"))
                continue
            try:
                spec.type.parse(as_written(cell))
            except InputError as error:
                faults.append((name, error.message, error.hint))
        if faults:
            return faults
        try:
            record = self._reader.read([row.cells]).record(0)
            self.log.vet(self._book(record, row), record)
            check_no_slip(record)
        except FieldError as error:
            return [(error.field, error.fault, error.hint)]
        except InputError as error:
            return [("", error.message, error.hint)]
        raise AssertionError("a row was bad and is good")

    def _book(self, record: Record, row: Row) -> Book:
        """Find the logbook in which a row belongs."""
        if self._one_book is not None:
            return self._one_book
        if self._airframe_at is None:
            return book_of(self.log, self.kind, record, None)
        return self._named(row.cells[self._airframe_at])

    def _named(self, name: str) -> Book:
        """Give the logbook of an airframe by what stands in the column for it."""
        known = self._books.get(name)
        if known is None:
            known = self._books[name] = self._airframe(name)
        if isinstance(known, InputError):
            raise FieldError(AIRFRAME_COLUMN, known.message, known.hint)
        return known

    def _airframe(self, name: str) -> Book | InputError:
        """Look an airframe up once; what is wrong is said for each of its rows."""
        if not name.strip():
            return InputError("is missing", "write the airframe's registration")
        try:
            return book_for(self.log.connection, self.kind, name)
        except InputError as error:
            return error
