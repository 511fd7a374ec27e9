"""Importing a CSV file: all of it or nothing, each bad row by line and column, none twice."""

import csv
import stat
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from rvsmlog.errors import InputError, StoreError
from rvsmlog.records.base import Logbook
from rvsmlog.records.kinds import KIND
from rvsmlog.store.importing import csv_import as module
from rvsmlog.store.importing.csv_import import ImportResult, Numbers, import_csv
from rvsmlog.store.writing.logbook import writing

if TYPE_CHECKING:
    from tests.store.conftest import Log

CHECKS = "airframe,taken_at,phase,primary_1_ft,primary_2_ft,level"
GOOD = "QX-ABC,2027-03-12T02:{:02}Z,level,31000,31040,310"


class Importer:
    """Writes CSV files and imports them."""

    def __init__(self, log: "Log", folder: Path) -> None:
        self.log = log
        self.path = folder / "rows.csv"
        self.rejects = folder / "rejects.csv"

    def __call__(self, kind: str, *lines: str, **options: object) -> ImportResult:
        """Import lines as a file."""
        self.path.write_text("\n".join(lines) + "\n", "utf-8", "surrogateescape", newline="")
        given = {"by": "A. Example", "clock": self.log.clock, **options}
        return import_csv(self.log.store, self.path, KIND[kind], **given)  # type: ignore[arg-type]  # options as the tests give them

    def faults(self, kind: str, *lines: str, **options: object) -> list[tuple[int, str, str]]:
        """Import lines of which some are bad: nothing is written; give line, column and fault."""
        before = self.log.count()
        result = self(kind, *lines, **options)
        assert (result.written, result.numbers) == (0, ())
        assert self.log.count() == before
        assert result.rejected == len({fault.line for fault in result.bad})
        return [(fault.line, fault.column, fault.says) for fault in result.bad]


@pytest.fixture
def imports(log: "Log", folder: Path) -> Importer:
    """Give an importer into a store with an operator and one airframe."""
    return Importer(log, folder)


def test_rows_become_entries_in_their_order(imports: Importer, log: "Log") -> None:
    """Each row is one entry, numbered in the file's order, with what its columns say."""
    result = imports(
        "crosscheck",
        "taken_at,airframe,phase,primary_1_ft,primary_2_ft,level,mach,remarks",
        '2027-03-12T02:05Z,qxabc,LEVEL,31000,+31040,FL310,0.5,"a, b ""c"""',
        "2027-03-12T15:00+13:00,QX-ABC,hourly,31010,31040,310,,=1+1",
    )
    assert result == ImportResult(
        written=2, numbers=(Numbers(logbook="VK71-1007", first=2, last=3),)
    )
    first, second = log.standing("crosscheck")
    assert (first.record.remarks, first.record.mach, first.record.level) == ('a, b "c"', 0.5, 310)
    assert second.record.taken_at.isoformat() == "2027-03-12T02:00:00+00:00"
    assert (second.record.remarks, second.record.mach) == ("=1+1", None)
    assert (first.recorded_by, log.faults()) == ("A. Example", [])


def test_one_bad_row_and_nothing_is_written(imports: Importer, log: "Log") -> None:
    """Every fault of every row is told with its line and column; the good rows wait."""
    assert imports.faults(
        "crosscheck",
        CHECKS,
        GOOD.format(1),
        "QX-ABC,yesterday,leval,31000.5,,310",
        "QX-ZZZ,2027-03-12T02:02Z,level,31000,31040,310",
        "QX-ABC,2027-03-12T02:03Z,level,31000,31040,",
        "QX-ABC,2027-03-14T02:41Z,level,31000,31040,310",
        ",2027-03-12T02:04Z,level,31000,31040,310",
        "QX-ABC,2027-03-12T02:05Z,level,31000,31040,31000",
    ) == [
        (3, "taken_at", "'yesterday' is no date and time"),
        (3, "phase", "'leval' is not known here"),
        (3, "primary_1_ft", "'31000.5' is no whole number"),
        (3, "primary_2_ft", "is missing"),
        (4, "airframe", "no airframe bears the registration 'QX-ZZZ'"),
        (5, "level", "is missing"),
        (6, "taken_at", "2027-03-14T02:41Z is in the future"),
        (7, "airframe", "is missing"),
        (8, "level", "'31000' looks like feet, but a flight level is wanted"),
    ]


