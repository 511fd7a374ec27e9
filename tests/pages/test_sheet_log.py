"""From the in-flight sheet into the log: the file, twice, early and late, corrected, by hand."""

import csv
import io
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from rvsmlog.store.safekeeping.schema import create_store
from tests.cli.conftest import Cli
from tests.pages.sheets import emptied, opened_once

REG = "QX-ABC"
_AIRFRAME = (
    *("airframe", "add", "--registration", REG, "--type-designator", "VK71"),
    *("--serial-number", "1007", "--authority", "us-91", "--rvsm-basis", "group"),
    *("--type-certificate", "after-1997-04-09", "--highest-level", "310"),
    *("--primary-tolerance", "250:180,350:200", "--standby-tolerance", "290:300,310:320"),
)
_REMARK = '=1+1, "calm" \'\u202e<b>'
_GROUND = {
    **{"clock": "0812", "field_elevation_ft": "-20", "qnh_hpa": "29.92"},
    **{"primary_1_ft": "-10", "primary_2_ft": "35", "standby_ft": "0"},
}
_LEVEL = {
    **{"clock": "0905", "primary_1_ft": "020", "primary_2_ft": "30840", "standby_ft": "31140"},
    **{"transponder_ft": "000", "mach": ".55", "static_air_temperature_c": "-45,5"},
    "remarks": _REMARK,
}
_HOUR = {"clock": "1004", "primary_1_ft": "31010", "primary_2_ft": "30829"}


@pytest.fixture
def cli(tmp_path: Path) -> Cli:
    """Give a log that holds one airframe."""
    create_store(str(tmp_path / "log.sqlite3")).close()
    made = Cli(tmp_path / "log.sqlite3")
    made.ok(*_AIRFRAME)
    return made


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write the airframe's sheet."""
    folder = tmp_path_factory.mktemp("sheet")
    create_store(str(folder / "log.sqlite3")).close()
    made = Cli(folder / "log.sqlite3")
    made.ok(*_AIRFRAME)
    options = ("--level", "310", "--pilot", "mko", "--out", str(folder / "sheet.html"))
    said = made.ok("crosscheck", "sheet", REG, *options)
    assert f"{REG}  NO-GO at FL310: no flight" in said.out
    return folder / "sheet.html"


@pytest.fixture(scope="module")
def tablet(browser: Browser, sheet: Path) -> Iterator[Page]:
    """Open the sheet once."""
    yield from opened_once(browser, sheet)


@pytest.fixture
def page(tablet: Page) -> Page:
    """Give the empty sheet on the morning of 1 May 2026."""
    tablet.clock.set_fixed_time("2026-05-01T11:00:00Z")
    return emptied(tablet)


def fill(page: Page, check: str, typed: dict[str, str]) -> None:
    """Type a check as a pilot does."""
    for field, text in typed.items():
        box = page.locator(f'[id="{check}.{field}"]')
        if not box.is_visible():
            page.locator(f'[id="{check}"] summary').click()
        box.fill(text)
        box.press("Tab")


def saved(page: Page, to: Path) -> Path:
    """Save the file; it is the text that can be copied."""
    with page.expect_download() as download:
        page.get_by_role("button", name="Save the file").click()
    assert download.value.suggested_filename == f"crosschecks-{REG}-2026-05-01.csv"
    download.value.save_as(to)
    assert to.read_text(encoding="utf-8") == page.input_value("#text")
    return to


def rows(cli: Cli) -> list[dict[str, object]]:
    """Give the cross-checks on record."""
    found: list[dict[str, object]] = cli.ok("crosscheck", "list", REG, "--json").json
    return found


def test_filled_closed_reopened_saved_and_imported_twice(
    cli: Cli, page: Page, tmp_path: Path
) -> None:
    """What was typed stands in the log as it was typed; a second import changes nothing."""
    fill(page, "ground", _GROUND)
    fill(page, "level", _LEVEL)
    again = page.context.new_page()
    again.goto(page.url)
    file = saved(again, tmp_path / "checks.csv")
    again.close()
    cli.ok("crosscheck", "import", str(file))
    ground, level = rows(cli)
    assert {name: ground[name] for name in ("taken_at", "phase", "qnh_hpa", "primary_1_ft")} == {
        **{"taken_at": "2026-05-01T08:12:00Z", "phase": "ground"},
        # 29.92 inHg are 1013.21 hPa (33.86389 hPa each).
        **{"qnh_hpa": 1013.21, "primary_1_ft": -10},
    }
    names = ("level", "primary_1_ft", "transponder_ft", "mach", "static_air_temperature_c")
    assert [level[name] for name in (*names, "pilot", "remarks")] == [
        *(310, 31020, 31000, 0.55, -45.5, "MKO", _REMARK)
    ]
    seals = cli.seals()
    ran = cli("crosscheck", "import", str(file))
    assert (ran.status, ran.err.count("is already on record as VK71-1007#")) == (2, 2)
    assert cli.seals() == seals


