"""`static-error` on simulated flights with an injected error and invented weather.

The weather's pressure surfaces lie a given height above their standard ones, which are 9,164 m for
300 hPa and 10,363 m for 250 hPa (ICAO Doc 7488, standard atmosphere, from memory). Gravity and the
radius of the earth by latitude are those of the methods' published formula, worked out anew here.
"""

import csv
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog import geoid_grid
from rvsmlog.science.geodesy import undulation_ft
from rvsmlog.shipped import shipped

if TYPE_CHECKING:
    from tests.cli.conftest import Cli, Ran

REG = "QX-ABC"
FIRST = datetime(2024, 6, 3, 9, 0, tzinfo=UTC)
FOOT = 0.3048
HERE = (40.0, -100.0)
#: Places whose geoid lies some -80, -300 and +240 ft off the ellipsoid.
SPREAD = ((40.0, -100.0), (6.0, 78.0), (-5.0, 145.0))
ANALYSIS = ("--heights-are", "analysis")


def height_of(geopotential_ft: float, latitude: float) -> float:
    """Give the height above mean sea level of a geopotential height: Z = g R H / (g0 (R + H))."""
    s = math.sin(math.radians(latitude)) ** 2
    gravity = 9.780325 * (1 + 0.00193185 * s) / math.sqrt(1 - 0.00669435 * s)
    radius = 6378137.0 / (1.006803 - 0.006706 * s)
    z = geopotential_ft * FOOT
    return z * radius / (gravity / 9.80665 * radius - z) / FOOT


@dataclass(frozen=True, slots=True, kw_only=True)
class Flown:
    """One simulated flight at FL310."""

    at: datetime
    place: tuple[float, float]
    warmth_ft: float
    error_ft: float


def flown(
    count: int,
    error_ft: float,
    *,
    places: Sequence[tuple[float, float]] = (HERE,),
    sigma_ft: float = 28.0,
    first: datetime = FIRST,
    seed: int = 5,
) -> list[Flown]:
    """Simulate flights, one each three days."""
    rng = Random(seed)
    return [
        Flown(
            at=first + timedelta(days=3 * number),
            place=places[number % len(places)],
            warmth_ft=rng.uniform(-900.0, 900.0),
            error_ft=error_ft + rng.gauss(0.0, sigma_ft),
        )
        for number in range(count)
    ]


