"""The in-flight sheet in a browser: what it says as it is typed, its clock, what it keeps."""

import json
import re
import unicodedata
from collections.abc import Callable
from datetime import timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.base import AxeResults
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect
from pypdf import PdfReader

from rvsmlog.answers.flight_sheet import limits_of
from rvsmlog.records.airframe import Airframe
from rvsmlog.reports.comparisons import comparison_object, comparisons
from rvsmlog.verdict import CAUTION
from tests.pages.sheets import (
    MAKE,
    OWN,
    PUBLISHED,
    facts_of,
    put,
    results,
    written,
)

_READINGS = [
    # Both sides of 180 ft at FL310, of 300 and 320 ft, and of 125 ft.
    ("level", {"level": 310, "primary_1_ft": 31090, "primary_2_ft": 30910}),
    ("level", {"level": 310, "primary_1_ft": 31091, "primary_2_ft": 30910}),
    ("hourly", {"level": 350, "primary_1_ft": 34900, "primary_2_ft": 35100}),
    ("hourly", {"level": 350, "primary_1_ft": 34900, "primary_2_ft": 35101}),
    *(
        (
            "level",
            {
                **{"level": level, "primary_1_ft": 31000, "primary_2_ft": 30980},
                **{"standby_ft": 30980 + apart, "transponder_ft": 31000 + beside},
            },
        )
        for level, apart, beside in (
            *((309, 300, 125), (309, 301, 126), (310, 320, -145), (310, 321, -146)),
            *((310, 10, -10), (310, -321, 0)),
        )
    ),
    ("before-entry", {"level": 270, "primary_1_ft": 27000}),
    ("ground", {"field_elevation_ft": 690, "primary_1_ft": 750, "primary_2_ft": 629}),
    ("ground", {"field_elevation_ft": -20, "primary_1_ft": -81, "primary_2_ft": 40}),
    # Both sides of 75 ft between the two.
    ("ground", {"field_elevation_ft": 0, "primary_1_ft": 37, "primary_2_ft": -38}),
    ("ground", {"field_elevation_ft": 0, "primary_1_ft": 38, "primary_2_ft": -38}),
    ("after-flight", {"primary_1_ft": 100, "primary_2_ft": 281}),
]


@pytest.mark.parametrize("table", [None, OWN["primary_tolerance"]])
@pytest.mark.parametrize("code", ["eu-nco", "us-91"])
def test_the_limit_between_the_two_on_the_ground(code: str, table: Any) -> None:
    """75 ft in Europe, AMC1 SPA.RVSM.105(b)(iii); at home the manual's own row or none."""
    limits = limits_of(MAKE.airframe(authority=code, primary_tolerance=table).record)
    own = None if table is None else table[0][1]
    assert limits.ground_between_ft == (75 if code == "eu-nco" else own)
    cited = {what: source.key for what, source in limits.sources}
    expected = "spa-rvsm-105-pre-flight" if code == "eu-nco" else None
    assert cited.get("altimeter 1 to 2 on the ground") == expected


@pytest.mark.parametrize(
    "own",
    [OWN, PUBLISHED, {**PUBLISHED, "authority": "eu-nco"}],
    ids=["own tables", "published", "Europe"],
)
def test_it_judges_as_the_log_does(own: dict[str, Any], page: Page, tmp_path: Path) -> None:
    """Differences, limits and words are those of `crosscheck log`, on both sides of each limit."""
    airframe = MAKE.airframe(**own)
    text = written(tmp_path, MAKE.facts(airframe=airframe)).read_text(encoding="utf-8")
    embedded = re.search(r'id="data">(.*?)</script>', text)
    assert embedded is not None
    limits = json.loads(embedded[1])
    empty = dict.fromkeys(limits["fields"])
    given = [[phase in {"ground", "after-flight"}, {**empty, **said}] for phase, said in _READINGS]
    found = page.evaluate(
        "([limits, cases]) => cases.map(each => compare(limits, each[0], each[1]))", [limits, given]
    )
    assert found == [
        [comparison_object(each) for each in comparisons(airframe.record, {"phase": phase, **said})]
        for phase, said in _READINGS
    ]
    assert sum(each["beyond"] for check in found for each in check) >= 3


