"""The dossier: whole, true to the log, readable by everyone, printable, deaf to hostile text."""

import re
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page
from pypdf import PdfReader

from rvsmlog.answers.dossier import Dossier, dossier
from rvsmlog.dates import now, parse_instant
from rvsmlog.errors import InputError
from rvsmlog.findings import Outcome
from rvsmlog.pages.dossier import dossier_page
from rvsmlog.records.airframe import Airframe
from rvsmlog.store.connection import open_store
from rvsmlog.store.reading.dossier import read_dossier
from rvsmlog.store.safekeeping.schema import create_store
from rvsmlog.store.writing.recording import record_entry
from tests.pages.hostile_log import HOSTILE_SHOWN, STORY, hostile_log

AT = parse_instant("2026-11-24T08:00Z")
MADE = datetime(2026, 11, 24, 9, tzinfo=UTC)
FLEET = ("QX-ALD", "QX-BRE", "QX-CYR", "QX-DAN", "QX-ESK")
#: The day by which an entry of a kind belongs to a span; microseconds since 1970 or ISO 8601 text.
DAYS = {
    "equipment": "fitted_on",
    "removal": "removed_on",
    "work": "done_on",
    "oxygen_reading": "checked_at",
    "defect": "found_at",
    "altimetry_fault": "found_at",
    "deferral": "deferred_on",
    "extension": "granted_on",
    "rectification": "done_at",
    "review": "reviewed_at",
    "approval": "issued_on",
    "test": "done_on",
    "monitoring": "measured_on",
    "flight": "off_at",
    "crosscheck": "taken_at",
    "deviation": "occurred_at",
    "closure": "closed_on",
}


def made(
    where: Path, registration: str, first: str | None = None, last: str | None = None
) -> Dossier:
    """Make a dossier from a store."""
    days = [None if day is None else date.fromisoformat(day) for day in (first, last)]
    with open_store(str(where)) as store:
        return dossier(*read_dossier(store, registration, AT, *days))


