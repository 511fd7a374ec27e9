"""One entry in full: each field by what the trade calls it, a check's question in words."""

import json
import re
from dataclasses import fields

import pytest

from rvsmlog.facts import FlightData
from rvsmlog.records.kinds import KIND
from rvsmlog.reports.fields import SAID, asked_words, label
from tests.cli.conftest import REG, Cli

#: How the unit at the end of a field's name is written in words.
UNITS = {
    "ft": "feet|ft",
    "psi": "psi",
    "hpa": "hPa",
    "c": "Celsius",
    "s": "seconds|s",
    "fpm": "feet a minute",
    "ft_min": "ft/min",
    "deg": "degrees",
    "litres": "litres",
    "minutes": "minutes",
    "months": "interval",
    "hours": "hours",
    "percent": "per cent",
    "days": "days",
}
WITH_UNIT = [
    (kind.name, spec.name, unit)
    for kind in KIND.values()
    for spec in kind.fields
    for unit in UNITS
    if spec.name.endswith(f"_{unit}")
]


def shown(cli: Cli, noun: str, *entry: str) -> dict[str, str]:
    """Show an entry; give its values by what stands before them, folded lines put together."""
    pairs: list[list[str]] = []
    for line in cli.ok(noun, "show", *entry).out.splitlines()[1:]:
        if line.startswith("  digest"):
            break
        assert len(line) <= 80
        left, right = line[2:38], line[38:]
        if left[:1].strip():
            pairs.append([left.strip(), right])
        else:
            pairs[-1] = [
                f"{pairs[-1][0]} {left.strip()}".strip(),
                f"{pairs[-1][1]} {right}".strip(),
            ]
    return {pair[0]: pair[1] for pair in pairs}


def test_a_crosscheck_is_shown_in_the_words_of_the_trade(small: Cli) -> None:
    """No name of a column stands before a value; units are written out."""
    small.ok(
        *("crosscheck", "log", REG, "--taken-at", "2024-05-02T10:00Z", "--phase", "ground"),
        *("--primary-1-ft", "690", "--primary-2-ft", "700", "--standby-ft", "720"),
        *("--field-elevation-ft", "700", "--qnh-hpa", "1016"),
    )
    found = shown(small, "crosscheck", REG, "4")
    assert found.pop("recorded").endswith(" by MKO")
    assert found == {
        "when the altimeters were read": "2024-05-02T10:00Z",
        "phase of the flight": "ground",
        "primary altimeter 1, feet": "690",
        "primary altimeter 2, feet": "700",
        "standby altimeter, feet": "720",
        "known elevation of the place, feet": "700",
        "QNH set on the sub-scales, hPa": "1016",
    }


def test_folded_labels_and_values_stay_in_their_columns(demo: Cli) -> None:
    """A label over several lines, and a table of flows, which is folded at its commas."""
    found = shown(demo, "oxygen", "QX-ALD", "1065")
    assert found["pressure of the full cylinder at 21 C (70 F), psi"] == "1850"
    full = (
        "crew, 100 %: millilitres a minute NTPD for one person, by cabin altitude as a flight level"
    )
    assert found[full] == "80:13200, 100:12000, 150:9600, 200:7600, 250:5900, 310:4300"


@pytest.mark.parametrize(("kind", "name", "unit"), WITH_UNIT)
def test_what_has_a_unit_says_it(kind: str, name: str, unit: str) -> None:
    """The unit at the end of the field's name is in its words."""
    said = label(KIND[kind].by_name[name])
    assert re.search(rf"\b(?:{UNITS[unit]})\b", said), said


def test_no_two_fields_of_a_kind_are_called_the_same() -> None:
    """Nor does any stand there by the name of its column."""
    for kind in KIND.values():
        labels = [label(spec) for spec in kind.fields]
        assert len(set(labels)) == len(labels), kind.name
        assert not any("_" in each or not each for each in labels), kind.name


def test_a_check_says_in_words_what_it_was_asked(demo: Cli) -> None:
    """JSON keeps it as it is in the store."""
    asked = demo(
        *("gonogo", "QX-ALD", "--level", "310", "--pilot", "IVO", "--at", "2026-11-24T08:00Z"),
        *("--people", "1+3", "--hold-level", "140", "--hold-minutes", "45", "--track", "326.5"),
        *("--json",),
    ).json
    entry = ("QX-ALD", str(asked["entry"]))
    found = shown(demo, "airframe", *entry)
    assert found["what else was said of the flight"] == (
        "track 326.5; crew 1; passengers 3; not below FL140 after a loss of pressure; 45 min there"
    )
    assert found["level planned"] == "FL310"
    assert "{" not in demo.ok("airframe", "show", *entry).out
    kept = demo.ok("airframe", "show", *entry, "--json").json["fields"]["question"]
    assert json.loads(kept) == {
        "crew": 1,
        "hold_level": 140,
        "hold_minutes": 45,
        "passengers": 3,
        "track": 326.5,
    }


def test_whatever_may_be_said_of_a_flight_has_its_words() -> None:
    """A new field of a flight's data without words fails here."""
    assert list(SAID) == [each.name for each in fields(FlightData)]


@pytest.mark.parametrize(
    "text", ["", "{", "[]", "5", '"route"', '{"hold_level":"x"}', '{"more":1}', "[" * 20_000]
)
def test_a_question_that_is_none_is_shown_as_it_stands(text: str) -> None:
    """A damaged store is shown, not stumbled on."""
    assert asked_words(text) == text
