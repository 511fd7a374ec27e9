"""Importing a CSV file: the whole file in one transaction, each bad row named with its line.

The first row names the fields of one kind of record, exactly. For what belongs to an airframe the
column ``airframe`` holds its registration, unless one airframe is named for the whole file;
particulars of airframes themselves need none: their own fields say which airframe it is.
"""

from array import array
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.records.airframe import Equipment
from rvsmlog.records.base import FieldError, RecordKind
from rvsmlog.records.flights import CrossCheck
from rvsmlog.resting import resting_collector
from rvsmlog.store.connection import Store
from rvsmlog.store.csv_rows import Batch, check_header, read_batches
from rvsmlog.store.importing.csv_drafts import (
    AIRFRAME_COLUMN,
    Bad,
    BadRow,
    Drafter,
    Good,
    names_airframe,
    stands_alone,
)
from rvsmlog.store.importing.csv_rejects import Rejects, without_reasons
from rvsmlog.store.importing.drift_keeping import DriftFeed
from rvsmlog.store.importing.duplicates import Duplicates, Key
from rvsmlog.store.reading.books import Book
from rvsmlog.store.writing.logbook import Writer, writing

#: An import that may not skip stops after this many faults: the file is of another sort.
MOST_FAULTS = 10_000
#: Rows that are read, checked and inserted together, and how many times as many on a server, whose
#: triggers look at each statement once.
_BATCH, _ON_SERVER = 1000, 4

#: What no file says: the program itself makes it.
_MADE_BY = {
    "gonogo": "`rvsmlog gonogo`",
    "refusal": "what is refused",
    "operator-clock": "`rvsmlog store clock`",
    "airframe-clock": "`rvsmlog store clock`",
}