@pytest.fixture(scope="session")
def written(demo_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write the dossier of a drifting aeroplane over some weeks."""
    path = tmp_path_factory.mktemp("pages") / "QX-BRE.html"
    path.write_text(dossier_page(made(demo_file, "QX-BRE", "2026-10-20"), MADE), "utf-8")
    return path


def whole(page: Page) -> Page:
    """Have all of a page laid out: what is off the screen is laid out when it comes there."""
    page.add_style_tag(content="main > section { content-visibility: visible !important; }")
    return page


def entries_of_span(store: Path, registration: str, first: str, last: str) -> set[int]:
    """Ask the file itself which entries belong to a span; the demo's operator lives in UTC."""
    numbers: set[int] = set()
    with closing(sqlite3.connect(f"file:{store}?mode=ro", uri=True)) as connection:
        book = connection.execute(
            "SELECT logbook_id FROM airframe_detail WHERE registration = ?", (registration,)
        ).fetchone()[0]
        for table, column in DAYS.items():
            day = f"date({column} / 1000000, 'unixepoch')" if column.endswith("_at") else column
            rows = connection.execute(
                f"SELECT number FROM {table}_detail WHERE logbook_id = ? "  # noqa: S608  # names above
                f"AND {day} BETWEEN ? AND ?",
                (book, first, last),
            )
            numbers.update(row[0] for row in rows)
    return numbers


def shown(page: str) -> set[int]:
    """Give the entries that have a row of their own in a page."""
    return {int(number) for number in re.findall(r'<th scope="row">#(\d+)', page)}


@pytest.mark.parametrize("registration", FLEET)
def test_every_entry_of_the_span_is_in_the_page(demo_file: Path, registration: str) -> None:
    """What the store's file has for the span stands in the page, entry by entry."""
    first, last = "2026-02-01", "2026-09-30"
    page = dossier_page(made(demo_file, registration, first, last), MADE)
    wanted = entries_of_span(demo_file, registration, first, last)
    assert len(wanted) > 100
    assert wanted - shown(page) == set()


@pytest.mark.parametrize("registration", ["QX-ALD", "QX-BRE"])
def test_cross_checks_and_flights_out_of_the_span_are_not(
    demo_file: Path, registration: str
) -> None:
    """What happened before and after stays out, but for what stood over the span."""
    page = dossier_page(made(demo_file, registration, "2026-02-01", "2026-02-28"), MADE)
    with closing(sqlite3.connect(f"file:{demo_file}?mode=ro", uri=True)) as connection:
        rows = connection.execute(
            "SELECT c.number FROM crosscheck_detail c JOIN airframe_detail a USING (logbook_id) "
            "WHERE a.registration = ? AND date(taken_at / 1000000, 'unixepoch') "
            "NOT BETWEEN '2026-02-01' AND '2026-02-28'",
            (registration,),
        )
        outside = {row[0] for row in rows}
    assert len(outside) > 100
    assert outside & shown(page) == set()


def test_it_stands_as_of_the_end_of_the_span(demo_file: Path) -> None:
    """In May the altimeters of QX-BRE had not parted; the answer in November says they have."""
    spring = made(demo_file, "QX-BRE", "2026-01-01", "2026-05-31")
    assert spring.verdict.highest_level == 280
    assert "altimeters-disagree" in {each.rule for each in spring.verdict.limiting}
    faults = {each.rule for each in spring.closing.findings if each.outcome is Outcome.NOT_MET}
    assert faults & {"altimeters-disagree", "altimeters-drifting"} == set()
    assert spring.drift.alarmed == ()
    assert max(test.test.record.done_on for test in spring.tests) < date(2026, 6, 1)
    last_second = datetime(2026, 5, 31, 23, 59, tzinfo=UTC)
    assert spring.close.now == last_second


def test_what_stood_over_the_span_is_in_it(demo_file: Path) -> None:
    """Units fitted years before, and the tests that still counted, with what they prove."""
    short = made(demo_file, "QX-ALD", "2026-10-01", "2026-10-31")
    fitted = {case.equipment.record.function for case in short.equipment}
    assert {"altimeter", "air-data-computer", "static-source", "transponder"} <= fitted
    assert {"altimeter-static", "transponder"} <= {each.test.record.test for each in short.tests}
    assert all(case.removal is None for case in short.equipment)


@pytest.mark.parametrize(
    ("first", "last", "says"),
    [
        ("2026-03-01", "2026-02-01", "comes after"),
        (None, "2026-11-25", "lies ahead"),
    ],
)
def test_a_span_that_makes_no_sense_is_refused(
    demo_file: Path, first: str | None, last: str, says: str
) -> None:
    """Upside down, or ahead of the answer."""
    with pytest.raises(InputError, match=says):
        made(demo_file, "QX-ALD", first, last)


def test_the_answer_stands_first(written: Path, opened: Callable[..., Page]) -> None:
    """Before the contents: the level, what sets it, what is wrong, and the caution."""
    page = opened(written)
    answer = page.locator("section").first
    assert "NO-GO at FL310: highest level FL280" in answer.inner_text()
    assert "altimeters-disagree: not met, FL280 at most" in answer.inner_text()
    assert "An aid, not a release" in answer.inner_text()
    assert page.evaluate(
        "document.querySelector('.answer').compareDocumentPosition(document.querySelector('nav')) "
        "& Node.DOCUMENT_POSITION_FOLLOWING"
    )


def test_contents_and_evidence_lead_to_their_places(
    written: Path, opened: Callable[..., Page]
) -> None:
    """No link of the page leads nowhere, and no two things bear one mark."""
    page = opened(written)
    lost = page.evaluate(
        "[...document.querySelectorAll('a[href^=\"#\"]')].map(a => a.hash.slice(1))"
        ".filter(id => !document.getElementById(id))"
    )
    assert lost == []
    marks = page.evaluate("[...document.querySelectorAll('[id]')].map(e => e.id)")
    assert len(marks) == len(set(marks))
    assert page.locator('a[href^="#e"]').count() > 20


def test_a_registration_is_not_parted_at_its_hyphen(
    written: Path, opened: Callable[..., Page]
) -> None:
    """At 360 px the heading needs a second line, and the marks stand whole on it."""
    page = opened(written, width=360)
    heights = "node => node.getBoundingClientRect().height"
    whole_px, marks_px = (page.locator(each).evaluate(heights) for each in ("h1", "h1 .marks"))
    assert whole_px > 1.5 * marks_px
    assert page.locator("h1").inner_text() == "RVSM dossier of QX-BRE"


@pytest.mark.parametrize("width", [360, 768, 1280])
def test_no_width_scrolls_the_page_sideways(
    written: Path, opened: Callable[..., Page], width: int
) -> None:
    """A wide table scrolls by itself; the page does not."""
    page = opened(written, width=width)
    whole(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("width", [768, 1000, 1280])
def test_no_table_is_cut_on_a_screen_wider_than_a_phone(
    written: Path, opened: Callable[..., Page], width: int
) -> None:
    """Every table lies within its own frame, and no figure is parted to make it fit."""
    page = whole(opened(written, width=width))
    cut = page.evaluate(
        "[...document.querySelectorAll('.scroll')]"
        ".filter(e => e.scrollWidth > e.clientWidth + 1).map(e => e.getAttribute('aria-label'))"
    )
    assert cut == []
    breaks = page.evaluate("getComputedStyle(document.querySelector('section td')).overflowWrap")
    assert breaks == "break-word"  # unlike "anywhere", it parts nothing that fits


def test_accessible(hostile: Path, opened: Callable[..., Page]) -> None:
    """An accessibility check finds nothing: landmarks, heads, names, contrast."""
    page = whole(opened(hostile, width=768))
    assert Axe().run(page).response["violations"] == []
    tables = page.locator("table").count()
    assert tables == page.locator("table > caption").count() > 10
    assert page.locator("svg.plot").count() == page.locator("svg.plot > title").count() > 0


@pytest.mark.parametrize(("paper", "height_pt"), [("A4", 842), ("Letter", 792)])
def test_it_prints(
    written: Path,
    opened: Callable[..., Page],
    tmp_path: Path,
    paper: str,
    height_pt: int,
) -> None:
    """Each sheet has its number, a table that runs on repeats its head, and no row is cut."""
    target = tmp_path / "dossier.pdf"
    opened(written).pdf(path=target, format=paper, prefer_css_page_size=False)
    reader = PdfReader(target)
    assert round(float(reader.pages[0].mediabox.height)) == pytest.approx(height_pt, abs=1)
    texts = [sheet.extract_text() for sheet in reader.pages]
    count = len(texts)
    assert count > 8
    assert all(f"{number} / {count}" in text for number, text in enumerate(texts, start=1))
    checks = [text for text in texts if re.search(r"#\d+\s+\d\d-\d\d \d\d:\d\d\s+hourly", text)]
    assert len(checks) > 1
    assert all("taken at" in text for text in checks)
    every = "\n".join(texts)
    for number in entries_of_crosschecks(written):
        assert len(re.findall(rf"#{number}\s+\d\d-\d\d \d\d:\d\d", every)) == 1


def entries_of_crosschecks(path: Path) -> list[int]:
    """Give every twentieth cross-check of a page."""
    found = re.findall(
        r'<th scope="row">#(\d+)</th><td>\d\d-\d\d \d\d:\d\d<', path.read_text("utf-8")
    )
    return [int(number) for number in found[::20]]


def test_commands_to_type_are_set_as_code(written: Path) -> None:
    """No table shows the marks that stand for letters of code on the terminal."""
    page = written.read_text("utf-8")
    assert "`" not in page
    assert "<td>Read the gauge" in page
    assert "<code>rvsmlog oxygen reading</code>" in page


def test_black_and_white_lose_nothing(written: Path) -> None:
    """What is beyond a limit is said in words too, and marks differ by shape."""
    page = written.read_text("utf-8")
    assert "<td>primaries</td>" in page
    assert "BEYOND OWN" in page
    strokes = {each.rpartition(" ")[2] for each in re.findall(r'class="(?:mark|line) \w+', page)}
    assert {"ring", "dot", "cross", "triangle", "solid", "dashed", "dotted"} <= strokes


@pytest.fixture
def hostile(tmp_path: Path) -> Path:
    """Write the dossier of the hostile log."""
    hostile_log(tmp_path / "log.sqlite3")
    target = tmp_path / "hostile.html"
    target.write_text(dossier_page(made(tmp_path / "log.sqlite3", "QX-ABC"), MADE), "utf-8")
    return target


def test_hostile_text_is_text(hostile: Path, opened: Callable[..., Page]) -> None:
    """Markup, templates and text direction of any field are shown as they were typed."""
    page = whole(opened(hostile))
    assert page.title() == "RVSM dossier of QX-ABC"
    assert page.locator("script").count() == 0
    assert page.locator("b").count() == 0
    said = page.locator("body").inner_text()
    assert "\u202e" not in said
    assert "49" not in re.findall(r"\{\{ 7\*7 \}\}|\b49\b", said)
    # Each entry of the story has free text; authors and reasons come on top.
    assert said.count(HOSTILE_SHOWN) > 2 * len(STORY)


def test_a_correction_shows_the_wrong_the_right_who_and_why(
    hostile: Path, opened: Callable[..., Page]
) -> None:
    """Both versions stand there; the sections above show what counts."""
    page = whole(opened(hostile))
    rows = page.get_by_role("row").filter(has_text="alt 2").filter(has_text="31040")
    cells = rows.first.locator("th, td").all_inner_texts()
    assert cells[0] == "#19"
    assert cells[3:6] == ["31040", "31140", "#22"]
    assert HOSTILE_SHOWN in cells[6]
    assert cells[7] == HOSTILE_SHOWN
    counts = page.locator("tr", has_text="#22 corrects #19").first.inner_text()
    assert "31140" in counts
    struck = page.get_by_role("row").filter(has_text="struck out").filter(has_text="ase ft")
    assert struck.first.locator("th").first.inner_text() == "#17"
    assert "-35" in struck.first.inner_text()


def test_nothing_of_a_new_airframe_is_no_pass(tmp_path: Path, opened: Callable[..., Page]) -> None:
    """Without anything on record the page stands, and each section says what is missing."""
    path = tmp_path / "log.sqlite3"
    create_store(str(path))
    texts = {
        "registration": "QX-ABC",
        "type_designator": "VK71",
        "serial_number": "1007",
        "authority": "us-91",
        "rvsm_basis": "group",
        "type_certificate": "after-1997-04-09",
        "highest_level": "310",
    }
    with open_store(str(path)) as store:
        record_entry(store, Airframe.kind, texts, by="M. Kovo", clock=now)
    target = tmp_path / "new.html"
    target.write_text(dossier_page(made(path, "QX-ABC"), MADE), "utf-8")
    said = whole(opened(target, width=360)).locator("body").inner_text()
    assert "NO-GO" in said
    assert "not on record" in said
    assert "No cross-check of the span is on record." in said
    assert "No test is on record." in said