def test_fault_says_what_stands_there_and_what_is_wanted(imports: Importer) -> None:
    """A fault has the value as it stands in the file and what to write instead."""
    result = imports("crosscheck", CHECKS, GOOD.format(1).replace("31040", " 31O40"))
    (fault,) = result.bad
    assert (fault.value, fault.wanted) == (" 31O40", "write a whole number from -2000 to 60000")
    assert str(fault) == (
        "line 2, primary_2_ft: '31O40' is no whole number; write a whole number from -2000 to 60000"
    )


def test_lines_are_those_of_the_file(imports: Importer) -> None:
    """Line ends within quotes and empty lines count, as an editor counts them."""
    assert [
        line
        for line, _, _ in imports.faults(
            "crosscheck",
            CHECKS + ",remarks",
            "",
            GOOD.format(1) + ',"two',
            'lines"',
            GOOD.format(2) + ',"bad"',
            ",,,,,,",
            "QX-ABC,x,level,31000,31040,310,",
            GOOD.format(3) + ',"three',
            "",
            'lines"',
            "QX-ABC,x,level,31000,31040,310,",
        )
    ] == [7, 11]


def test_ragged_rows_are_bad(imports: Importer) -> None:
    """A row with a field too many or too few is named; its fields are not guessed."""
    assert imports.faults(
        "crosscheck", CHECKS, GOOD.format(1) + ",", "QX-ABC,2027-03-12T02:02Z"
    ) == [
        (2, "", "the row has 7 fields, the header 6"),
        (3, "", "the row has 2 fields, the header 6"),
    ]


def test_one_airframe_for_the_whole_file(imports: Importer, log: "Log") -> None:
    """With a registration given, the column airframe is not there, and may not be."""
    header = CHECKS.removeprefix("airframe,")
    row = GOOD.format(1).removeprefix("QX-ABC,")
    assert imports("crosscheck", header, row, registration="qx-abc").written == 1
    with pytest.raises(InputError, match="has the column 'airframe'"):
        imports("crosscheck", CHECKS, GOOD.format(2), registration="QX-ABC")
    with pytest.raises(InputError, match="no airframe bears"):
        imports("crosscheck", header, row, registration="QX-ZZZ")
    assert log.count() == 3


def test_several_airframes_in_one_file(imports: Importer, log: "Log") -> None:
    """Rows go to the logbook of their airframe, each with numbers of its own."""
    other = log.sample("airframe", serial_number="1008", registration="QX-AAA")
    with writing(log.store, "A. Example", log.clock) as writer:
        writer.append(writer.open_book(Logbook.AIRFRAME, "VK71-1008"), other)
    rows = [GOOD.format(minute) for minute in range(5)]
    mixed = [row.replace("ABC", "AAA") if at % 2 else row for at, row in enumerate(rows)]
    assert imports("crosscheck", CHECKS, *mixed, *rows[1::2]).numbers == (
        Numbers(logbook="VK71-1007", first=2, last=6),
        Numbers(logbook="VK71-1008", first=2, last=3),
    )
    assert log.faults() == []


