"""All screens are one family: what leads, what closes, what colour may do, and JSON beside it.

Contrast is computed by the formula of WCAG 2.2 ("relative luminance" and "contrast ratio") for the
colours that xterm ships with (file XTerm-col.ad, from memory), on white and on black. Bold text of
14 points and more needs 3:1 there (success criterion 1.4.3).
"""

import io
import json
import re
import shlex
import shutil
from collections.abc import Callable, Mapping
from contextlib import redirect_stdout
from pathlib import Path

import pytest

from rvsmlog.cli.app import main
from rvsmlog.cli.nouns import NOUNS
from rvsmlog.reports.text import wrap
from rvsmlog.store.importing.demo import demo
from rvsmlog.verdict import CAUTION
from tests.cli.test_help import EVERY
from tests.cli.test_screens import OPERATORS, check_screen

_CHECKOUT = Path(__file__).parents[2]
AT = ("--at", "2026-11-24T08:00Z")
FLIGHT = ("--level", "310", "--pilot", "IVO", *AT)
#: One way to call each command that only shows something, by its words.
SHOWS: Mapping[str, tuple[str, ...]] = {
    "gonogo": ("QX-BRE", "--dry-run", *FLIGHT),
    "levels": ("QX-BRE", "--track", "090", "--pilot", "IVO", *AT),
    "board": AT,
    "due": ("QX-CYR", *AT),
    "drift": ("QX-BRE", *AT),
    "static-error": (
        *(
            "QX-ESK",
            "--heights",
            str(_CHECKOUT / "sample_data/heights.csv"),
            "--heights-are",
            "analysis",
        ),
        *("--kind-confirmed", *AT),
    ),
    "oxygen need": ("QX-ESK", "--level", "310", "--route", "RIDGE", *AT),
    "defect board": AT,
    "monitoring plan": AT,
    "equipment history": ("1019-02",),
    "test show": ("QX-BRE", "35"),
    "deviation text": ("QX-ALD", "39"),
    "rules": ("altimeters-disagree",),
    "store info": (),
    "store verify": (),
    "airframe list": (),
    **{
        f"{noun} list": () if noun in OPERATORS else ("QX-CYR",)
        for noun in NOUNS
        if noun != "airframe"
    },
    "deviation list": ("QX-ALD",),
    "airframe show": ("QX-CYR", "1"),
    "operator show": ("1",),
    "crew show": ("2",),
    "route show": ("9",),
    "crosscheck list": ("QX-BRE", "--last", "4"),
    "crosscheck show": ("QX-BRE", "1133"),
    "equipment show": ("QX-CYR", "2"),
    "approval show": ("QX-CYR", "30"),
    "defect show": ("QX-CYR", "33"),
    "deviation show": ("QX-ALD", "39"),
    "flight show": ("QX-BRE", "203"),
    "monitoring show": ("QX-CYR", "32"),
    "oxygen show": ("QX-CYR", "1024"),
}
#: What a command does that is no showing, by its last word; their screens have tests of their own.
DOES = {
    *(recording.name for recordings in NOUNS.values() for recording in recordings),
    *("import", "import-points", "strike", "extract", "export", "demo"),
    *("init", "upgrade", "backup", "restore", "copy", "sheet", "dossier"),
    *("clock", "roles"),
}
#: Screens on which someone may act: they close with the caution.
ACTED_ON = (
    *("gonogo", "levels", "board", "due", "drift", "static-error", "oxygen need", "defect board"),
    *("monitoring plan", "equipment history", "test show", "deviation text"),
    "rules",
    *(f"{noun} list" for noun in NOUNS if noun not in (*OPERATORS, "airframe")),
)
#: What leads a screen: the fleet, an airframe, a logbook or entry, a unit; then the answer.
_LEAD = re.compile(r"(Fleet|QX-[A-Z]{3}|operator|[A-Z0-9-]+#\d+|operator#\d+|1019-02)  \S")
#: Screens that are something else: a form to send, a page of the rules, the store itself.
_OTHER = ("deviation text", "rules", "store info", "store verify")
_SGR = re.compile(r"\x1b\[([\d;]*)m")
_XTERM = {"31": 0xCD0000, "91": 0xFF0000, "35": 0xCD00CD, "95": 0xFF00FF}
_NO_COLOUR = {"0", "1", "3"}


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """Say so."""
        return True


@pytest.fixture(scope="module")
def store(masters: Callable[[str], Path], short_folder: Path) -> Path:
    """Give a demo store of this module, with the example of each noun that it has nothing of."""
    path = Path(shutil.copy(masters("demo"), short_folder / "family.sqlite3"))
    known = {kind for _, kind in demo().files}
    for recordings in NOUNS.values():
        if not known & {recording.kind.name for recording in recordings}:
            example = shlex.split(recordings[0].example.replace("QX-ALD", "QX-CYR"))
            assert main([*example[1:], "--by", "A. Example", "--store", str(path)]) == 0
    return path


