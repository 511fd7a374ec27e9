"""What the tests of the in-flight sheet share: a sheet, and hands that type into it."""

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page

from rvsmlog.facts import Facts
from rvsmlog.pages.flight_sheet import KIND, sheet_page
from rvsmlog.pages.page import write_page
from rvsmlog.store.writing.checks import Checked
from rvsmlog.verdict import judge
from tests.rules.conftest import Make

MAKE = Make()
HOSTILE = "<b onclick=x>\u202e"
#: A manual's own tables, tighter than published up to FL349, and looser than it nowhere.
OWN: dict[str, Any] = {
    "primary_tolerance": ((250, 180), (350, 200)),
    "standby_tolerance": ((290, 300), (310, 320)),
    "ground_tolerance_ft": 60,
}


PUBLISHED = dict.fromkeys(OWN)


def facts_of(**parts: Any) -> Facts:
    """Give a flight that may go, of an airframe with its own tables."""
    return MAKE.facts(airframe=MAKE.airframe(**OWN), **parts)


def written(folder: Path, facts: Facts | None = None, made_at: datetime = MAKE.NOW) -> Path:
    """Write a sheet."""
    facts = facts or facts_of()
    target = folder / "sheet.html"
    made = Checked(facts=facts, verdict=judge(facts))
    write_page(target, KIND, sheet_page(made, made_at=made_at))
    return target


def opened_once(browser: Browser, path: Path) -> Iterator[Page]:
    """Open a page for many tests: starting one costs more than they do."""
    context = browser.new_context(offline=True)
    page, faults = context.new_page(), list[str]()
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.goto(path.as_uri())
    yield page
    context.close()
    assert not faults, faults


def emptied(page: Page) -> Page:
    """Bring a sheet back to where nothing was typed."""
    page.set_viewport_size({"width": 768, "height": 1024})
    page.evaluate("localStorage.clear(); state = fresh(); settle(); fill(); clearing();")
    return page


def put(page: Page, field: str, text: str) -> None:
    """Type into a field and go on to the next."""
    box = page.locator(f'[id="{field}"]')
    if not box.is_visible():
        page.locator(f'[id="{field.split(".", maxsplit=1)[0]}"] summary').click()
    box.fill(text)
    box.press("Tab")


def results(page: Page, check: str) -> list[str]:
    """Give what is said below a check's fields."""
    return page.locator(f'[id="{check}"] .result > p:first-child').all_inner_texts()
