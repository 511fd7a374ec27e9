"""A file of rejected rows goes in again once it is mended, with the reasons still in it."""

import csv
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from rvsmlog.records.kinds import KIND
from rvsmlog.store.importing.csv_import import ImportResult, import_csv

if TYPE_CHECKING:
    from tests.store.conftest import Log

HEAD = "airframe,taken_at,phase,primary_1_ft,primary_2_ft,level,remarks"
GOOD = "QX-ABC,2027-03-12T02:{:02}Z,level,31000,{},310,"


def imported(log: "Log", path: Path, rejects: Path | None = None) -> ImportResult:
    """Import a file of cross-checks."""
    return import_csv(
        log.store, path, KIND["crosscheck"], by="A. Example", clock=log.clock, reject_file=rejects
    )


@pytest.fixture
def rejects(log: "Log", folder: Path) -> Path:
    """Give the file of two rows rejected, one good row written."""
    rows, path = folder / "rows.csv", folder / "rejects.csv"
    lines = (HEAD, GOOD.format(1, 31040), GOOD.format(2, "31O40"), GOOD.format(3, "3104O"))
    rows.write_text("\n".join(lines), encoding="utf-8")
    assert imported(log, rows, path).written == 1
    return path


def test_mended_rows_go_in_with_the_reasons_beside_them(log: "Log", rejects: Path) -> None:
    """With the digits put right nothing else needs to be taken out of the file."""
    text = rejects.read_text(encoding="utf-8")
    mended = text.replace(",31O40,", ",31040,").replace(",3104O,", ",31050,")
    rejects.write_text(mended, encoding="utf-8")
    assert imported(log, rejects).written == 2
    entries = [each.record for each in log.standing("crosscheck")]
    assert [each.primary_2_ft for each in entries] == [31040, 31040, 31050]
    assert [each.remarks for each in entries] == [None, None, None]


def test_rejected_twice_has_one_column_of_reasons(log: "Log", rejects: Path) -> None:
    """What is still bad goes to a second file with the new reason alone, and that goes in too."""
    text = rejects.read_text(encoding="utf-8").replace(",31O40,", ",31040,")
    rejects.write_text(text.replace(",3104O,", ",310x0,"), encoding="utf-8")
    second = rejects.with_name("second.csv")
    assert imported(log, rejects, second).written == 1
    head, row = csv.reader(second.read_text(encoding="utf-8").splitlines())
    assert head == [*HEAD.split(","), "rejected_because"]
    assert row[:-1] == GOOD.format(3, "310x0").split(",")
    assert row[-1].startswith("primary_2_ft: '310x0' is no whole number")
    second.write_text(second.read_text(encoding="utf-8").replace("310x0", "31050", 1), "utf-8")
    assert imported(log, second).written == 1


def test_a_reason_never_becomes_a_value(log: "Log", folder: Path) -> None:
    """A row that is one field short does not take its reason for the remarks."""
    path = folder / "rows.csv"
    short = GOOD.format(1, 31040).removesuffix(",")
    path.write_text(f'{HEAD},rejected_because\n{short},"a reason"\n', encoding="utf-8")
    (fault,) = imported(log, path).bad
    assert fault.says == "the row has 6 fields, the header 7"
    assert log.standing("crosscheck") == ()