@pytest.fixture(scope="module")
def plain() -> dict[str, str]:
    """Keep what each command shows through a pipe: it is asked for by several tests."""
    return {}


@pytest.fixture
def shown(
    store: Path, plain: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> Callable[..., str]:
    """Run a command in this process; into a pipe unless told otherwise."""
    monkeypatch.setenv("RVSMLOG_STORE", str(store))
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.delenv("FORCE_COLOR", raising=False)

    def run(words: str, *more: str, terminal: bool = False, **variables: str) -> str:
        usual = not (more or terminal or variables)
        if usual and words in plain:
            return plain[words]
        out = Terminal() if terminal else io.StringIO()
        with pytest.MonkeyPatch.context() as patch, redirect_stdout(out):
            for name, value in variables.items():
                patch.setenv(name, value)
            status = main([*words.split(), *SHOWS[words], *more])
        assert status in {0, 1}
        if usual:
            plain[words] = out.getvalue()
        return out.getvalue()

    return run


def luminance(colour: int) -> float:
    """Give the relative luminance of an sRGB colour by WCAG 2.2."""
    parts = [((colour >> shift) & 0xFF) / 255 for shift in (16, 8, 0)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: int, other: int) -> float:
    """Give the contrast ratio of two colours by WCAG 2.2."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_contrast_formula() -> None:
    """Black on white has 21:1; #767676 on white is the well-known grey of 4.54:1."""
    assert contrast(0, 0xFFFFFF) == pytest.approx(21)
    assert contrast(0x767676, 0xFFFFFF) == pytest.approx(4.54, abs=0.005)


def test_every_command_shows_or_does() -> None:
    """A new command gets its line in SHOWS, or its word in DOES and a test of its own."""
    known = {tuple(words.split()) for words in SHOWS}
    assert known <= set(EVERY)
    missing = {" ".join(path) for path in set(EVERY) - known if path[-1] not in DOES}
    assert not missing, "each wants a line in SHOWS, or its word in DOES and a test of its own"


@pytest.mark.parametrize("words", SHOWS)
def test_a_screen_of_the_family(shown: Callable[..., str], words: str) -> None:
    """Its subject and the answer lead; the caution closes it where someone may act on it."""
    text = shown(words)
    check_screen(text)
    if words not in _OTHER:
        assert _LEAD.match(text), text.splitlines()[0]
    if words in ACTED_ON:
        assert " ".join(text.split()).endswith(CAUTION)


@pytest.mark.parametrize("words", SHOWS)
def test_colour_says_nothing_alone_and_stands_out(shown: Callable[..., str], words: str) -> None:
    """On a terminal the words are the same, and each colour stands out from white and black."""
    text = shown(words, terminal=True)
    assert _SGR.sub("", text) == shown(words)
    codes = {code for found in _SGR.findall(text) for code in found.split(";")}
    for code in codes - _NO_COLOUR:
        assert code in _XTERM, f"colour {code}"
        assert min(contrast(_XTERM[code], ground) for ground in (0, 0xFFFFFF)) >= 3


def test_what_asks_for_colour_and_what_forbids_it(shown: Callable[..., str]) -> None:
    """A terminal is coloured, a pipe is not; NO_COLOR forbids and FORCE_COLOR asks for it."""
    plain = shown("gonogo")
    assert "\x1b" not in plain
    assert "\x1b" in shown("gonogo", terminal=True)
    assert shown("gonogo", terminal=True, NO_COLOR="1") == plain
    assert shown("gonogo", terminal=True, TERM="dumb") == plain
    assert "\x1b" in shown("gonogo", terminal=True, NO_COLOR="")
    assert "\x1b" in shown("gonogo", FORCE_COLOR="1")
    assert shown("gonogo", FORCE_COLOR="1", NO_COLOR="1") == plain
    assert "\x1b" not in shown("gonogo", "--json", FORCE_COLOR="1")


@pytest.mark.parametrize("words", SHOWS)
def test_json_is_one_object_or_an_array_of_objects(shown: Callable[..., str], words: str) -> None:
    """And a terminal changes nothing of it."""
    text = shown(words, "--json")
    found = json.loads(text)
    every = found if isinstance(found, list) else [found]
    assert all(isinstance(each, dict) for each in every)
    assert text.endswith(("]\n", "}\n"))


def test_a_command_to_copy_is_never_parted() -> None:
    """Nor is a number from its unit, where a line could end between them."""
    text = (
        "word " * 13 + "see `rvsmlog gonogo QX-ABC --level 310` and 17,500 ft or no flight at all"
    )
    for length in range(40):
        lines = [line.text for line in wrap("x" * length + " " + text)]
        assert all(len(line) <= 80 for line in lines)
        for whole in ("`rvsmlog gonogo QX-ABC --level 310`", "17,500 ft", "no flight"):
            assert sum(whole in line for line in lines) == 1
