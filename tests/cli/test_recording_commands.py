"""Every command of every noun that records: it records, lists show it, `show` tells all."""

import shutil
from collections.abc import Callable
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from rvsmlog.cli.nouns import NOUNS
from rvsmlog.records.base import Logbook
from tests.cli.conftest import Cli, commands


def options(words: tuple[str, ...]) -> dict[str, str]:
    """Give the options of a command with what was typed for each."""
    return {
        name.removeprefix("--").replace("-", "_"): value
        for name, value in pairwise(words)
        if name.startswith("--")
    }


def as_typed(value: Any, typed: str) -> bool:
    """Whether a value of the JSON answer is what was typed."""
    if isinstance(value, bool):
        return value is (typed == "yes")
    if isinstance(value, int | float):
        return float(typed) == value
    if isinstance(value, list):
        flat = (":".join(map(str, each)) if isinstance(each, list) else each for each in value)
        return ",".join(flat) == typed
    return str(value) in (typed, typed.replace("Z", ":00Z"), typed.upper())


@pytest.fixture(scope="module")
def told(masters: Callable[[str], Path], short_folder: Path) -> Cli:
    """Give a command line on a log into which the whole story was entered."""
    cli = Cli(Path(shutil.copy(masters("empty"), short_folder / "told.sqlite3")))
    counts = {Logbook.OPERATOR: 0, Logbook.AIRFRAME: 0}
    for words in commands():
        recording = next(each for each in NOUNS[words[0]] if each.name == words[1])
        counts[recording.kind.logbook] += 1
        answer = cli.ok(*words, "--json").json
        assert (answer["kind"], answer["entry"]) == (
            recording.kind.name,
            counts[recording.kind.logbook],
        )
    return cli


def told_commands() -> list[tuple[int, tuple[str, ...]]]:
    """Give each command of the story with the number of its entry."""
    counts = {Logbook.OPERATOR: 0, Logbook.AIRFRAME: 0}
    numbered = []
    for words in commands():
        logbook = NOUNS[words[0]][0].kind.logbook
        counts[logbook] += 1
        numbered.append((counts[logbook], words))
    return numbered


def test_the_story_has_every_recording_command() -> None:
    """A command that records and that the story leaves out fails here."""
    every = {(noun, each.name) for noun, recordings in NOUNS.items() for each in recordings}
    told = {words[:2] for words in commands()}
    assert told <= every
    missing = {" ".join(command) for command in every - told}
    assert not missing, "each wants a line in STORY (tests/cli/conftest.py), behind all others"


@pytest.mark.parametrize(("number", "words"), told_commands(), ids=lambda each: str(each)[:40])
def test_a_recorded_entry_is_listed_and_shown(
    told: Cli, number: int, words: tuple[str, ...]
) -> None:
    """What was typed stands in the noun's list, and in the entry's own page, as it was typed."""
    noun, under = words[0], words[2:3] if words[2] == "QX-ABC" else ()
    if noun == "airframe":
        under = ()
    typed = {
        name: value
        for name, value in options(words).items()
        if name not in ("subscale_1_hpa", "time_zone")
    }
    rows = told.ok(noun, "list", *under, "--json").json
    row = next(each for each in rows if each["entry"] == number)
    assert [name for name in typed if not as_typed(row[name], typed[name])] == []
    page = told.ok(noun, "show", *(under or ("QX-ABC",) * (noun == "airframe")), str(number))
    assert f"#{number}" in page.out.splitlines()[0]
    assert "by MKO" in page.out


def test_a_pressure_may_name_its_unit(told: Cli) -> None:
    """29.92 inHg is 1013.2 hPa (the standard setting; 1 inHg is 33.86389 hPa)."""
    rows = told.ok("defect", "list", "QX-ABC", "--json").json
    fault = next(row for row in rows if row["kind"] == "altimetry-fault")
    assert fault["subscale_1_hpa"] == pytest.approx(1013.2, abs=0.05)


