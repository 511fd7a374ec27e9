"""A real browser for the pages: Debian's Chromium, with every network cut off."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route, sync_playwright

from tests.pages.sheets import emptied, opened_once, written

_CHROMIUM = ("chromium", "chromium-browser", "google-chrome")
#: What keeps the browser quiet and away from the network.
QUIET = (
    *("--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync", "--disable-quic", "--disable-dev-shm-usage"),
)


def chromium() -> str | None:
    """Find the browser."""
    return next(filter(None, map(shutil.which, _CHROMIUM)), None)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Start the browser once; where there is none, only the check of a change insists on it."""
    program = chromium()
    if program is None:
        if os.environ.get("CI"):
            pytest.fail("the check of a change needs Chromium: apt-get install chromium")
        pytest.skip("no Chromium on this machine: apt-get install chromium")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=program, args=list(QUIET))
        yield started
        started.close()


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    """Give a browser profile of the test's own that reaches files and nothing else."""
    made = browser.new_context(offline=True, accept_downloads=True)
    reached: list[str] = []

    def only_files(route: Route) -> None:
        if route.request.url.startswith(("file:", "data:", "blob:")):
            route.continue_()
        else:
            reached.append(route.request.url)
            route.abort()

    made.route("**/*", only_files)
    yield made
    made.close()
    assert not reached, f"a page asked for {reached}"


@pytest.fixture
def opened(context: BrowserContext) -> Iterator[Callable[..., Page]]:
    """Open a file as a page; a script error or a message of the console fails the test."""
    faults: list[str] = []

    def open_page(path: Path, *, width: int = 1280, height: int = 900) -> Page:
        page = context.new_page()
        page.set_viewport_size({"width": width, "height": height})
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on(
            "console",
            lambda message: faults.append(message.text) if message.type == "error" else None,
        )
        page.goto(path.as_uri())
        return page

    yield open_page
    assert not faults, faults


@pytest.fixture(scope="module")
def tablet(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """Open one sheet on a tablet without network."""
    yield from opened_once(browser, written(tmp_path_factory.mktemp("sheet")))


@pytest.fixture
def page(tablet: Page) -> Page:
    """Give the sheet as it is when nothing was typed yet."""
    return emptied(tablet)