@pytest.mark.parametrize("own", [OWN, PUBLISHED])
def test_its_limits_are_those_of_every_level(own: dict[str, Any]) -> None:
    """200 ft as published (NAT Doc 001 3.5.1(f)) or the tighter table, at each flight level."""
    airframe: Airframe = MAKE.airframe(**own).record
    bands = limits_of(airframe).bands
    assert [(bands[0].low, bands[-1].high)] == [(1, 660)]
    for one, other in pairwise(bands):
        assert other.low == one.high + 1
    at = {level: band for band in bands for level in range(band.low, band.high + 1)}
    tight = 180 if own is OWN else 200
    assert {level: at[level].primaries_ft for level in (1, 250, 310, 349, 350, 660)} == {
        **dict.fromkeys((1, 250, 310, 349), tight),
        **dict.fromkeys((350, 660), 200),
    }
    assert [at[level].standby_ft for level in (1, 309, 310, 660)] == (
        [300, 300, 320, 320] if own is OWN else [None] * 4
    )


def test_beyond_a_limit_it_says_what_to_do_and_say(page: Page) -> None:
    """The numbers in words, and at once what is done and said, with its source and the caution."""
    put(page, "level.primary_1_ft", "31090")
    put(page, "level.primary_2_ft", "30910")
    expect(page.locator("#level .result")).to_have_count(1)
    assert results(page, "level") == [
        "altimeters 180 ft apart, tolerance 180 ft: within, 0 ft left"
    ]
    put(page, "level.primary_2_ft", "30900")
    assert results(page, "level")[0] == (
        "BEYOND by 10 ft: altimeters 190 ft apart, tolerance 180 ft"
    )
    said = page.locator("#level .results").inner_text()
    for words in (
        "compare with the standby altimeter",
        "UNABLE RVSM DUE EQUIPMENT",
        "[from memory]",
        "Note for the log: both primaries and the standby",
        CAUTION,
    ):
        assert words in said
    put(page, "before-entry.level", "270")
    put(page, "before-entry.primary_1_ft", "27000")
    put(page, "before-entry.primary_2_ft", "27181")
    assert "stays out of RVSM airspace" in page.locator("#before-entry .results").inner_text()


def test_nothing_is_beyond_while_it_is_typed(page: Page) -> None:
    """The first digits of an altitude are no difference of 30,000 ft; after a rest they are."""
    put(page, "level.primary_1_ft", "31000")
    box = page.locator('[id="level.primary_2_ft"]')
    box.press_sequentially("3091")
    assert results(page, "level") == []
    box.press_sequentially("0")
    assert results(page, "level") == [
        "altimeters 90 ft apart, tolerance 180 ft: within, 90 ft left"
    ]
    box.press("Backspace")
    expect(page.locator("#level .result > p.beyond")).to_contain_text("BEYOND by 27729 ft")
    assert "is every digit right?" in page.locator("#level").inner_text()


def test_three_digits_stand_for_the_nearest_altitude(page: Page) -> None:
    """Whoever types the last three digits gets the altitude nearest to the level held.

    Where two are equally near, and where other than three digits are typed, they stay.
    """
    meant = [
        *((310, "020", "31020"), (310, "980", "30980"), (310, "501", "30501")),
        *((310, "499", "31499"), (315, "020", "31020"), (310, "500", "500")),
        *((10, "980", "980"), (310, "31020", "31020"), (310, "20", "20"), (3, "950", "950")),
    ]
    given = [[typed, level] for level, typed, _ in meant]
    found = page.evaluate("cases => cases.map(each => withThousands(each[0], each[1]))", given)
    assert found == [altitude for _, _, altitude in meant]
    put(page, "hourly-1.primary_1_ft", "020")
    assert page.input_value('[id="hourly-1.primary_1_ft"]') == "31020"
    put(page, "ground.primary_1_ft", "020")
    assert page.input_value('[id="ground.primary_1_ft"]') == "020"
    page.get_by_role("button", name="Change the sign: Altimeter 1, ft").first.click()
    assert page.input_value('[id="ground.primary_1_ft"]') == "-020"