Progress = Callable[[int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbers:
    """The numbers that an import gave in one logbook."""

    logbook: str
    first: int
    last: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportResult:
    """What an import did.

    Parameters
    ----------
    written : int
        Entries made; 0 when a row was bad and bad rows were not to be skipped.
    numbers : tuple of Numbers
        The entries made, by logbook.
    bad : tuple of BadRow
        What is wrong with which rows, in the file's order; `MOST_FAULTS` at the most.
    rejected : int
        How many rows were bad.
    complete : bool
        False when so much was wrong that the rest of the file was not looked at.
    """

    written: int = 0
    numbers: tuple[Numbers, ...] = ()
    bad: tuple[BadRow, ...] = ()
    rejected: int = 0
    complete: bool = True


def import_columns(
    kind: RecordKind, registration: str | None = None
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Give the columns that a file may have, and those that it must have.

    Raises
    ------
    InputError
        When an airframe is named for a kind that takes none, or the kind is not imported.
    """
    if kind.name in _MADE_BY:
        raise InputError(f"{kind.title}: not imported", f"made by {_MADE_BY[kind.name]}")
    if registration is not None and not names_airframe(kind):
        raise InputError(
            f"{kind.title} is not entered under an airframe", "name no airframe for this file"
        )
    named_beside = names_airframe(kind) and registration is None
    start = (AIRFRAME_COLUMN,) if named_beside else ()
    known = tuple(spec.name for spec in kind.fields)
    required = tuple(spec.name for spec in kind.fields if spec.required)
    return start + known, start + required


def import_csv(
    store: Store,
    path: Path,
    kind: RecordKind,
    *,
    by: str,
    clock: Callable[[], datetime],
    registration: str | None = None,
    reject_file: Path | None = None,
    readings_confirmed: bool = False,
    progress: Progress | None = None,
) -> ImportResult:
    """Import the rows of a CSV file as entries, in one transaction.

    Parameters
    ----------
    store : Store
        Open.
    path : Path
        The file: UTF-8, commas, the first row names the columns.
    kind : RecordKind
        What its rows are.
    by : str
        Who records.
    clock : callable
        Gives the present instant.
    registration : str, optional
        The airframe of all rows; the file then has no column ``airframe``.
    reject_file : Path, optional
        Skip bad rows and write them, with the reasons, to this new file. When left out, one bad
        row means that nothing is written.
    readings_confirmed : bool
        Whether readings of cross-checks stand that no altimeter shows in service; else such a row
        is bad.
    progress : callable, optional
        Told the number of rows read, now and then.

    Returns
    -------
    ImportResult
        What was written and what is wrong.

    Raises
    ------
    InputError
        When the file as a whole cannot be read: nothing was written.
    StoreError
        When the store cannot be used: nothing was written.
    """
    known, required = import_columns(kind, registration)
    # Rows that are held against those before them are written one by one.
    many = _BATCH * (1 if store.is_sqlite else _ON_SERVER)
    batches = read_batches(path, many if stands_alone(kind) else 1)
    first = next(batches, None)
    written = None if first is None else first.row(0)
    own, batches = without_reasons(written, batches)
    if registration is not None and own is not None and AIRFRAME_COLUMN in own.cells:
        raise InputError(
            f"{path} has the column {AIRFRAME_COLUMN!r}, which names the airframe of each row",
            "leave out --airframe, or the column",
        )
    header, names = check_header(path, own, known, required)
    with Rejects(reject_file, written or header) as rejects:
        try:
            # Each row makes things that live a batch long, and the collector would go through them.
            with resting_collector(), writing(store, by, clock) as log:
                drafter = Drafter(
                    log, kind, names, registration, readings_confirmed=readings_confirmed
                )
                task = _Import(log, drafter, rejects)
                task.run(batches, progress)
                task.settle(path)
        except _RefusedError:
            task.numbers.clear()
        else:
            rejects.keep()
    if task.numbers:
        task.drift.keep(store, clock())
    return task.result()


class _RefusedError(Exception):
    """Rolls the transaction back."""


class _Import:
    """One import as it goes: rows become entries, a batch at a time."""

    def __init__(self, log: Writer, drafter: Drafter, rejects: Rejects) -> None:
        self.log = log
        self.drafter = drafter
        self.rejects = rejects
        self.duplicates = Duplicates(log, drafter.kind)
        self.drift = DriftFeed(log)
        log.expect_many()
        self.numbers: dict[str, range] = {}
        self.lines: dict[str, array[int]] = {}
        self.faults: list[BadRow] = []
        self.rows = self.rejected = 0
        self.complete = True

    def result(self) -> ImportResult:
        """Give what was done."""
        return ImportResult(
            written=sum(map(len, self.numbers.values())),
            numbers=tuple(
                Numbers(logbook=name, first=given[0], last=given[-1])
                for name, given in self.numbers.items()
            ),
            bad=tuple(self.faults),
            rejected=self.rejected,
            complete=self.complete,
        )

    def run(self, batches: Iterator[Batch], progress: Progress | None) -> None:
        """Read, check and write all rows."""
        told = 0
        for batch in batches:
            self._write(batch)
            self.rows += len(batch.cells)
            if progress is not None and self.rows - told >= _BATCH:
                told = self.rows
                progress(told)
            if len(self.faults) >= MOST_FAULTS and self.rejects.path is None:
                self.complete = False
                return

    def settle(self, path: Path) -> None:
        """Refuse the whole file when it holds nothing, or bad rows that may not be skipped."""
        if self.rows == 0:
            raise InputError(f"{path} holds no rows below its header", "nothing to do")
        if self.rejected and self.rejects.path is None:
            raise _RefusedError
        self.rejects.finish()

    def _write(self, batch: Batch) -> None:
        """Write those of a batch that are good, and reject the others in the file's order."""
        groups, bad = self.drafter.draft(batch)
        for good in groups:
            bad += self._append(batch, good)
        for each in sorted(bad, key=lambda each: each.row.line):
            self.rejected += 1
            self.faults.extend(each.faults[: MOST_FAULTS - len(self.faults)])
            self.rejects.add(each)

    def _append(self, batch: Batch, good: Good) -> list[Bad]:
        """Write the rows of one logbook; give those that are on record already."""
        keys = self.duplicates.keys(good.ready)
        on_record = self.duplicates.on_record(good.book, keys)
        bad: list[Bad] = []
        if on_record or len(set(keys)) < len(keys):
            fresh, bad = self._sift(batch, good, keys, on_record)
            good, keys = good.picked(list(fresh.values())), list(fresh)
        if self.drafter.kind is Equipment.kind:
            misplaced = self._misplaced(batch, good)
            if misplaced:
                return bad + misplaced
        numbers = self.log.append_ready(good.book, good.ready)
        self.duplicates.add(good.book, keys, numbers)
        if self.drafter.kind is CrossCheck.kind:
            self.drift.take(good.book, numbers, good.ready)
        self._note(good.book, numbers, [batch.starts[place] for place in good.places])
        return bad

    def _misplaced(self, batch: Batch, good: Good) -> list[Bad]:
        """Give a row whose unit would stand where another does; such rows come one by one."""
        for at, place in enumerate(good.places):
            try:
                self.log.check_place(good.book, good.ready.record(at))
            except FieldError as error:
                fault = (error.field, error.fault, error.hint)
                return [self.drafter.bad(batch.row(place), fault)]
        return []

    def _sift(
        self, batch: Batch, good: Good, keys: list[Key], on_record: dict[Key, int]
    ) -> tuple[dict[Key, int], list[Bad]]:
        """Tell the rows that are new, by their keys, from those that are there already."""
        fresh: dict[Key, int] = {}
        bad = []
        for at, key in enumerate(keys):
            wanted = "leave the row out"
            if key in fresh:
                says = f"is the same as line {batch.starts[good.places[fresh[key]]]}"
            elif key in on_record:
                says = self._where(good.book, on_record[key])
                others = self.duplicates.other_values(good.book, on_record[key], good.ready, at)
                if others:
                    says, wanted = says + others, "correct that entry, or leave the row out"
            else:
                fresh[key] = at
                continue
            bad.append(self.drafter.bad(batch.row(good.places[at]), ("", says, wanted)))
        return fresh, bad

    def _note(self, book: Book, numbers: range, starts: list[int]) -> None:
        """Remember which numbers were given to which lines."""
        if numbers:
            first = self.numbers.get(book.name, numbers)[0]
            self.numbers[book.name] = range(first, numbers[-1] + 1)
            self.lines.setdefault(book.name, array("Q")).extend(starts)

    def _where(self, book: Book, number: int) -> str:
        """Say which entry holds a row already, or which line where this import made it."""
        given = self.numbers.get(book.name, range(0))
        if number in given:
            return f"is the same as line {self.lines[book.name][number - given[0]]}"
        return f"is already on record as {book.name}#{number}"
