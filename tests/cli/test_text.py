"""What every screen is made with: escaping, folding, tables, JSON, CSV that no sheet obeys."""

import io
import json
import unicodedata
from collections.abc import Callable
from contextlib import redirect_stdout

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.reports.text import (
    WIDTH,
    Line,
    columns,
    command_lines,
    escape,
    show,
    show_json,
    show_json_rows,
    table,
    wrap,
)
from rvsmlog.store.csv_cells import as_written, neutral

TEXTS = st.text(
    st.one_of(
        st.characters(),
        st.sampled_from("\x1b\x9b\u202e\u200b\u2028\x07\t\n日한e\u0301\U000e0041[]="),
    ),
    max_size=200,
)
settings.register_profile("screens", derandomize=True, max_examples=60, deadline=None)
settings.load_profile("screens")


def steering(text: str) -> list[str]:
    """Give the characters of a text that could steer a terminal."""
    return [each for each in text if unicodedata.category(each) in {"Cc", "Cf", "Cs", "Zl", "Zp"}]


@given(TEXTS)
def test_escaped_text_steers_nothing(text: str) -> None:
    """Only line ends are left of what is no plain character; escaping again changes nothing."""
    escaped = escape(text)
    assert set(steering(escaped)) <= {"\n"}
    assert escape(escaped) == escaped


@pytest.mark.parametrize(
    ("text", "width"),
    [("FL310", 5), ("日本", 4), ("é", 1), ("e\u0301", 1), ("ﬁ", 1), ("Ａ", 2), ("", 0)],
)
def test_columns_are_counted_as_terminals_do(text: str, width: int) -> None:
    """Wide characters take two columns and combining ones none (Unicode annex 11)."""
    assert columns(text) == width


@given(TEXTS, st.integers(0, 20), st.integers(0, 20))
def test_folded_text_is_narrow_and_whole(text: str, indent: int, hanging: int) -> None:
    """No line is too wide, none steers, and no character but blanks is lost."""
    lines = wrap(text, indent, hanging)
    assert all(columns(line.text) <= WIDTH for line in lines)
    assert steering("".join(line.text for line in lines)) == []
    kept = "".join("".join(line.text for line in lines).split())
    assert kept == "".join(escape(text).split())


@given(st.lists(st.lists(TEXTS, min_size=4, max_size=4), max_size=5))
def test_a_table_is_narrow_whatever_stands_in_it(rows: list[list[str]]) -> None:
    """One line for each row, never wider than the screen."""
    lines = table(rows, ("entry", "taken at", "phase", "remarks"), right=(0,))
    assert len(lines) == len(rows) + 1
    assert all(columns(line.text) <= WIDTH for line in lines)


def test_a_cut_cell_shows_that_it_was_cut() -> None:
    """The text column gives way first; figures stay whole."""
    (_, line) = table([["#1", "2024-05-01T10:00Z", "x" * 100]], ("entry", "taken", "remarks"))
    assert line.text == "#1     2024-05-01T10:00Z  " + "x" * 53 + "…"


def test_numbers_stand_flush_right() -> None:
    """Feet under feet, so that digits compare."""
    lines = table([["a", "5"], ["b", "31000"]], ("what", "ft"), right=(1,))
    assert [line.text for line in lines] == ["what     ft", "a         5", "b     31000"]


@given(st.recursive(TEXTS, lambda inner: st.lists(inner, max_size=3), max_leaves=6))
def test_json_reads_back_the_same_and_steers_nothing(value: object) -> None:
    """Characters that steer are written by their number; nothing is lost."""
    out = io.StringIO()
    with redirect_stdout(out):
        show_json(value)
    assert json.loads(out.getvalue()) == value
    assert set(steering(out.getvalue())) <= {"\n"}


@given(st.lists(st.dictionaries(TEXTS, st.one_of(TEXTS, st.integers(), st.none())), max_size=4))
def test_rows_are_the_same_json_as_a_list(rows: list[dict[str, object]]) -> None:
    """Written one at a time, they read no different."""
    whole, piecewise = io.StringIO(), io.StringIO()
    with redirect_stdout(whole):
        show_json(rows)
    with redirect_stdout(piecewise):
        show_json_rows(iter(rows))
    assert piecewise.getvalue() == whole.getvalue()


def said_in_ascii(say: Callable[[], None]) -> str:
    """Give what is written where standard output has ASCII only."""
    content = io.BytesIO()
    with redirect_stdout(io.TextIOWrapper(content, encoding="ascii", errors="strict")) as out:
        say()
        out.flush()
        return content.getvalue().decode("ascii")


def test_an_ascii_terminal_gets_json_by_numbers() -> None:
    """What the encoding lacks is written so that JSON reads it back."""
    value = {"name": "Šárka 日 \U0001f6e9"}
    assert json.loads(said_in_ascii(lambda: show_json(value))) == value


def test_an_ascii_terminal_gets_a_screen() -> None:
    """What the encoding lacks is replaced on a screen, not a fault."""
    assert said_in_ascii(lambda: show([Line("Šárka – 5 °C")])) == "??rka ? 5 ?C\n"


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "'=", "''@"])
def test_text_that_a_spreadsheet_would_obey_gets_a_quote(start: str) -> None:
    """Cells that begin so are formulas to spreadsheets (OWASP, CSV injection; from memory)."""
    assert neutral(start + "cmd") == "'" + start + "cmd"


@pytest.mark.parametrize("text", ["FL310", "a=b", "'quoted'", "", "5-3", "(=)"])
def test_other_text_stays_as_it_is(text: str) -> None:
    """Only what would be obeyed is changed."""
    assert neutral(text) == text


@given(TEXTS)
def test_one_quote_taken_away_gives_the_text_back(text: str) -> None:
    """What is exported is read back as it was."""
    assert as_written(neutral(text)) == text
    assert not neutral(text).startswith(tuple("=+-@\t\r"))


@given(
    st.lists(
        st.sampled_from(["rvsmlog", "gonogo", "--level", "310", '"two words"', "x" * 30]),
        min_size=1,
    )
)
def test_a_folded_command_is_the_same_command(words: list[str]) -> None:
    """Joined where lines end with a backslash, it has the same words."""
    lines = command_lines(" ".join(words), 60)
    assert " ".join("\n".join(lines).replace("\\\n", " ").split()) == " ".join(words)
    assert all(len(line) <= 60 for line in lines)