def test_a_clock_over_midnight_and_a_leap_day(browser: Browser, tmp_path: Path) -> None:
    """Times are UTC wherever the tablet is, over midnight into 29 February and out of it."""
    context = browser.new_context(offline=True, timezone_id="Pacific/Auckland")
    page = context.new_page()
    page.clock.set_fixed_time("2028-02-28T23:58:10Z")
    page.goto(written(tmp_path).as_uri())
    assert page.locator("#utc").inner_text() == "2028-02-28 23:58:10Z"
    page.locator("#level .now").click()
    assert page.locator('[id="level.taken"]').inner_text() == "2028-02-28 23:58Z"
    assert page.locator("#next").inner_text() == "Next check 00:58Z, in 60 min"
    page.clock.set_fixed_time("2028-02-29T01:00:00Z")
    page.evaluate("tick()")
    assert page.locator("#next").inner_text() == "Due since 00:58Z, 2 min ago"
    page.clock.set_fixed_time("2028-02-29T01:14:00Z")
    page.evaluate("tick()")
    assert page.locator("#next").inner_text() == "OVERDUE since 00:58Z, 16 min ago"
    put(page, "hourly-1.clock", "0057")
    assert page.locator('[id="hourly-1.taken"]').inner_text() == "2028-02-29 00:57Z"
    page.clock.set_fixed_time("2028-03-01T00:05:00Z")
    page.locator("#add").click()
    put(page, "hourly-2.clock", "23:55")
    assert (
        page.locator('[id="hourly-2.taken"]').inner_text().startswith("2028-02-28 23:55Z; earlier")
    )
    put(page, "hourly-2.day", "2028-02-30")
    assert "a day such as" in page.locator('[id="hourly-2.taken"]').inner_text()
    put(page, "hourly-2.day", "2028-02-29")
    assert page.locator('[id="hourly-2.taken"]').inner_text() == "2028-02-29 23:55Z"
    page.locator("#leaving .now").click()
    assert page.locator('[id="leaving.taken"]').inner_text() == "2028-03-01 00:05Z"
    assert page.locator("#next").inner_text() == ""
    context.close()


def test_it_says_when_its_flight_is_past(browser: Browser, tmp_path: Path) -> None:
    """A day after the instant that it answers for it is out of date, in words, not before."""
    context = browser.new_context(offline=True)
    page = context.new_page()
    page.clock.set_fixed_time(MAKE.NOW + timedelta(hours=23, minutes=59))
    page.goto(written(tmp_path).as_uri())
    age = page.locator("#age")
    assert age.inner_text() == "By this device’s clock it is 23 h old."
    page.clock.set_fixed_time(MAKE.NOW + timedelta(days=1))
    page.evaluate("tick()")
    assert age.inner_text() == (
        "Out of date: by this device’s clock the flight that it answers for was 24 h ago. "
        "Make it anew."
    )
    page.clock.set_fixed_time(MAKE.NOW + timedelta(days=5))
    page.evaluate("tick()")
    assert "5 days ago" in age.inner_text()
    context.close()


def test_a_time_is_not_replaced_by_a_slip(page: Page) -> None:
    """The button stamps once; over a time that stands it asks first."""
    put(page, "level.clock", "0000")
    page.locator("#level .now").click()
    assert page.input_value('[id="level.clock"]') == "00:00"
    page.get_by_role("button", name="Replace 00:00?").click()
    assert page.locator("#level .now").inner_text() == "Now"


def test_every_target_is_large_enough(page: Page) -> None:
    """At each width nothing runs over the edge, and what is pressed is 44 px high and wide."""
    put(page, "level.remarks", "smooth")
    for width in (360, 768, 1280):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") == width
        assert page.evaluate(_SMALL) == []


