"""`equipment history` on a store with two airframes."""

from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.cli.conftest import Cli, Ran


@pytest.fixture
def two(small: "Cli") -> "Cli":
    """Give a log in which an altimeter went from one airframe to another."""
    small.ok(
        *("airframe", "add", "--registration", "QX-DEF", "--type-designator", "VK71"),
        *("--serial-number", "1008", "--authority", "us-91", "--rvsm-basis", "group"),
        *("--type-certificate", "after-1997-04-09", "--highest-level", "310"),
    )
    fitted = ("equipment", "fit", "{}", "--function", "altimeter", "--serial-number", "A77")
    unit = entry(
        small,
        *(part.replace("{}", "QX-ABC") for part in fitted),
        *("--position", "2", "--fitted-on", "2020-03-01"),
    )
    bench(small, "QX-ABC", "2020-02-10", 20)
    small.ok("equipment", "remove", "QX-ABC", unit, "--removed-on", "2022-03-01")
    bench(small, "QX-DEF", "2022-03-10", 60)
    small.ok(
        *(part.replace("{}", "QX-DEF") for part in fitted),
        *("--position", "1", "--fitted-on", "2022-04-01"),
    )
    bench(small, "QX-DEF", "2024-03-10", 90)
    return small


def entry(cli: "Cli", *arguments: str) -> str:
    """Record something and give its entry."""
    return str(cli.ok(*arguments, "--json").json["entry"])


def bench(cli: "Cli", registration: str, day: str, error: int) -> None:
    """Record a bench test with its scale error at 30,000 ft."""
    test = entry(
        cli,
        *("test", "add", registration, "--test", "altimeter-static", "--done-on", day),
        *("--passed", "yes", "--tested-altitude-ft", "31000", "--unit-serial", "A77"),
    )
    cli.ok("test", "readings", registration, test, "--scale-error", f"0:0,30000:{error}")


def test_a_unit_is_followed_across_two_airframes(two: "Cli") -> None:
    """Where it was and is, its tests, and 17 ft a year at 30,000 ft, within 80 columns."""
    out = two.ok("equipment", "history", "a77").out
    assert all(len(line) <= 80 for line in out.splitlines())
    flat = " ".join(out.split())
    assert "now: QX-DEF, altimeter, position 1, since 2022-04-01" in flat
    assert "2022-03-01 QX-ABC #" in flat
    assert "removed from 2" in flat
    assert "altimeter-static: passed; +90 ft at 30,000 ft" in flat
    assert "30,000 ft 3 +20 2020-02-10 +90 2024-03-10 +17" in flat


def test_a_units_history_as_json(two: "Cli") -> None:
    """One object; its events and trends are lists of objects."""
    answer: Any = two.ok("equipment", "history", "A77", "--json").json
    whats = [(each["registration"], each["what"]) for each in answer["events"]]
    assert whats == [
        ("QX-ABC", "tested"),
        ("QX-ABC", "fitted"),
        ("QX-ABC", "removed"),
        ("QX-DEF", "tested"),
        ("QX-DEF", "fitted"),
        ("QX-DEF", "tested"),
    ]
    assert [each["registration"] for each in answer["fitted"]] == ["QX-DEF"]
    (trend,) = answer["trends"]
    # By hand: 70 ft in 1,490 days of 365.25 to a year are 17.2 ft a year from end to end.
    assert trend["slope_ft_per_year"] == pytest.approx(17.2, abs=1.0)
    assert (trend["altitude_ft"], trend["tests"]) == (30_000, 3)


def test_an_unknown_serial_number_is_answered_with_the_nearest(
    two: "Cli", check_one_line: "Callable[[Ran, int], None]"
) -> None:
    """A mistyped number is no unit without history."""
    ran = two("equipment", "history", "A7")
    check_one_line(ran, 2)
    assert "did you mean A77?" in ran.err


def test_a_unit_in_two_places_is_told(two: "Cli") -> None:
    """Refused for the same unit; where the entry names another function, the history says it."""
    there = ("--position", "2", "--serial-number", "A77", "--fitted-on", "2024-05-01")
    refused = two("equipment", "fit", "QX-ABC", "--function", "altimeter", *there)
    assert refused.status == 2
    assert "error: --serial-number: is fitted to QX-DEF: altimeter" in refused.err
    assert "in several places at once" not in two.ok("equipment", "history", "A77").out
    two.ok("equipment", "fit", "QX-ABC", "--function", "air-data-computer", *there)
    assert "in several places at once" in two.ok("equipment", "history", "A77").out


def test_a_unit_on_no_aeroplane_with_two_part_numbers(two: "Cli") -> None:
    """Removed everywhere; two makers may have used the number."""
    for part in ("P-1", "P-2"):
        unit = entry(
            two,
            *("equipment", "fit", "QX-ABC", "--function", "altitude-alerter"),
            *("--serial-number", "B9", "--part-number", part, "--fitted-on", "2024-05-01"),
        )
        two.ok("equipment", "remove", "QX-ABC", unit, "--removed-on", "2024-06-01")
    out = " ".join(two.ok("equipment", "history", "B9").out.split())
    assert "now: on record as fitted nowhere" in out
    assert "Several part numbers bear this serial number" in out
    assert "ft per year" not in out
    one = " ".join(two.ok("equipment", "history", "B9", "--part-number", "P-2").out.split())
    assert "Several part numbers" not in one
