"""The rows of the demo, the numbers that they will have as entries, and the files they go into."""

import csv
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from io import StringIO
from pathlib import Path

from rvsmlog.records.base import Logbook, RecordKind
from rvsmlog.records.kinds import KIND
from rvsmlog.records.trade_fields import EntryNumber
from rvsmlog.store.importing.csv_drafts import AIRFRAME_COLUMN, names_airframe

#: The files in the order in which they are imported, and so in which entries get their numbers. Of
#: two files of one kind the later takes the rows that :meth:`DemoBook.later` adds.
FILES = (
    ("operator.csv", "operator"),
    ("pilots.csv", "pilot"),
    ("knowledge.csv", "knowledge"),
    ("airframes.csv", "airframe"),
    ("equipment.csv", "equipment"),
    ("removals.csv", "removal"),
    ("replacements.csv", "equipment"),
    ("work.csv", "work"),
    ("tests.csv", "test"),
    ("approvals.csv", "approval"),
    ("monitoring.csv", "monitoring"),
    ("defects.csv", "defect"),
    ("deferrals.csv", "deferral"),
    ("extensions.csv", "extension"),
    ("rectifications.csv", "rectification"),
    ("deviations.csv", "deviation"),
    ("closures.csv", "closure"),
    ("flights.csv", "flight"),
    ("crosschecks.csv", "crosscheck"),
    ("reviews.csv", "review"),
    ("routes.csv", "route-profile"),
    ("oxygen.csv", "oxygen-installation"),
    ("oxygen_readings.csv", "oxygen-reading"),
    ("test_readings.csv", "test-readings"),
)

Value = str | int | float | date | datetime | None


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a file; ``key`` is what later rows call it by."""

    airframe: str
    key: str
    fields: dict[str, Value]


def _file_of(kind: str, *, later: bool) -> str:
    """Give the file that takes rows of a kind."""
    names = [name for name, each in FILES if each == kind]
    if not names:
        raise SystemExit(f"no file takes {kind}")
    return names[-1 if later else 0]


class DemoBook:
    """Collects rows by file, and writes the files of :data:`FILES`."""

    def __init__(self) -> None:
        self._rows: dict[str, list[Row]] = defaultdict(list)

    def add(self, kind: str, airframe: str = "", key: str = "", /, **fields: Value) -> None:
        """Add a row. A field that names another entry takes that entry's key."""
        self._rows[_file_of(kind, later=False)].append(Row(airframe, key, fields))

    def later(self, kind: str, airframe: str, /, **fields: Value) -> None:
        """Add a row to the kind's later file: a unit comes where another one went."""
        self._rows[_file_of(kind, later=True)].append(Row(airframe, "", fields))

    def files(self) -> tuple[tuple[str, str], ...]:
        """Give the files that have rows, each with its kind."""
        return tuple((name, kind) for name, kind in FILES if self._rows[name])

    def write(self, folder: Path) -> None:
        """Write the files that have rows."""
        numbers = self._numbers()
        folder.mkdir(parents=True, exist_ok=True)
        for name, kind in self.files():
            text = self._text(name, KIND[kind], numbers)
            (folder / name).write_text(text, "utf-8", newline="")

    def _numbers(self) -> dict[tuple[str, str], int]:
        """Give the entry number that each row with a key will have in its logbook."""
        newest: dict[str, int] = defaultdict(int)
        numbers = {}
        for name, kind in FILES:
            for row in self._rows[name]:
                book = "" if KIND[kind].logbook is Logbook.OPERATOR else row.airframe
                newest[book] += 1
                if row.key:
                    numbers[row.airframe, row.key] = newest[book]
        return numbers

    def _text(self, name: str, kind: RecordKind, numbers: dict[tuple[str, str], int]) -> str:
        """Give a file: the columns that any of its rows has, in the record's order."""
        rows = self._rows[name]
        used = {name for row in rows for name, value in row.fields.items() if value is not None}
        unknown = used - set(kind.by_name)
        if unknown:
            raise SystemExit(f"{kind.name} has no field {', '.join(sorted(unknown))}")
        names = [spec.name for spec in kind.fields if spec.name in used or spec.required]
        beside = [AIRFRAME_COLUMN] if names_airframe(kind) else []
        out = StringIO(newline="")
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow([*beside, *names])
        for row in rows:
            cells = _cells(kind, row, names, numbers)
            writer.writerow([*([row.airframe] if beside else []), *cells])
        return out.getvalue()


def _cells(
    kind: RecordKind, row: Row, names: list[str], numbers: dict[tuple[str, str], int]
) -> Iterator[str]:
    """Give the cells of a row; keys of other entries become their numbers."""
    for name in names:
        value = row.fields.get(name)
        if isinstance(kind.by_name[name].type, EntryNumber):
            yield str(numbers[row.airframe, str(value)])
        else:
            yield cell(value)


def cell(value: Value) -> str:
    """Write a value as the importer reads it."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.astimezone(UTC).strftime("%Y-%m-%dT%H:%MZ")
    return value.isoformat() if isinstance(value, date) else str(value)
