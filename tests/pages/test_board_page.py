"""The fleet board as a page: read across a hangar, on a phone, on paper, and when it is old."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, Locator, Page
from pypdf import PdfReader

from rvsmlog.answers.fleet_board import MOST_DUE, board_rows
from rvsmlog.facts import Facts, NotJudged
from rvsmlog.pages.board import KIND, board_page
from rvsmlog.pages.page import write_page
from tests.rules.conftest import Make

_MAKE = Make()
_HOSTILE = "<script>document.title='x'</script>\u202e"


def _airframe(registration: str, **parts: object) -> Facts:
    airframe = _MAKE.airframe(registration=registration)
    return _MAKE.facts(question=_MAKE.question(level=None), airframe=airframe, **parts)


def _fleet() -> tuple[Facts, ...]:
    """Give an airframe that reaches its level, one held below it, and one that may not fly."""
    case = _MAKE.case(_MAKE.defect(210), deferral=_MAKE.deferral(211, 210, category="B"))
    overdue = replace(_airframe("QX-NIL", defects=(case,)), today=_MAKE.on("2027-03-16"))
    return (_airframe("QX-ABC"), _airframe("QX-HLD", approvals=()), overdue)


def _write(
    folder: Path, fleet: tuple[Facts | NotJudged, ...], made_at: datetime = _MAKE.NOW
) -> Path:
    target = folder / "board.html"
    write_page(target, KIND, board_page(board_rows(fleet, MOST_DUE), at=_MAKE.NOW, made_at=made_at))
    return target


@pytest.fixture
def board(tmp_path: Path) -> Path:
    """Write the board of three airframes."""
    return _write(tmp_path, _fleet())


def _row(page: Page, registration: str) -> Locator:
    return page.get_by_role("row").filter(has_text=registration)


def test_no_level_is_announced_that_holds_already(board: Path, opened: Callable[..., Page]) -> None:
    """What ends says which level remains only where that is lower than today's."""
    page = opened(board)
    then = {
        name: [int(level) for level in re.findall(r"then FL(\d+)", _row(page, name).inner_text())]
        for name in ("QX-ABC", "QX-HLD", "QX-NIL")
    }
    assert then["QX-ABC"]
    assert max(then["QX-ABC"]) < 310
    assert all(level < 280 for level in then["QX-HLD"])
    assert not then["QX-NIL"]
    assert "“Then” is a lower level" in page.locator(".key").inner_text()


def test_a_word_that_is_not_there_is_not_explained(
    tmp_path: Path, opened: Callable[..., Page]
) -> None:
    """Where nothing leaves a lower level, the page says nothing of it."""
    *_, no_flight = _fleet()
    page = opened(_write(tmp_path, (no_flight,)))
    assert page.locator("text=then FL").count() == 0
    assert "“Then”" not in page.locator(".key").inner_text()


def _size(found: Locator) -> float:
    return float(found.evaluate("e => parseFloat(getComputedStyle(e).fontSize)"))


def test_each_airframe_has_its_level_and_why(board: Path, opened: Callable[..., Page]) -> None:
    """The level, in words how it stands to the certificated one, what sets it, what falls due."""
    page = opened(board)
    assert page.locator(".sum").inner_text() == (
        "3 airframes: 1 at the certificated level, 1 held below it, 1 no flight."
    )
    said = {name: _row(page, name).inner_text() for name in ("QX-ABC", "QX-HLD", "QX-NIL")}
    for name, level, words, why in (
        ("QX-ABC", "FL310", "its certificated level", "highest certificated level"),
        ("QX-HLD", "FL280", "held below its FL310", "rvsm-approval-missing"),
        ("QX-NIL", "no flight", "certificated to FL310", "deferral-overdue"),
    ):
        assert [part for part in (level, words, why) if part not in said[name]] == []
    # Category B ends three days after 12 March: the day before the one that is asked about.
    assert "overdue 1 d" in said["QX-NIL"]
    assert "2 d ago, altimeters +40 ft" in said["QX-ABC"]
    assert "An aid, not a release" in page.get_by_role("contentinfo").inner_text()


def test_one_that_cannot_be_judged_says_why(tmp_path: Path, opened: Callable[..., Page]) -> None:
    """It shows no level and no scale, but the reason and what to do; it is counted apart."""
    why = NotJudged(
        airframe="QX-BAD",
        logbook="VK71-1666",
        message="the store is damaged: x",
        hint="restore <it>",
    )
    page = opened(_write(tmp_path, (*_fleet(), why)), width=360)
    assert page.locator(".sum").inner_text().endswith("1 no flight, 1 not judged.")
    said = _row(page, "QX-BAD").inner_text()
    assert [word for word in ("not judged", "damaged: x", "restore <it>") if word not in said] == []
    assert "FL" not in said
    assert _row(page, "QX-BAD").locator("svg").count() == 0
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    assert Axe().run(page).response["violations"] == []


@pytest.mark.parametrize("width", [360, 768, 1280, 1920])
def test_no_sideways_scroll_and_the_level_largest(
    board: Path, opened: Callable[..., Page], width: int
) -> None:
    """At every width the page fits, and nothing is written as large as the level."""
    page = opened(board, width=width)
    assert page.evaluate("document.documentElement.scrollWidth") == width
    sizes = page.evaluate(
        "[...document.querySelectorAll('body *')].map("
        "e => [e.className, parseFloat(getComputedStyle(e).fontSize), e.tagName])"
    )
    level = _size(_row(page, "QX-ABC").locator(".level strong"))
    assert max(size for _, size, _ in sizes) == level
    assert level >= (96 if width == 1920 else 45)
    assert min(size for _, size, tag in sizes if tag in {"TD", "TH", "LI", "SPAN"}) >= 12


