"""Hostile text through every page and picture: it adds no element and no attribute, and stays text.

A page made with a payload is held against the same page made with a harmless word: read by an HTML
parser that is not ours, both have the same elements with the same attributes in the same order.
"""

from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from typing import TypeVar

import pytest
from playwright.sync_api import Page

from rvsmlog.answers.fleet_board import MOST_DUE, board_rows
from rvsmlog.facts import Facts, Logged
from rvsmlog.pages.board import board_page
from rvsmlog.pages.dossier import dossier_page
from rvsmlog.pages.flight_sheet import sheet_page
from rvsmlog.pages.plot_svg import svg
from rvsmlog.records.base import Record
from rvsmlog.reports.plot import Marks, Plot, Shape, Stretch, Stroke, Upright, value_axis
from rvsmlog.store.writing.checks import Checked
from rvsmlog.verdict import judge
from tests.pages.hostile_log import hostile_log
from tests.pages.test_dossier import MADE, made
from tests.rules.conftest import Make

_MAKE = Make()
_R = TypeVar("_R", bound=Record)
PAYLOADS = {
    "script": "<script>document.title='x'</script>",
    "ends of raw text": "</script></style></title>--><script>document.title='x'</script>",
    "event handler": "<img src=x onerror=\"document.title='x'\">",
    "out of an attribute": "\" onmouseover=\"document.title='x'\" x='",
    "out of the other quotes": "' autofocus onfocus='document.title=1' x=\"",
    "address that runs": "<a href=\"javascript:document.title='x'\">x</a>",
    "style": '</style><style>body{display:none}</style>" style="position:fixed',
    "picture": "</svg><svg onload=\"document.title='x'\"><use href='data:,x'/>",
    "template": "{{ 7*7 }}{% raw %}",
    "entity": "&lt;script&gt;&#60;b&#62;&amp;amp;",
    "text direction": "\u202eabc\u2066def\u200f",
    "zero byte and escape": "a\0b\x1b[2J\x07",
    "formula": '=HYPERLINK("javascript:alert(1)")',
    "long word": "W" * 3000,
}


class _Inventory(HTMLParser):
    """Writes down every element with its attributes, and all text."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[tuple[str, tuple[str, ...]]] = []
        self.addresses: list[str] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Write down an element."""
        self.found.append((tag, tuple(name for name, _ in attrs)))
        self.addresses += [value or "" for name, value in attrs if name in {"href", "src"}]

    def handle_data(self, data: str) -> None:
        """Write down text."""
        self.text.append(data)


def inventory(page: str) -> _Inventory:
    """Read a page."""
    found = _Inventory()
    found.feed(page)
    found.close()
    return found


def said(logged: Logged[_R], **fields: str) -> Logged[_R]:
    """Put texts into a record past its checks, as a store that was changed by hand holds them."""
    for name, text in fields.items():
        object.__setattr__(logged.record, name, text)
    return logged


def facts_of(text: str, level: int | None) -> Facts:
    """Give an airframe with a text in whatever a page shows of it and its deferral."""
    deferral = said(_MAKE.deferral(211, 210), mel_reference=text)
    case = _MAKE.case(said(_MAKE.defect(210), description=text), deferral=deferral)
    return _MAKE.facts(
        question=_MAKE.question(level=level),
        airframe=said(_MAKE.airframe(), registration=text),
        defects=(case,),
    )


def board(text: str) -> str:
    """Make a board of such an airframe."""
    return board_page(
        board_rows((facts_of(text, None),), MOST_DUE), at=_MAKE.NOW, made_at=_MAKE.NOW
    )


def sheet(text: str) -> str:
    """Make a sheet of such an airframe."""
    facts = facts_of(text, 310)
    return sheet_page(Checked(facts=facts, verdict=judge(facts)), made_at=_MAKE.NOW)


def picture(text: str) -> str:
    """Draw a picture whose every word is the text."""
    x, y = value_axis(text, 0, 10), value_axis(text, -5, 5)
    line = Stretch(points=((0.0, 1.0), (10.0, 1.0)), stroke=Stroke.SOLID, label=text)
    return str(
        svg(
            Plot(
                title=text,
                says=text,
                x=x,
                y=y,
                lines=(line,),
                marks=(Marks(points=((1.0, 1.0),), shape=Shape.RING, label=text),),
                uprights=(Upright(x=5.0, label=text, stroke=Stroke.DASHED),),
            ),
            alone=True,
        )
    )


@pytest.mark.parametrize("make", [board, sheet, picture])
@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
def test_a_payload_adds_no_element(make: Callable[[str], str], payload: str) -> None:
    """The page has the elements and attributes that it has with a harmless word."""
    hostile, harmless = inventory(make(payload)), inventory(make("harmless"))
    assert hostile.found == harmless.found
    assert not [each for each in hostile.addresses if "script:" in each.lower()]
    assert not {"\u202e", "\0", "\x1b", "\x07"} & set("".join(hostile.text))


def test_the_parser_would_see_it() -> None:
    """What is held of the pages can fail: unescaped, most payloads add elements of their own."""
    plain = inventory("<p>harmless</p>").found
    adding = [name for name, text in PAYLOADS.items() if inventory(f"<p>{text}</p>").found != plain]
    assert {"script", "event handler", "address that runs", "picture"} <= set(adding)


@pytest.mark.parametrize("name", ["ends of raw text", "out of an attribute", "style"])
def test_a_payload_adds_no_element_to_a_dossier(tmp_path: Path, name: str) -> None:
    """Every field of free text, author and reason holds it."""
    pages = []
    for number, text in enumerate((PAYLOADS[name], "harmless")):
        where = tmp_path / f"{number}.sqlite3"
        hostile_log(where, text[:40])
        page = dossier_page(made(where, "QX-ABC"), MADE)
        pages.append(inventory(page))
    assert pages[0].found == pages[1].found
    assert not [each for each in pages[0].addresses if not each.startswith("#")]


def test_no_script_of_a_payload_runs(tmp_path: Path, opened: Callable[..., Page]) -> None:
    """In a browser the titles stay, and nothing of it is pressed, focused or loaded."""
    every = "".join(text for name, text in PAYLOADS.items() if name != "long word")
    for number, make in enumerate((board, sheet)):
        target = tmp_path / f"{number}.html"
        target.write_text(make(every), encoding="utf-8")
        page = opened(target)
        assert page.title() not in {"x", "1"}
        assert page.locator("img, [onerror], [onmouseover], [onfocus], [onload]").count() == 0