def write(path: Path, head: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    """Write a CSV file."""
    with path.open("w", encoding="utf-8", newline="") as handle:
        out = csv.writer(handle)
        out.writerow(head)
        out.writerows(rows)
    return str(path)


def log(cli: "Cli", folder: Path, flights: Sequence[Flown], kind: str, *, truly: str = "") -> None:
    """Import two readings of each flight; ``truly`` is what the height really is above."""
    rows = []
    for flight in flights:
        latitude, longitude = flight.place
        height = height_of(31000.0 + flight.warmth_ft, latitude) + flight.error_ft
        if (truly or kind) == "ellipsoid":
            height += undulation_ft(geoid_grid.load(), latitude, longitude)
        for minutes in (0, 50):
            at = (flight.at + timedelta(minutes=minutes)).isoformat()
            rows.append((at, "level", 31000, 31000, 310, round(height), kind, *flight.place))
    head = ["taken_at", "phase", "primary_1_ft", "primary_2_ft", "level"]
    head += ("gnss_height_ft", "gnss_kind", "latitude_deg", "longitude_deg")
    sheet = write(folder / f"checks-{len(list(folder.iterdir()))}.csv", head, rows)
    cli.ok("crosscheck", "import", sheet, "--airframe", REG)


def weather(folder: Path, flights: Sequence[Flown]) -> str:
    """Write heights of two pressure surfaces at four places around each flight."""
    rows = []
    for flight in flights:
        valid = flight.at.replace(minute=0).isoformat()
        for north, east in ((-1, -1), (-1, 1), (1, -1), (1, 1)):
            for level, standard_m in ((300, 9164.0), (250, 10363.0)):
                height = standard_m + flight.warmth_ft * FOOT
                place = (flight.place[0] + north, flight.place[1] + east)
                rows.append((valid, *place, level, round(height, 1)))
    return write(folder / "w.csv", ("valid_time", "lat", "lon", "level_hPa", "height_gpm"), rows)


def asked(cli: "Cli", path: str, *more: str) -> Any:
    """Ask for JSON."""
    return cli.ok("static-error", REG, "--heights", path, *ANALYSIS, *more, "--json").json


def test_an_injected_error_is_found(small: "Cli", tmp_path: Path) -> None:
    """100 ft in twelve flights by analyses: in the interval, and nothing is not."""
    flights = flown(12, 100.0)
    log(small, tmp_path, flights, "mean-sea-level")
    found = asked(small, weather(tmp_path, flights))
    assert found["low_ft"] < 100.0 < found["high_ft"]
    assert found["low_ft"] > 50.0
    assert (found["flights"], found["independent"]) == (12, 12)
    assert (found["verdict"], found["limit_ft"]) == ("within the limit", 200.0)
    assert found["sign"] == "positive when the aircraft is higher than it shows"
    assert "not approved height monitoring" in found["caution"]


def test_no_error_is_not_found(small: "Cli", tmp_path: Path) -> None:
    """None injected: the interval holds zero."""
    flights = flown(12, 0.0, seed=8)
    log(small, tmp_path, flights, "ellipsoid")
    found = asked(small, weather(tmp_path, flights))
    assert found["low_ft"] < 0.0 < found["high_ft"]


def test_an_error_beyond_the_limit_is_entered_and_limits_the_level(
    small: "Cli", tmp_path: Path
) -> None:
    """300 ft, group approval, limit 200 ft: the answer stands first, and --record tells gonogo."""
    flights = flown(12, 300.0)
    log(small, tmp_path, flights, "mean-sea-level")
    path = weather(tmp_path, flights)
    ran = small.ok(
        "static-error", REG, "--heights", path, *ANALYSIS, "--kind-confirmed", "--record"
    )
    lines = ran.out.splitlines()
    assert lines[0] == "QX-ABC  COMMON ERROR BEYOND THE LIMIT"
    assert max(map(len, lines)) <= 80
    assert "This is not approved height monitoring" in " ".join(ran.out.split())
    findings = small("gonogo", REG, "--level", "310", "--json").json["findings"]
    (rule,) = [each for each in findings if each["rule"] == "static-error-suspected"]
    assert (rule["outcome"], rule["highest_level"]) == ("not met", 280)
    assert rule["values"]["flights"] == 12


def test_the_wrong_kind_of_height_is_said(
    small: "Cli",
    tmp_path: Path,
    check_one_line: "Callable[[Ran, int], None]",
) -> None:
    """Over places with different undulations it shows, and no estimate is entered."""
    flights = flown(12, 0.0, places=SPREAD)
    log(small, tmp_path, flights, "ellipsoid", truly="mean-sea-level")
    path = weather(tmp_path, flights)
    found = asked(small, path)
    assert found["verdict"] == "cannot tell"
    assert found["height_kind"]["verdict"] == "the other kind of height fits"
    screen = small.ok("static-error", REG, "--heights", path, *ANALYSIS).out
    assert "what the GNSS height is above is in doubt" in screen.splitlines()[0]
    before = small.seals()
    check_one_line(small("static-error", REG, "--heights", path, *ANALYSIS, "--record"), 2)
    assert small.seals() == before


@pytest.mark.parametrize(
    ("height", "agree", "contradict"), [(1000, 1, 0), (700, 0, 1), (850, 0, 0)]
)
def test_ground_checks_tell_the_kind(
    small: "Cli", tmp_path: Path, height: int, agree: int, contradict: int
) -> None:
    """At 6 N 78 E the geoid lies 300 ft and more below: on 1,000 ft it reads one or the other."""
    place = (6.0, 78.0)
    undulation = undulation_ft(geoid_grid.load(), *place)
    assert undulation < -300
    read = height if height == 1000 else round(1000 + undulation * (1 if height == 700 else 0.5))
    small.ok(
        *("crosscheck", "log", REG, "--taken-at", "2024-06-02T09:00Z", "--phase", "ground"),
        *("--primary-1-ft", "1000", "--primary-2-ft", "1000", "--field-elevation-ft", "1000"),
        *("--qnh-hpa", "1010", "--gnss-height-ft", str(read), "--gnss-kind", "mean-sea-level"),
        *("--latitude-deg", "6", "--longitude-deg", "78"),
    )
    flights = flown(6, 0.0, places=(place,))
    log(small, tmp_path, flights, "mean-sea-level")
    found = asked(small, weather(tmp_path, flights))
    kind = found["height_kind"]
    counts = (len(kind["ground_checks_agree"]), len(kind["ground_checks_contradict"]))
    assert counts == (agree, contradict)
    assert bool(kind["doubt"]) is bool(contradict)


def test_flights_without_weather_are_left_out_and_said(small: "Cli", tmp_path: Path) -> None:
    """Weather of half the flights: the others are counted with the reason."""
    flights = flown(12, 0.0)
    log(small, tmp_path, flights, "mean-sea-level")
    found = asked(small, weather(tmp_path, flights[:6]))
    assert found["independent"] == 6
    assert found["left_out"] == {"no weather near enough in place and time": 6}


def test_no_weather_at_all_is_an_error(
    small: "Cli", tmp_path: Path, check_one_line: "Callable[[Ran, int], None]"
) -> None:
    """Missing evidence is never a pass: nothing is estimated."""
    flights = flown(6, 0.0)
    log(small, tmp_path, flights, "mean-sea-level")
    elsewhere = [Flown(at=f.at, place=(0.0, 0.0), warmth_ft=0.0, error_ft=0.0) for f in flights]
    ran = small("static-error", REG, "--heights", weather(tmp_path, elsewhere), *ANALYSIS)
    check_one_line(ran, 2)
    assert "6 left out: no weather near enough" in ran.err


def test_work_on_the_altimetry_parts_the_flights(small: "Cli", tmp_path: Path) -> None:
    """150 ft come with the work: the estimate is of what came after, and the change is seen."""
    before, after = flown(15, 0.0), flown(15, 150.0, first=FIRST + timedelta(days=60), seed=6)
    log(small, tmp_path, [*before, *after], "mean-sea-level")
    small.ok(
        *("equipment", "work", REG, "--work", "static-system-opened"),
        *("--done-on", "2024-07-25", "--description", "static line replaced"),
    )
    path = weather(tmp_path, [*before, *after])
    found = asked(small, path, "--kind-confirmed")
    assert found["low_ft"] < 150.0 < found["high_ft"]
    assert found["since"] == "2024-07-25"
    assert found["change"]["verdict"] == "changed"
    assert found["change"]["low_ft"] < 150.0 < found["change"]["high_ft"]
    screen = small.ok("static-error", REG, "--heights", path, *ANALYSIS, "--kind-confirmed").out
    assert "changed since the work of 2024-07-25" in screen


def sounding(at: datetime, place: tuple[float, float], warmth_ft: float) -> str:
    """Write a sounding of two levels in the fixed columns of IGRA version 2."""
    lines = [
        f"#QXM00000001 {at:%Y %m %d %H} 9999    2                   "
        f"{place[0] * 10000:7.0f} {place[1] * 10000:8.0f}"
    ]
    for pascals, standard_m in ((30000, 9164.0), (25000, 10363.0)):
        height = round(standard_m + warmth_ft * FOOT)
        line = f"10 -9999 {pascals:6d} {height:5d} -9999 -9999 -9999 -9999 -9999 "
        lines.append(line)
    return "\n".join(lines) + "\n"


def test_soundings_nearby_serve(small: "Cli", tmp_path: Path) -> None:
    """A station within 150 km and 3 hours; its scatter is 70 ft for each flight."""
    flights = flown(9, 120.0)
    log(small, tmp_path, flights, "mean-sea-level")
    text = "".join(sounding(f.at, (40.5, -100.5), f.warmth_ft) for f in flights)
    path = tmp_path / "station.txt"
    path.write_text(text, "utf-8")
    found = small.ok("static-error", REG, "--soundings", str(path), "--json").json
    assert found["weather"] == ["sounding nearby"]
    assert found["sigma_ft"] == pytest.approx(70 / 3, abs=0.1)
    assert found["low_ft"] < 120.0 < found["high_ft"]


def test_own_climbs_show_change_only(
    small: "Cli", tmp_path: Path, check_one_line: "Callable[[Ran, int], None]"
) -> None:
    """They give a value for each flight, no verdict on the limit, and are not entered."""
    flights = flown(4, 0.0, sigma_ft=0.0)
    log(small, tmp_path, flights, "mean-sea-level")
    rows = []
    for flight in flights:
        taken_at = flight.at - timedelta(minutes=50)
        small.ok(
            *("crosscheck", "log", REG, "--taken-at", taken_at.isoformat(), "--phase", "ground"),
            *("--primary-1-ft", "500", "--primary-2-ft", "500", "--field-elevation-ft", "500"),
            *("--qnh-hpa", "1013.2", "--static-air-temperature-c", "14.0"),
        )
        for step in range(1, 17):
            at = flight.at - timedelta(minutes=40 - 2 * step)
            rows.append((at.isoformat(), 20 * step, round(15.0 - 1.98 * 2 * step, 1)))
    path = write(tmp_path / "climb.csv", ("valid_time", "level", "static_air_temperature_c"), rows)
    asked_for = ("static-error", REG, "--climb", path, "--humidity", "0")
    found = small.ok(*asked_for, "--json").json
    # A standard climb puts FL310 at 31,000 ft; the flights were as much higher as it was warm.
    wanted = sum(flight.warmth_ft for flight in flights) / len(flights)
    assert found["error_ft"] == pytest.approx(wanted, abs=25.0)
    assert found["weather"] == ["own climb"]
    assert found["verdict"] == "cannot tell"
    check_one_line(small(*asked_for, "--kind-confirmed", "--record"), 2)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((), "no weather is named"),
        (("--heights", "a.csv", "--climb", "b.csv"), "several kinds"),
        (("--heights", "nowhere.csv"), "cannot be read"),
        (("--soundings", "nowhere.txt"), "no cross-check in flight has a GNSS height"),
        (("--heights", "a.csv", "--heights-are", "guess"), "'guess' is not known"),
        (("--climb", "b.csv", "--humidity", "120"), "out of range"),
    ],
)
def test_wrong_use_is_one_line(
    small: "Cli",
    check_one_line: "Callable[[Ran, int], None]",
    arguments: tuple[str, ...],
    says: str,
) -> None:
    """What is wrong, and what to give."""
    ran = small("static-error", REG, *arguments)
    check_one_line(ran, 2)
    assert says in ran.err


def test_the_demos_error_is_found_by_its_own_weather(demo: "Cli") -> None:
    """QX-ESK flies 60 ft lower than it shows, by its story, and its altimeter 2 reads 12 ft more.

    Shown is the mean of both, 6 ft above altimeter 1, which holds the level.
    """
    found = demo.ok(
        *("static-error", "QX-ESK", "--heights", str(shipped("sample_data") / "heights.csv")),
        *(*ANALYSIS, "--kind-confirmed", "--at", "2026-11-24T08:00Z", "--json"),
    ).json
    assert found["low_ft"] < -66.0 < found["high_ft"]
    assert found["verdict"] == "within the limit"
    assert found["independent"] >= 10