def test_a_bare_number_that_can_only_be_inches_is_refused(small: Cli) -> None:
    """A pressure names its unit: 29.92 is not taken for hectopascals nor turned into them."""
    ran = small(
        *("crosscheck", "log", "QX-ABC", "--taken-at", "2024-05-02T10:00Z", "--phase", "ground"),
        *("--primary-1-ft", "10", "--primary-2-ft", "10", "--field-elevation-ft", "0"),
        *("--qnh-hpa", "29.92"),
    )
    assert ran.status == 2
    assert ran.err == (
        "error: --qnh-hpa: 29.92 looks like inches of mercury, but hPa are wanted\n"
        "hint: write 29.92 inHg, or 1013.2\n"
    )


def test_a_review_is_of_now_when_no_instant_is_given(told: Cli) -> None:
    """Reviewing is the act of recording, so its instant is that of the entry."""
    rows = told.ok("defect", "list", "QX-ABC", "--json").json
    review = next(row for row in rows if row["kind"] == "review")
    told_at = (datetime.fromisoformat(review[name]) for name in ("recorded_at", "reviewed_at"))
    recorded, reviewed = told_at
    assert timedelta(0) <= recorded - reviewed < timedelta(seconds=30)


def test_what_happened_needs_its_instant(small: Cli) -> None:
    """Only the act of recording itself defaults to now; a defect was found at a moment."""
    ran = small("defect", "report", "QX-ABC", "--function", "acas", "--description", "fails test")
    assert (ran.status, ran.err.splitlines()[0]) == (2, "error: --found-at: is missing")


def test_a_correction_replaces_what_the_list_shows(small: Cli) -> None:
    """The corrected entry leaves the list, and its page says what corrects it and why."""
    log = ("crosscheck", "log", "QX-ABC", "--taken-at", "2024-05-01T10:00Z", "--phase", "hourly")
    corrected = small.ok(
        *(*log, "--primary-1-ft", "31000", "--primary-2-ft", "31010", "--level", "310"),
        *("--corrects", "3", "--reason", "misread", "--json"),
    ).json["entry"]
    listed = small.ok("crosscheck", "list", "QX-ABC", "--json").json
    assert [(row["entry"], row["primary_2_ft"]) for row in listed] == [(corrected, 31010)]
    old = small.ok("crosscheck", "show", "QX-ABC", "3", "--json").json
    assert old["state"] == "corrected"
    assert [(each["entry"], each["supersedes"], each["reason"]) for each in old["history"]] == [
        (3, None, None),
        (corrected, 3, "misread"),
    ]
    assert old["fields"]["primary_2_ft"] == 31040


def test_a_struck_entry_leaves_the_list_but_stays_readable(small: Cli) -> None:
    """Striking out is an entry of its own, with its reason."""
    strike = small.ok(
        "crosscheck", "strike", "QX-ABC", "3", "--reason", "wrong aeroplane", "--json"
    )
    struck = {"strikes": 3, "kind": "crosscheck"}
    assert strike.json == {"logbook": "VK71-1007", "entry": 4, **struck}
    assert small.ok("crosscheck", "list", "QX-ABC", "--json").json == []
    page = small.ok("crosscheck", "show", "QX-ABC", "3")
    assert page.out.startswith("VK71-1007#3  altimeter cross-check: struck out by #4\n")
    assert "#4 strikes out #3" in page.out
    assert "wrong aeroplane" in page.out
    assert "31040" in page.out


def test_the_digest_shown_is_the_one_stored(small: Cli) -> None:
    """The page of an entry gives its whole digest, as the store has it."""
    shown = small.ok("crosscheck", "show", "QX-ABC", "3", "--json").json
    assert shown["digest"].upper() == small.seals()["VK71-1007"][1]
    assert f"  digest  {shown['digest']}\n" in small.ok("crosscheck", "show", "QX-ABC", "3").out


def test_entries_that_name_an_entry_are_shown_with_it(told: Cli) -> None:
    """A defect's page names its deferral and its review."""
    page = told.ok("defect", "show", "QX-ABC", "9", "--json").json
    assert [each["kind"] for each in page["named_by"]] == ["deferral", "review"]
