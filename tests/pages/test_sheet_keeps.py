"""What the in-flight sheet keeps in the browser: typed, of another sheet, out of shape, full."""

from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page

from tests.pages.sheets import HOSTILE, MAKE, put, written


def test_it_keeps_what_is_typed(context: BrowserContext, tmp_path: Path) -> None:
    """A closed tab loses nothing; ticks, added hours and remarks are there again."""
    target = written(tmp_path)
    page = context.new_page()
    page.goto(target.as_uri())
    page.locator("#ground .ticks input").first.check()
    page.locator("#add").click()
    put(page, "hourly-2.primary_1_ft", "31010")
    put(page, "hourly-2.remarks", HOSTILE)
    page.close()
    page = context.new_page()
    page.goto(target.as_uri())
    assert page.locator("#ground .ticks input").first.is_checked()
    assert page.input_value('[id="hourly-2.primary_1_ft"]') == "31010"
    assert page.input_value('[id="hourly-2.remarks"]') == HOSTILE
    assert "Kept on this device" in page.locator("#kept").inner_text()


def test_another_sheet_of_the_airframe_is_not_lost(context: BrowserContext, tmp_path: Path) -> None:
    """What an earlier sheet holds is told on the later one, and gone on with there."""
    first = context.new_page()
    first.goto(written(tmp_path).as_uri())
    put(first, "level.primary_1_ft", "31010")
    (tmp_path / "later").mkdir()
    later = written(tmp_path / "later", made_at=MAKE.NOW + timedelta(hours=1))
    page = context.new_page()
    page.goto(later.as_uri())
    box = page.locator("#others .box")
    assert "another sheet of QX-ABC, made 2027-03-14T02:30Z, with 1 check." in box.inner_text()
    assert page.input_value('[id="level.primary_1_ft"]') == ""
    page.get_by_role("button", name="Go on with it here").click()
    assert page.input_value('[id="level.primary_1_ft"]') == "31010"
    page.get_by_role("button", name="Remove it").click()
    assert box.count() == 1
    page.get_by_role("button", name="Yes, remove it").click()
    assert box.count() == 0
    page.reload()
    assert page.input_value('[id="level.primary_1_ft"]') == "31010"
    assert box.count() == 0


def test_what_it_cannot_read_is_set_aside(page: Page) -> None:
    """What another edition kept in its place is shown and left as it is, never overwritten."""
    texts = ["{broken", '{"form": 99, "checks": {}}']
    for text in texts:
        page.evaluate("text => localStorage.setItem(kept.place, text)", text)
        page.reload()
        put(page, "level.primary_1_ft", "31010")
    page.reload()
    boxes = page.locator("#others .box")
    assert boxes.count() == 2
    for place, text in enumerate(texts):
        boxes.nth(place).get_by_role("button", name="Show its text").click()
        assert boxes.nth(place).get_by_role("textbox").input_value() == text
    assert page.input_value('[id="level.primary_1_ft"]') == "31010"


@pytest.mark.parametrize(
    "change",
    [
        "state => { state.hours = 1e9; }",
        "state => { state.checks.level = {}; }",
        "state => { delete state.ticks; }",
    ],
)
def test_what_is_kept_out_of_shape_does_not_stop_it(page: Page, change: str) -> None:
    """A state that is not whole is set aside, and the sheet can be filled in."""
    page.evaluate(
        "change => { const made = fresh(); eval(change)(made);"
        " localStorage.setItem(kept.place, JSON.stringify(made)); }",
        change,
    )
    page.reload(timeout=10_000)
    put(page, "level.primary_1_ft", "31010")
    page.reload()
    assert page.locator("#others .box").count() == 1
    assert page.input_value('[id="level.primary_1_ft"]') == "31010"


def test_where_nothing_is_kept_it_says_so(context: BrowserContext, tmp_path: Path) -> None:
    """A browser that keeps nothing is told of; the sheet and its file work all the same."""
    context.add_init_script(
        "Object.defineProperty(window, 'localStorage', "
        "{ get() { throw new DOMException('refused', 'SecurityError'); } });"
    )
    page = context.new_page()
    page.goto(written(tmp_path).as_uri())
    assert page.locator("#kept").inner_text().startswith("NOT KEPT: this browser keeps nothing")
    assert "NOT KEPT" in page.locator("#bar").evaluate(
        "bar => getComputedStyle(bar, '::after').content"
    )
    for field, typed in (("clock", "0900"), ("primary_1_ft", "010"), ("primary_2_ft", "31000")):
        put(page, f"level.{field}", typed)
    assert page.input_value("#text").splitlines()[1].split(",")[3:5] == ["31010", "31000"]


def test_a_full_device_is_told_of(page: Page) -> None:
    """Where there is no room left, the sheet says that it does not keep."""
    page.evaluate("void (window.put = Storage.prototype.setItem)")
    page.evaluate("void (Storage.prototype.setItem = () => { throw new DOMException('full'); })")
    put(page, "level.primary_1_ft", "31010")
    page.evaluate("void (Storage.prototype.setItem = window.put)")
    assert page.locator("#kept").inner_text().startswith("NOT KEPT: there is no room")


def test_clearing_takes_two_steps(page: Page) -> None:
    """One press clears nothing and says what would go; the second one does."""
    put(page, "level.primary_1_ft", "31010")
    page.get_by_role("button", name="Clear this sheet").click()
    assert "removes 1 check and every tick from this device; never saved to a file: 1." in (
        page.locator("#clearing").inner_text()
    )
    page.get_by_role("button", name="Keep it").click()
    assert page.input_value('[id="level.primary_1_ft"]') == "31010"
    page.get_by_role("button", name="Clear this sheet").click()
    page.get_by_role("button", name="Yes, clear it").click()
    assert page.input_value('[id="level.primary_1_ft"]') == ""
    page.reload()
    assert page.input_value('[id="level.primary_1_ft"]') == ""
