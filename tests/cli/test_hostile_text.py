"""Text that a person stored is neutral wherever it is shown: screens, JSON, CSV, calendar, plot."""

import csv
import io
import json
import unicodedata
from collections.abc import Iterator
from pathlib import Path

import icalendar
import pytest

from rvsmlog.records.fields import Text
from rvsmlog.records.kinds import KINDS
from rvsmlog.reports.text import Line, escape, show
from tests.cli.conftest import REG, Cli, commands

# Mark-up of terminals, pages and spreadsheets; direction marks and characters without width.
# Controls of the terminal itself are refused when they are entered.
HOSTILE = (
    "=cmd|' /C calc'!A0",
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    "[bold red]loud[/] [/nothing] [link=https://example.invalid]x[/link]",
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "&lt;b&gt; %s {0} $x^2$ ${HOME} \\n",
    "\u202egnitirw \u2066hidden\u2069 zero\u200bwidth \ufeffmark",
    "line\u2028separator, para\u2029graph",
    "END:VEVENT\\, BEGIN:VEVENT; a,b",
    "'=already quoted",
    "wide \uff21\u4e2d e\u0301 \U000e0041tag",
)
_STEERING = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}


def steering(text: str) -> set[str]:
    """Give the characters of a text that could steer a terminal, less line ends."""
    return {each for each in text if unicodedata.category(each) in _STEERING} - {"\n"}


def text_options() -> dict[str, tuple[str, ...]]:
    """Give for each kind the options that take any text of some length."""
    return {
        kind.name: tuple(
            spec.option
            for spec in kind.fields
            if isinstance(spec.type, Text) and not spec.type.pattern and spec.type.longest > 80
        )
        for kind in KINDS
    }


def with_text(words: tuple[str, ...], text: str) -> tuple[str, ...]:
    """Put a text in the place of every free text of a recording command."""
    from rvsmlog.cli.nouns import NOUNS

    kind = next(recording.kind.name for recording in NOUNS[words[0]] if recording.name == words[1])
    changed = list(words)
    for option in text_options()[kind]:
        if option in changed:
            changed[changed.index(option) + 1] = text
        else:
            changed += [option, text]
    return tuple(changed)


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Cli:
    """Give a log of which every free text is hostile, each entry another's; for reading only."""
    cli = Cli(tmp_path_factory.mktemp("h") / "log.sqlite3")
    cli.ok("store", "init")
    # Once there is a list of people, names off it are refused: it comes last.
    listing = [words for words in commands() if words[1] == "allow"]
    for number, words in enumerate(words for words in commands() if words not in listing):
        text = HOSTILE[number % len(HOSTILE)]
        # A name of several lines is refused.
        cli.ok(*with_text(words, text), "--by", " ".join(text.splitlines()))
    for number, text in enumerate(HOSTILE):
        cli.ok(
            *("defect", "report", REG, "--found-at", f"2024-05-02T10:{number:02}Z"),
            *("--function", "altitude-alerter", "--description", text, "--remarks", text),
        )
    for words in listing:
        cli.ok(*with_text(words, HOSTILE[4]))
    return cli


LISTS = (
    *(("crosscheck", "list", REG), ("flight", "list", REG), ("airframe", "list")),
    *(("equipment", "list", REG), ("defect", "list", REG), ("approval", "list", REG)),
    *(
        ("test", "list", REG),
        ("monitoring", "list", REG),
        ("crew", "list"),
        ("oxygen", "list", REG),
    ),
    *(("route", "list"), ("deviation", "list", REG), ("operator", "list")),
)
SCREENS = (
    *LISTS,
    *(("gonogo", REG, "--at", "2024-06-01T08:00Z", "--dry-run", "--sources"), ("gonogo",)),
    *(("board",), ("due", REG), ("due",), ("defect", "board"), ("monitoring", "plan")),
    *(("deviation", "text", REG, "22"), ("equipment", "history", "A1"), ("store", "info")),
    *(("store", "verify"), ("oxygen", "need", REG, "--level", "310"), ("drift", REG)),
)
SHOWN = tuple(("airframe", "show", REG, str(number)) for number in range(1, 24))


def printed(cli: Cli, *lines: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], str]]:
    """Run commands that show something, and give what each printed."""
    for words in lines:
        ran = cli(*words)
        assert ran.status in (0, 1) or words[0] in {"equipment", "oxygen", "drift"}, (words, ran)
        assert "unexpected" not in ran.err, (words, ran)
        yield words, ran.out + ran.err


def test_no_screen_and_no_json_carries_what_steers_a_terminal(hostile: Cli) -> None:
    """Neither as text nor as JSON, whatever stands in the fields."""
    shown = dict(printed(hostile, *SCREENS, *SHOWN))
    assert {words: steering(text) for words, text in shown.items() if steering(text)} == {}
    assert "\\u202egnitirw" in "".join(shown.values())
    for words, text in printed(hostile, *((*words, "--json") for words in SCREENS)):
        assert steering(text) == set(), words
        if text.startswith(("{", "[")):
            json.loads(text)


def test_json_gives_the_very_text_back(hostile: Cli) -> None:
    """Escaped for the eye, unchanged for the program that reads it."""
    rows = hostile.ok("defect", "list", REG, "--json", "--kind", "defect").json
    found = {row["description"] for row in rows}
    assert {unicodedata.normalize("NFC", text) for text in HOSTILE} <= found


def test_no_cell_of_a_csv_is_a_formula(hostile: Cli) -> None:
    """What a spreadsheet would obey has a quote in front; nothing breaks out of its cell."""
    for kind in ("defect", "altimetry-fault", "review"):
        text = hostile.ok("defect", "list", REG, "--csv", "--kind", kind).out
        head, *rows = list(csv.reader(io.StringIO(text), strict=True))
        assert rows
        assert {len(row) for row in rows} == {len(head)}
        found = [cell for row in rows for cell in row if cell.startswith(tuple("=+-@\t\r"))]
        assert found == []


def test_the_calendar_keeps_hostile_text_in_its_place(hostile: Cli, tmp_path: Path) -> None:
    """A reader of RFC 5545 finds as many events as were made, and no line that is not one."""
    target = tmp_path / "due.ics"
    hostile.ok("due", REG, "--within", "120m", "--at", "2024-05-03T00:00Z", "--ics", str(target))
    text = target.read_bytes().decode()
    events = icalendar.Calendar.from_ical(text).walk("VEVENT")
    assert len(events) == text.count("\r\nBEGIN:VEVENT\r\n") >= 1
    assert steering(text.replace("\r\n", "\n")) == set()


def test_markup_is_not_obeyed_on_a_terminal_with_colours(monkeypatch: pytest.MonkeyPatch) -> None:
    """Text that is mark-up to the library that colours is shown as it is."""
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    for each in HOSTILE[4:9]:
        terminal = _Terminal()
        show([Line(each, "bold")], terminal)
        assert terminal.getvalue().startswith("\x1b[1m")
        shown = terminal.getvalue().replace("\x1b[1m", "").replace("\x1b[0m", "")
        assert shown.rstrip("\n") == escape(each)


class _Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """Say so."""
        return True