def test_airframes_open_their_own_logbooks(imports: Importer, log: "Log") -> None:
    """A file of airframes opens a logbook for each new one and adds to those there are."""
    header = (
        "registration,type_designator,serial_number,authority,rvsm_basis,type_certificate,"
        "highest_level"
    )
    row = "{},VK71,{}," + ",".join(
        str(log.sample("airframe").scalars()[name])
        for name in ("authority", "rvsm_basis", "type_certificate", "highest_level")
    )
    result = imports(
        "airframe",
        header,
        row.format("QX-AAA", "1008"),
        row.format("QX-NEW", "1007"),
        row.format("QX-ABC", "1009"),
    )
    assert result.numbers == (
        Numbers(logbook="VK71-1008", first=1, last=1),
        Numbers(logbook="VK71-1007", first=2, last=2),
        Numbers(logbook="VK71-1009", first=1, last=1),
    )
    assert log.faults() == []
    assert imports.faults(
        "airframe", header, row.format("QX-BBB", "1010"), row.format("QX-BBB", "1011")
    ) == [(3, "", "QX-BBB is borne by VK71-1010 already")]
    with pytest.raises(InputError, match="is not entered under an airframe"):
        imports("airframe", header, row.format("QX-AAA", "1008"), registration="QX-AAA")


def test_operators_logbook(imports: Importer, log: "Log") -> None:
    """Pilots and knowledge go to the operator's logbook."""
    assert imports("pilot", "code,name", "abc,A. Example", "DEF,D. Example").numbers == (
        Numbers(logbook="operator", first=2, last=3),
    )
    assert [each.record.code for each in log.standing("pilot")] == ["ABC", "DEF"]


def test_first_operator_opens_the_logbook(
    store_url: str, folder: Path, clock: Callable[[], object]
) -> None:
    """In an empty store pilots cannot be imported before the operator is; the operator can."""
    from rvsmlog.store.connection import open_store

    path = folder / "a.csv"
    with open_store(store_url) as store:
        path.write_text("code,name\nABC,A. Example\n")
        with pytest.raises(InputError, match="no operator is on record"):
            import_csv(store, path, KIND["pilot"], by="A", clock=clock)  # type: ignore[arg-type]  # the fixture's clock
        path.write_text("name,time_zone\nExample Air,UTC\nExample Air,Pacific/Auckland\n")
        done = import_csv(store, path, KIND["operator"], by="A", clock=clock)  # type: ignore[arg-type]  # the fixture's clock
    assert done.numbers == (Numbers(logbook="operator", first=1, last=2),)


def test_entries_named_by_rows(imports: Importer, log: "Log") -> None:
    """Rows may name entries; each is held against the store and the rows before it."""
    unit, other = log.add("equipment"), log.add("equipment", position="2")
    assert imports.faults(
        "removal",
        "airframe,equipment,removed_on",
        f"QX-ABC,#{unit},2027-02-01",
        f"QX-ABC,{unit},2027-02-02",
        "QX-ABC,1,2027-02-01",
        "QX-ABC,99,2027-02-01",
    ) == [
        (3, "equipment", f"VK71-1007#{unit} has its equipment removed already, #{other + 1}"),
        (4, "equipment", "VK71-1007#1 is airframe particulars"),
        (5, "equipment", "there is no entry VK71-1007#99"),
    ]
    assert (
        imports(
            "removal",
            "airframe,equipment,removed_on",
            f"QX-ABC,{unit},2027-02-01",
            f"QX-ABC,{other},2027-02-01",
        ).written
        == 2
    )


def test_rows_on_record_are_bad(imports: Importer, log: "Log") -> None:
    """A file imported again is refused row by row, by the entry that holds each one."""
    rows = [GOOD.format(minute) for minute in range(3)]
    imports("crosscheck", CHECKS, *rows)
    changed = GOOD.format(1).replace("31040", "31100")
    assert imports.faults("crosscheck", CHECKS, changed, GOOD.format(9), rows[2]) == [
        (
            2,
            "",
            "is already on record as VK71-1007#3, with other values there: primary_2_ft 31040",
        ),
        (4, "", "is already on record as VK71-1007#4"),
    ]
    other_phase = rows[0].replace("level", "hourly")
    assert imports("crosscheck", CHECKS, other_phase).written == 1


