"""From the row of a CSV file to a checked record and its logbook, or to what is wrong with it."""

from typing import NamedTuple

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import FieldError, Logbook, Record, RecordKind
from rvsmlog.store.books import OPERATOR, Book
from rvsmlog.store.csv_cells import as_written
from rvsmlog.store.csv_rows import Row
from rvsmlog.store.logbook import Writer
from rvsmlog.store.prepared import Prepared, RowReader, made_ready
from rvsmlog.store.recording import book_for, book_of

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
    """A row that makes an entry."""

    row: Row
    prepared: Prepared
    book: Book


class Bad(NamedTuple):
    """A row that does not, and why."""

    row: Row
    faults: tuple[BadRow, ...]


def opens_books(kind: RecordKind) -> bool:
    """Whether the first record of a kind opens its logbook."""
    return kind.name in {"airframe", OPERATOR}


def names_airframe(kind: RecordKind) -> bool:
    """Whether the rows of a kind stand under an airframe that is named beside them."""
    return kind.logbook is Logbook.AIRFRAME and not opens_books(kind)


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

    Raises
    ------
    InputError
        When the one logbook of the whole file is not there.
    """

    def __init__(
        self, log: Writer, kind: RecordKind, names: tuple[str, ...], registration: str | None
    ) -> None:
        self.log = log
        self.kind = kind
        self.names = names
        self._reader = RowReader(kind, names)
        self._books: dict[str, Book | InputError] = {}
        self._airframe_at = names.index(AIRFRAME_COLUMN) if AIRFRAME_COLUMN in names else None
        self._one_book: Book | None = None
        if self._airframe_at is None and not opens_books(kind):
            self._one_book = book_for(log.connection, kind, registration)
        log.allow(kind.name, self._one_book)

    def draft(self, row: Row) -> Good | Bad:
        """Make a record of a row and find its logbook, or say what is wrong."""
        if len(row.cells) != len(self.names):
            says = f"the row has {len(row.cells)} fields, the header {len(self.names)}"
            return self.bad(row, ("", says, "quote a field that holds a comma"))
        try:
            prepared = self._reader.read(row.cells)
            book = self._one_book or self._book(prepared.record, row)
            record = self.log.vet(book, prepared.record)
        except InputError:
            return self.bad(row, *self._faults(row))
        if record is not prepared.record:  # what it names was made good
            prepared = made_ready(record)
        return Good(row, prepared, book)

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
            record = self._reader.read(row.cells).record
            self.log.vet(self._book(record, row), record)
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
        name = row.cells[self._airframe_at]
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