def test_an_early_file_and_a_late_one(cli: Cli, page: Page, tmp_path: Path) -> None:
    """The late file adds what is new; what was corrected in between is named, not doubled."""
    fill(page, "ground", _GROUND)
    fill(page, "level", _LEVEL)
    cli.ok("crosscheck", "import", str(saved(page, tmp_path / "early.csv")))
    fill(page, "level", {"primary_2_ft": "30850"})
    fill(page, "hourly-1", _HOUR)
    late, rest = saved(page, tmp_path / "late.csv"), tmp_path / "left-out.csv"
    ran = cli("crosscheck", "import", str(late), "--skip-bad", str(rest))
    assert ran.status == 0
    assert [(row["phase"], row["primary_2_ft"]) for row in rows(cli)] == [
        *(("ground", 35), ("level", 30840), ("hourly", 30829))
    ]
    told = [line.strip() for line in ran.err.splitlines()]
    assert told[1:] == [
        "line 2: is already on record as VK71-1007#2; leave the row out",
        "line 3: is already on record as VK71-1007#3, with other values there: primary_2_ft 30840;"
        " correct that entry, or leave the row out",
    ]


def test_a_time_changed_after_the_file_is_told_of(page: Page, tmp_path: Path) -> None:
    """A check is known by its time: whoever changes it after saving is told what follows."""
    fill(page, "level", _LEVEL)
    saved(page, tmp_path / "early.csv")
    fill(page, "level", {"clock": "0907"})
    told = page.locator('[id="level.taken"]').inner_text()
    assert told.startswith("2026-05-01 09:07Z; in a saved file it was 2026-05-01T09:05Z")
    assert "strike the earlier entry out" in told
    page.reload()
    assert "strike the earlier entry out" in page.locator('[id="level.taken"]').inner_text()


def test_what_is_not_whole_stays_out_of_the_file_and_is_named(page: Page) -> None:
    """A check without its second altimeter, or with a value the log would refuse, waits."""
    assert page.get_by_role("button", name="Save the file").is_disabled()
    fill(page, "level", _LEVEL)
    fill(page, "hourly-1", {**_HOUR, "primary_2_ft": "", "mach": "5"})
    assert page.locator("#ready").inner_text() == "1 check is whole and in the file."
    assert page.locator("#missing").inner_text() == (
        "Hourly check 1 is not in the file yet: Altimeter 2, ft; "
        "Mach number: write a number from 0.05 to 0.99"
    )
    fill(page, "hourly-1", {"primary_2_ft": "31020", "mach": "", "gnss_height_ft": "32000"})
    assert "GNSS height above" in page.locator("#missing").inner_text()
    page.locator('[id="hourly-1.gnss_kind"]').select_option("mean-sea-level")
    assert page.locator("#ready").inner_text() == "2 checks are whole and in the file."


@pytest.mark.parametrize(("check", "typed"), [("level", _LEVEL), ("hourly-1", _HOUR)])
def test_it_says_what_the_log_says(cli: Cli, page: Page, check: str, typed: dict[str, str]) -> None:
    """Difference, limit and words below the fields are those of `crosscheck log` for the row."""
    fill(page, check, typed)
    (row,) = csv.DictReader(io.StringIO(page.input_value("#text")))
    options = [
        word
        for name, text in row.items()
        if text and name not in {"airframe", "remarks"}
        for word in ("--" + name.replace("_", "-"), text)
    ]
    logged = cli.ok("crosscheck", "log", REG, *options, "--json").json
    marks = page.locator(f'[id="{check}"] .results').get_attribute("data-mark")
    assert json.loads(marks or "") == logged["compared"]
    # Both sides of the limit of 180 ft at FL310.
    apart = {"level": (180, False), "hourly-1": (181, True)}[check]
    assert (abs(logged["difference_ft"]), logged["compared"][0]["beyond"]) == apart


_HAND = {
    **{"level": "310", "field_elevation_ft": "100", "qnh_hpa": "1013.5"},
    **{"standby_ft": "", "transponder_ft": "", "mach": "", "remarks": "by hand"},
}


@pytest.mark.parametrize(
    ("phase", "at", "one", "two"),
    [
        ("ground", "2026-05-01T08:12Z", "110", "90"),
        ("level", "2026-05-01T09:05Z", "31000", "31020"),
    ],
)
def test_paper_is_typed_in_in_its_own_order(
    cli: Cli, page: Page, phase: str, at: str, one: str, two: str
) -> None:
    """Guided entry asks for the boxes of the paper from left to right; the rest is passed over."""
    cells = page.locator(f'.paper td[data-cell^="{phase}."]').evaluate_all(
        "cells => cells.map(cell => cell.dataset.cell.split('.')[1])"
    )
    written = {**_HAND, "primary_1_ft": one, "primary_2_ft": two}
    # The first box is the time; how far apart is for the pilot; before the remarks the dialogue
    # asks for the pilot's code, and in flight for a GNSS height.
    boxes = [name for name in cells[1:-1] if name != "apart"]
    passed_over = ["", ""] if phase == "level" else [""]
    answers = [phase, at, *(written.get(name, "") for name in boxes), *passed_over, "by hand"]
    cli.ok("crosscheck", "log", REG, "--guided", typed="\n".join([*answers, "yes", "no", ""]))
    (row,) = rows(cli)
    assert {name: str(row[name]) for name in written if written[name] and name in cells} == {
        name: text for name, text in written.items() if text and name in cells
    }