def test_rows_that_stand_twice_are_bad(imports: Importer, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same row twice in a file is named by its first line, near or far."""
    monkeypatch.setattr(module, "_BATCH", 3)
    monkeypatch.setattr(module, "_ON_SERVER", 1)
    rows = [GOOD.format(minute) for minute in range(8)]
    assert imports.faults("crosscheck", CHECKS, *rows, rows[7], rows[0], rows[4]) == [
        (10, "", "is the same as line 9"),
        (11, "", "is the same as line 2"),
        (12, "", "is the same as line 6"),
    ]


@pytest.mark.parametrize(
    ("kind", "same", "other"),
    [
        ("flight", {"on_at": "2027-03-12T05:00Z"}, {"off_at": "2027-03-12T01:01Z"}),
        ("work", {}, {"remarks": "again"}),
        ("test", {}, {"passed": "no"}),
        ("approval", {}, {"reference": "2"}),
        ("pilot", {}, {"name": "Another"}),
    ],
)
def test_what_makes_a_row_the_same(
    imports: Importer, log: "Log", kind: str, same: dict[str, str], other: dict[str, str]
) -> None:
    """A flight is the same by its take-off; other records by all their fields."""
    number = log.add(kind)
    airframe = KIND[kind].logbook is Logbook.AIRFRAME

    def row(changes: dict[str, str]) -> tuple[str, str]:
        values = {**({"airframe": "QX-ABC"} if airframe else {}), **log.samples[kind], **changes}
        return ",".join(values), ",".join(f'"{value}"' for value in values.values())

    book = "VK71-1007" if airframe else "operator"
    there = ", with other values there: on_at 2027-03-12T04:00Z" if kind == "flight" else ""
    assert imports.faults(kind, *row(same)) == [
        (2, "", f"is already on record as {book}#{number}{there}")
    ]
    assert imports(kind, *row(other)).written == 1


def test_corrected_rows_stay_corrected_and_struck_ones_may_come_back(
    imports: Importer, log: "Log"
) -> None:
    """An old file does not bring back what was corrected; what was struck out may be entered."""
    header = "airframe,done_on,work,description"
    rows = [f"QX-ABC,2027-02-0{day},altimeter,changed" for day in (1, 2)]
    imports("work", header, *rows)
    corrected = log.correct(2, "work", done_on="2027-02-01", description="cleaned")
    log.strike(3)
    there = ", with other values there: description cleaned"
    assert imports.faults("work", header, *rows) == [
        (2, "", f"is already on record as VK71-1007#{corrected}{there}")
    ]
    assert imports("work", header, rows[1]).written == 1
    moved = GOOD.format(1)
    imports("crosscheck", CHECKS, moved)
    number = log.standing("crosscheck")[0].ref.entry
    newest = log.correct(number, "crosscheck", taken_at="2027-03-12T03:00Z")
    there = ", with other values there: taken_at 2027-03-12T03:00Z"
    assert imports.faults("crosscheck", CHECKS, moved) == [
        (2, "", f"is already on record as VK71-1007#{newest}{there}")
    ]
    log.strike(newest)
    assert imports("crosscheck", CHECKS, moved).written == 1


def test_bad_rows_skipped_on_request(imports: Importer, log: "Log") -> None:
    """With a file for them, bad rows go there as they were, with the reasons; the rest goes in."""
    lines = [
        CHECKS + ",remarks",
        GOOD.format(1) + ',"kept"',
        'QX-ABC, x ,level,"31000",y,310,"two\nlines, ""quoted"""',
        GOOD.format(2),
        GOOD.format(1) + ",again",
        GOOD.format(3) + ",'=cmd",
    ]
    result = imports("crosscheck", *lines, reject_file=imports.rejects)
    assert (result.written, result.rejected) == (2, 3)
    assert [fault.line for fault in result.bad] == [3, 3, 5, 6]
    assert result.numbers == (Numbers(logbook="VK71-1007", first=2, last=3),)
    text = imports.rejects.read_bytes().decode()
    for line in (lines[2], lines[3], lines[4]):
        assert f"\r\n{line}," in text
    rows = list(csv.reader(text.splitlines(keepends=True)))
    assert rows[0] == [*lines[0].split(","), "rejected_because"]
    assert rows[1][:-1] == ["QX-ABC", " x ", "level", "31000", "y", "310", 'two\nlines, "quoted"']
    assert rows[1][-1].startswith("taken_at: 'x' is no date and time: write ISO 8601")
    assert " | primary_2_ft: 'y' is no whole number" in rows[1][-1]
    assert rows[2][-1].startswith("the row has 6 fields, the header 7")
    assert rows[3][-1] == "is the same as line 2: leave the row out"
    assert stat.S_IMODE(imports.rejects.stat().st_mode) == 0o600
    assert log.faults() == []


