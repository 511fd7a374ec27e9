"""What all pages share: escaping, the mark, the content policy, and how a page is put in place."""

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from rvsmlog.errors import InputError
from rvsmlog.facts import Seal
from rvsmlog.pages.page import render, write_page
from rvsmlog.pages.parts import Places, Row, table
from rvsmlog.records.base import Ref

_MADE = datetime(2027, 3, 14, 2, 30, tzinfo=UTC)
_HOSTILE = "<script>document.title='x'</script>\u202eabc\x1b[2J"


def _page(title: str = "A page") -> str:
    seal = Seal(logbook=_HOSTILE, entry=7, digest="ab" * 32)
    return render("base.html", "sample", {"title": title, "made_at": _MADE, "seals": (seal,)})


def test_hostile_text_is_text(tmp_path: Path, opened: Callable[..., Page]) -> None:
    """Markup, text direction and control characters of a person's text are shown, not obeyed."""
    target = tmp_path / "page.html"
    write_page(target, "sample", _page(_HOSTILE))
    page = opened(target)
    assert page.title() == page.locator("h1").inner_text()
    assert page.locator("h1").inner_text() == (
        r"<script>document.title='x'</script>\u202eabc\u001b[2J"
    )
    assert page.locator("script").count() == 0


def test_accessible(tmp_path: Path, opened: Callable[..., Page]) -> None:
    """An accessibility check of the frame finds nothing."""
    target = tmp_path / "page.html"
    write_page(target, "sample", _page())
    assert Axe().run(opened(target)).response["violations"] == []


def test_a_page_of_the_same_kind_is_replaced(tmp_path: Path) -> None:
    """Making a page again puts the new one in the place of the old."""
    target = tmp_path / "page.html"
    write_page(target, "sample", _page("old"))
    write_page(target, "sample", _page("new"))
    assert "<h1>new</h1>" in target.read_text(encoding="utf-8")
    assert [path.name for path in tmp_path.iterdir()] == ["page.html"]


@pytest.mark.parametrize("there", ["something", "", "<meta name='generator' content='rvsmlog'>"])
def test_any_other_file_is_left_alone(tmp_path: Path, there: str) -> None:
    """What is no page of that kind is never overwritten."""
    target = tmp_path / "notes.html"
    target.write_text(there, encoding="utf-8")
    with pytest.raises(InputError, match="is no sample page"):
        write_page(target, "sample", _page())
    assert target.read_text(encoding="utf-8") == there


def test_another_kind_is_left_alone(tmp_path: Path) -> None:
    """A page of another kind is another file."""
    target = tmp_path / "page.html"
    write_page(target, "sample", _page())
    with pytest.raises(InputError, match="is no other page"):
        write_page(target, "other", _page())


@pytest.mark.parametrize("leads_to", ["page.html", "nothing.html"])
def test_a_link_that_leads_nowhere_is_left_alone(tmp_path: Path, leads_to: str) -> None:
    """Neither a link to itself nor one to no file is followed or replaced."""
    target = tmp_path / "page.html"
    target.symlink_to(leads_to)
    with pytest.raises(InputError, match="is a link that leads nowhere"):
        write_page(target, "sample", _page())
    assert target.is_symlink()
    assert [path.name for path in tmp_path.iterdir()] == ["page.html"]


def test_folder_that_is_not_there(tmp_path: Path) -> None:
    """A folder that does not exist is said, and not made."""
    with pytest.raises(InputError, match="cannot be written"):
        write_page(tmp_path / "none" / "page.html", "sample", _page())
    assert not (tmp_path / "none").exists()


def test_days_stay_in_one_line_and_many_entries_do_not() -> None:
    """A column of instants is never folded at a hyphen; a long row of entries leaves room."""
    places = Places("K1")
    many = places.links(Ref(logbook="K1", entry=number) for number in range(1, 9))
    made = table(
        "t",
        ("off", "found", "entries"),
        [
            Row(cells=["2025-11-27T17:33Z", "a sentence", places.link(1)]),
            Row(cells=["about 2028-09-28", "one of more letters", many]),
        ],
    )
    assert made.looks == "w1"
