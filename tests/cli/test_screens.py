"""Every screen: 80 columns, nothing that steers a terminal, no colour through a pipe."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from rvsmlog.cli.lazy import COMMANDS
from rvsmlog.cli.nouns import NOUNS
from rvsmlog.reports.text import columns
from rvsmlog.rules import RULES
from tests.cli.conftest import REG, Cli, commands

AT = "2026-11-24T08:00Z"
FLEET = ("QX-ALD", "QX-BRE", "QX-CYR", "QX-DAN", "QX-ESK")
OPERATORS = ("operator", "crew", "route")
#: Nouns about an airframe, each with a list.
UNDER = [noun for noun in NOUNS if noun not in (*OPERATORS, "airframe")]
#: Text that would steer a terminal, or that a styled printer would take for markup.
HOSTILE = "[red]x[/red] [link=http://a]b \u202egnp\u200b \u2028 =1+1"
LONG = "word " * 60 + "w" * 300


def screens() -> list[tuple[str, ...]]:
    """Give commands that show something on the demo store."""
    found: list[tuple[str, ...]] = [
        *(
            ("gonogo", registration, "--at", AT, "--level", "310", "--sources")
            for registration in FLEET
        ),
        ("gonogo", "QX-ALD", "--at", AT),
        ("levels", "QX-BRE", "--at", AT, "--track", "090", "--pilot", "IVO"),
        ("oxygen", "need", "QX-ALD", "--at", AT),
        *(("drift", registration) for registration in ("QX-ALD", "QX-BRE", "QX-DAN")),
        ("gonogo", "--at", AT, "--level", "310"),
        (),
        ("board", "--at", AT),
        ("due", "--at", AT, "--within", "120d"),
        ("due", "QX-CYR", "--at", AT),
        ("defect", "board", "--at", AT),
        ("monitoring", "plan", "--at", AT),
        ("rules",),
        *(("rules", rule.name) for rule in RULES),
        ("store", "info"),
        ("store", "verify"),
        ("airframe", "list"),
        *((noun, "list") for noun in OPERATORS),
        *((noun, "list", registration) for noun in UNDER for registration in ("QX-BRE", "QX-CYR")),
        ("crosscheck", "list", "QX-BRE", "--last", "400"),
        ("flight", "list", "QX-BRE", "--last", "400"),
        ("defect", "list", "QX-CYR", "--open"),
        ("defect", "list", "QX-CYR", "--kind", "deferral"),
        *(("airframe", "show", "QX-CYR", str(number)) for number in (1, 2, 30, 33, 34, 40)),
        ("crew", "show", "5"),
    ]
    return found


@pytest.fixture(scope="module")
def shown(masters: Callable[[str], Path], short_folder: Path) -> Cli:
    """Give a command line on a demo store of this module."""
    return Cli(Path(shutil.copy(masters("demo"), short_folder / "shown.sqlite3")))


def check_screen(text: str) -> None:
    """Check that a screen is narrow and holds no character that steers."""
    assert text
    assert max(columns(line) for line in text.splitlines()) <= 80
    assert [
        character for character in text if not (character.isprintable() or character == "\n")
    ] == []
    assert text.endswith("\n")
    assert "\n\n\n" not in text


@pytest.mark.parametrize("words", screens(), ids=" ".join)
def test_every_screen_is_narrow_and_plain(shown: Cli, words: tuple[str, ...]) -> None:
    """Through a pipe: at most 80 columns, no colour, no blank lines in a row."""
    ran = shown(*words)
    assert ran.status in {0, 1}
    assert ran.err == ""
    check_screen(ran.out)


def test_no_command_is_left_out() -> None:
    """Each command has a screen above, or makes one in a test of its own."""
    elsewhere = {"demo", "dossier", "static-error"}
    assert {words[0] for words in screens() if words} | elsewhere == set(COMMANDS)


def test_screens_of_a_new_store_are_narrow_and_say_what_to_do(empty: Cli) -> None:
    """Nothing on record is said, not shown as an empty table."""
    for words in (
        (),
        ("airframe", "list"),
        ("crew", "list"),
        ("store", "info"),
        ("store", "verify"),
    ):
        ran = empty(*words)
        check_screen(ran.out)
    assert "`rvsmlog airframe add`" in empty("airframe", "list").out
    made = empty.store.with_name("new.sqlite3")
    check_screen(empty.ok("store", "init", "--store", str(made)).out)
    check_screen(empty.ok("store", "backup", "--store", str(made)).out)
    check_screen(empty.ok("store", "upgrade", "--store", str(made)).out)


def test_what_recording_says_is_narrow(empty: Cli) -> None:
    """Every command that records, and those that show or strike out what was recorded."""
    for words in commands():
        check_screen(empty.ok(*words).out)
    check_screen(empty.ok("crosscheck", "strike", REG, "21", "--reason", "twice").out)
    for words in (
        ("equipment", "list", REG),
        ("defect", "list", REG),
        ("oxygen", "list", REG),
        ("test", "list", REG),
        ("deviation", "list", REG),
        *(("airframe", "show", REG, str(number)) for number in range(1, 25)),
    ):
        check_screen(empty.ok(*words).out)


def hostile(cli: Cli, text: str) -> None:
    """Enter a text wherever a person can enter one."""
    author = " ".join(text[:60].splitlines())  # a name of several lines is refused
    cli.ok("operator", "set", "--name", text[:120], "--time-zone", "UTC", "--remarks", text)
    cli.ok("crew", "add", "--code", "XX", "--name", text[:120])
    cli.ok(
        *("crosscheck", "log", REG, "--taken-at", "2024-05-03T10:00Z", "--phase", "hourly"),
        *("--primary-1-ft", "31000", "--primary-2-ft", "31300", "--level", "310"),
        *("--remarks", text, "--by", author),
    )
    cli.ok(
        *("defect", "report", REG, "--found-at", "2024-05-03T10:00Z", "--function", "acas"),
        *("--description", text, "--by", author),
    )
    cli.ok(
        *("equipment", "fit", REG, "--function", "acas", "--fitted-on", "2024-05-03"),
        *("--serial-number", text[:60], "--version", text[:60]),
    )
    cli.ok(
        *("approval", "add", REG, "--approval", "mel", "--registration", REG),
        *("--holder", text[:120], "--issued-on", "2024-05-03"),
    )
    cli.ok("crosscheck", "strike", REG, "3", "--reason", text)


@pytest.mark.parametrize("text", [HOSTILE, LONG, "日本語" * 30, "e\u0301" * 100, "'"], ids=repr)
def test_what_a_person_typed_steers_nothing(small: Cli, text: str) -> None:
    """Markup stays as it was typed, steering characters are made visible, lines stay narrow."""
    hostile(small, text)
    for words in (
        ("gonogo", REG, "--at", "2024-05-04T08:00Z", "--level", "310", "--sources"),
        ("operator", "list"),
        ("crew", "list"),
        ("crosscheck", "list", REG),
        ("defect", "list", REG),
        ("equipment", "list", REG),
        ("approval", "list", REG),
        *(("airframe", "show", REG, str(number)) for number in range(1, 9)),
        ("operator", "show", "3"),
    ):
        ran = small(*words)
        assert ran.err == ""
        check_screen(ran.out)


def test_markup_is_shown_as_it_was_typed(small: Cli) -> None:
    """Brackets are text; what would turn the writing direction is shown by its number."""
    hostile(small, HOSTILE)
    page = " ".join(small.ok("airframe", "show", REG, "4").out.split())
    assert "[red]x[/red] [link=http://a]b \\u202egnp\\u200b \\u2028 =1+1" in page


def test_json_keeps_every_character_and_steers_nothing(small: Cli) -> None:
    """Steering characters stand by their number, and read back as they were."""
    hostile(small, HOSTILE)
    ran = small.ok("crosscheck", "list", REG, "--json")
    assert ran.json[-1]["remarks"] == HOSTILE
    assert ran.out.isprintable() or ran.out.replace("\n", "").isprintable()
    assert "\\u202e" in ran.out


def test_an_error_shows_what_was_typed_without_obeying_it(small: Cli) -> None:
    """The offending value is escaped on standard error too."""
    ran = small("gonogo", "\x1b]0;title\x07\u202e")
    assert "\x1b" not in ran.err
    assert "\u202e" not in ran.err
    assert "\\x1b]0;TITLE" in ran.err or "\\u001b]0;TITLE" in ran.err