def test_no_file_for_no_rejects(imports: Importer) -> None:
    """When every row is good no file of rejects is made."""
    assert imports("crosscheck", CHECKS, GOOD.format(1), reject_file=imports.rejects).written == 1
    assert not imports.rejects.exists()


def test_rejects_overwrite_nothing(imports: Importer, log: "Log") -> None:
    """An existing file is not written over, and the import does not begin."""
    imports.rejects.write_text("kept")
    with pytest.raises(InputError, match="exists already"):
        imports("crosscheck", CHECKS, GOOD.format(1), "x", reject_file=imports.rejects)
    with pytest.raises(InputError, match="exists already"):
        imports("crosscheck", CHECKS, GOOD.format(1), "x", reject_file=imports.path)
    assert imports.rejects.read_text() == "kept"
    missing = imports.rejects.parent / "missing" / "rejects.csv"
    with pytest.raises(InputError, match="cannot be written"):
        imports("crosscheck", CHECKS, GOOD.format(1), "x", reject_file=missing)
    assert log.count() == 2


def test_rejects_go_when_the_import_fails(
    imports: Importer, log: "Log", monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file of rejects does not outlive an import that was taken back."""
    with pytest.raises(InputError, match="not UTF-8"):
        imports("crosscheck", CHECKS, GOOD.format(1), "x", "\udcff", reject_file=imports.rejects)
    assert not imports.rejects.exists()
    log.clock.move(hours=-1)
    with pytest.raises(StoreError, match="clock"):
        imports("crosscheck", CHECKS, "x", GOOD.format(1), reject_file=imports.rejects)
    assert not imports.rejects.exists()
    assert log.count() == 2


def test_hopeless_files_are_given_up(imports: Importer, monkeypatch: pytest.MonkeyPatch) -> None:
    """After very many faults the rest is not looked at, unless bad rows are to be skipped."""
    monkeypatch.setattr(module, "MOST_FAULTS", 5)
    monkeypatch.setattr(module, "_BATCH", 2)
    monkeypatch.setattr(module, "_ON_SERVER", 1)
    rows = ["x"] * 20
    result = imports("crosscheck", CHECKS, *rows)
    assert (len(result.bad), result.rejected, result.complete) == (5, 6, False)
    skipped = imports("crosscheck", CHECKS, *rows, GOOD.format(1), reject_file=imports.rejects)
    assert (len(skipped.bad), skipped.rejected, skipped.written) == (5, 20, 1)
    assert skipped.complete


def test_progress_is_told(imports: Importer, monkeypatch: pytest.MonkeyPatch) -> None:
    """The number of rows read is told batch by batch."""
    monkeypatch.setattr(module, "_BATCH", 4)
    monkeypatch.setattr(module, "_ON_SERVER", 1)
    told: list[int] = []
    imports("crosscheck", CHECKS, *map(GOOD.format, range(10)), progress=told.append)
    assert told == [4, 8]