_SMALL = (
    "Array.from(document.querySelectorAll('main button, main input:not([type=checkbox]), "
    "main select, main summary, nav a, .ticks label')).filter(e => e.offsetParent)"
    ".map(e => [e.id || e.textContent, e.getBoundingClientRect()])"
    ".filter(([, box]) => box.height < 44 || box.width < 44).map(([name]) => name)"
)


def test_accessible(page: Page) -> None:
    """An accessibility check of a sheet with a reading beyond its limit finds nothing."""
    for field, typed in (("clock", "0900"), ("primary_1_ft", "31010"), ("primary_2_ft", "31300")):
        put(page, f"level.{field}", typed)
    put(page, "ground.remarks", "smooth")
    assert faults(Axe().run(page)) == []
    page.emulate_media(color_scheme="dark")
    assert faults(Axe().run(page, options={"runOnly": ["color-contrast"]})) == []
    page.emulate_media(color_scheme="light")


def faults(found: AxeResults) -> list[tuple[str, str]]:
    """Give what an accessibility check found, and where first."""
    return [(each["id"], each["nodes"][0]["html"]) for each in found.response["violations"]]


def printed(page: Page, folder: Path, paper: str) -> list[str]:
    """Print to PDF and give the text of its pages, without spaces and ligatures."""
    page.pdf(path=folder / "sheet.pdf", format=paper)
    pages = PdfReader(folder / "sheet.pdf").pages
    texts = (unicodedata.normalize("NFKC", each.extract_text()) for each in pages)
    return ["".join(text.split()) for text in texts]


def test_it_prints_on_two_pages(page: Page, tmp_path: Path) -> None:
    """The boxes to be filled on the first page with the tolerances, what to do on the second.

    Printed after it was filled, the sheet holds the readings; the other boxes are empty.
    """
    put(page, "level.clock", "0905")
    put(page, "level.primary_1_ft", "31017")
    for paper in ("A4", "Letter"):
        first, second = printed(page, tmp_path, paper)
        marks = ("Tobefilledbyhand", "before-entry", "after-flight", "TolerancesofQX-ABC")
        places = [first.index(mark) for mark in marks]
        assert places == sorted(places)
        assert first[: places[-1]].count("hourly") == 6
        assert (first.count("31017"), first.count("09:05")) == (1, 1)
        assert "UNABLERVSMDUEEQUIPMENT" in second
        assert "Anaid,notarelease" in second
        assert "Savethefile" not in first + second


def test_without_script_it_is_still_a_sheet(browser: Browser, tmp_path: Path) -> None:
    """Where no script runs, it says so, and tolerances and what to do can be read and printed."""
    context = browser.new_context(offline=True, java_script_enabled=False)
    page = context.new_page()
    page.goto(written(tmp_path).as_uri())
    said = page.locator("main").inner_text()
    assert "This browser runs no script here" in said
    assert "UNABLE RVSM DUE EQUIPMENT" in said
    assert "180 ft" in said
    context.close()


def test_a_flight_that_may_not_go_is_called_so(tmp_path: Path) -> None:
    """The sheet of a flight that is NO-GO says it on top, with the level and the rule."""
    text = written(tmp_path, facts_of(approvals=())).read_text(encoding="utf-8")
    header = text[text.index("<header>") : text.index("</header>")]
    assert "NO-GO at FL310: highest level FL280" in header
    assert "rvsm-approval-missing" in header
    assert "as on record up to VK71-1007#" in header


def test_hostile_text_is_text(tmp_path: Path, opened: Callable[..., Page]) -> None:
    """A pilot's code of markup, and the end of a script in a value, stay text."""
    facts = facts_of(question=MAKE.question(pilot="</script><b>\u202e"))
    page = opened(written(tmp_path, facts))
    assert page.input_value("#pilot") == "</script><b>\u202e"
    assert page.locator("b").count() == 1  # the clock
    put(page, "level.remarks", "<img src=x onerror=alert(1)>")
    put(page, "level.primary_1_ft", "<i>")
    assert "write a whole number" in page.locator("#missing").inner_text()
    assert page.locator("img, i:not([data-cell]):not(.line i)").count() == 0