def test_a_phone_has_a_card_for_each(board: Path, opened: Callable[..., Page]) -> None:
    """At 360 px the airframes stand below each other, each with the names of its parts."""
    page = opened(board, width=360)
    card = _row(page, "QX-HLD")
    parts = [card.locator(f".{name}").bounding_box() for name in ("level", "why", "due", "check")]
    tops = [box["y"] for box in parts if box is not None]
    assert len(tops) == 4
    assert tops == sorted(tops)
    assert card.locator(".why i").is_visible()


def test_a_long_or_hostile_text_stays_text(tmp_path: Path, opened: Callable[..., Page]) -> None:
    """Markup and text direction are shown, not obeyed, and a long name breaks on a phone."""
    deferral = _MAKE.deferral(211, 210, mel_reference=_HOSTILE)
    case = _MAKE.case(_MAKE.defect(210), deferral=deferral)
    target = _write(tmp_path, (_airframe("QX-LONGNAME", defects=(case,)),))
    page = opened(target, width=360)
    assert page.get_by_role("rowheader").inner_text() == "QX-LONGNAME"
    assert r"<script>document.title='x'</script>\u202e" in page.locator(".due").inner_text()
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    assert page.title() == "Fleet: highest level today"


@pytest.mark.parametrize("width", [360, 1280])
def test_accessible(board: Path, opened: Callable[..., Page], width: int) -> None:
    """An accessibility check finds nothing, as cards and as a table."""
    page = opened(board, width=width)
    assert Axe().run(page).response["violations"] == []
    assert page.get_by_role("row").count() == 4
    assert page.get_by_role("rowheader").count() == 3


@pytest.mark.parametrize(
    ("later", "begins"),
    [
        (timedelta(seconds=20), "It shows the fleet as it was just now."),
        (timedelta(minutes=1), "It shows the fleet as it was 1 minute ago."),
        (timedelta(hours=5), "It shows the fleet as it was 5 hours ago."),
        # The day it was made for ends with 14 March in UTC, 21 h 30 min later.
        (timedelta(hours=21, minutes=29), "It shows the fleet as it was 21 hours ago."),
        (timedelta(hours=21, minutes=30), "Out of date: it shows the fleet as it was 21 hours"),
        (timedelta(days=3), "Out of date: it shows the fleet as it was 3 days ago."),
        (timedelta(days=-1), "By this device's clock the board is of the future"),
    ],
)
def test_it_says_how_old_it_is(
    board: Path,
    context: BrowserContext,
    opened: Callable[..., Page],
    later: timedelta,
    begins: str,
) -> None:
    """An old board that is still pinned up says so, and how to make another."""
    context.clock.set_fixed_time(_MAKE.NOW + later)
    said = opened(board).locator("#age").inner_text()
    assert said.startswith(begins)
    assert said.endswith("make it anew: rvsmlog board --out FILE")


def test_a_board_of_an_earlier_day_is_as_old_as_that_day(
    tmp_path: Path, context: BrowserContext, opened: Callable[..., Page]
) -> None:
    """Made today for a day last week, it does not pass for today's."""
    made_at = _MAKE.NOW + timedelta(days=7)
    context.clock.set_fixed_time(made_at)
    page = opened(_write(tmp_path, _fleet(), made_at))
    assert page.locator("#age").inner_text().startswith("Out of date: it shows the fleet as it was")
    assert "7 days ago" in page.locator("#age").inner_text()


def test_without_script_it_says_for_which_day(board: Path, context: BrowserContext) -> None:
    """Where no script runs the page still says as of when it is, and for which day it counts."""
    browser = context.browser
    assert browser is not None
    plain = browser.new_context(java_script_enabled=False, offline=True)
    page = plain.new_page()
    page.goto(board.as_uri())
    assert page.locator("#age").inner_text() == (
        "As of 2027-03-14T02:30Z. Counts for 2027-03-14 (UTC) only. On a later day, and once "
        "anything more is recorded, make it anew: rvsmlog board --out FILE"
    )
    plain.close()


@pytest.mark.parametrize("landscape", [True, False])
def test_a_small_fleet_prints_on_one_page(
    tmp_path: Path, opened: Callable[..., Page], landscape: bool
) -> None:
    """Six airframes fit on one sheet of A4 either way, the caution among them."""
    page = opened(_write(tmp_path, _fleet() + _fleet()))
    printed = tmp_path / "board.pdf"
    page.pdf(path=printed, format="A4", landscape=landscape)
    sheets = PdfReader(printed).pages
    assert len(sheets) == 1
    text = " ".join(sheets[0].extract_text().split())
    assert "no flight" in text
    assert "An aid, not a release" in text


def test_a_thousand_airframes_make_a_small_page(tmp_path: Path) -> None:
    """A page of a thousand airframes stays below 2 MB."""
    fleet = (_airframe("QX-ABC"), *[_airframe("QX-HLD", approvals=())] * 3)
    few, many = (len(_write(tmp_path, fleet * n).read_bytes()) for n in (1, 11))
    assert many + (many - few) / 40 * 960 < 2_000_000


def test_nobody_on_record(tmp_path: Path, opened: Callable[..., Page]) -> None:
    """Without an airframe the page says how to enter one."""
    page = opened(_write(tmp_path, ()))
    assert "rvsmlog airframe add" in page.locator("main").inner_text()
    assert page.locator("#age").count() == 0
