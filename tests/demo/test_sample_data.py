"""The demo's files: made anew they are the same, and what they hold could have been flown."""

import csv
import itertools
import json
import re
import subprocess
import sys
from collections import defaultdict
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from statistics import mean, stdev

import pytest

from rvsmlog.records.flights import GROUND_PHASES
from rvsmlog.shipped import shipped

CHECKOUT = Path(__file__).parents[2]
FOLDER = shipped("sample_data")


def rows(name: str) -> list[dict[str, str]]:
    """Read one of the files."""
    with (FOLDER / name).open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


def differences(registration: str) -> list[tuple[date, int]]:
    """Give day and altimeter 1 minus altimeter 2 of each comparison in flight, feet."""
    return [
        (
            datetime.fromisoformat(row["taken_at"]).date(),
            int(row["primary_1_ft"]) - int(row["primary_2_ft"]),
        )
        for row in rows("crosschecks.csv")
        if row["airframe"] == registration and row["phase"] not in GROUND_PHASES
    ]


def test_made_anew_the_files_are_the_same(tmp_path: Path) -> None:
    """The script in the repository makes exactly the files that are committed."""
    subprocess.run(
        [sys.executable, "-m", "sample_data.make_demo", str(tmp_path)], cwd=CHECKOUT, check=True
    )
    made = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    there = {
        path.name: path.read_bytes()
        for path in FOLDER.iterdir()
        if path.suffix in {".csv", ".json"}
    }
    assert sorted(made) == sorted(there)
    assert [name for name in made if made[name] != there[name]] == []


def test_the_description_names_every_file() -> None:
    """What is imported, and the weather that is not, is what lies there."""
    described = json.loads((FOLDER / "demo.json").read_text("utf-8"))
    names = [described["weather"], *(each["file"] for each in described["files"])]
    assert sorted(names) == sorted(path.name for path in FOLDER.glob("*.csv"))


def test_it_is_small_enough_to_travel() -> None:
    """Script and data together stay below a megabyte and a half."""
    assert sum(path.stat().st_size for path in FOLDER.glob("*.*")) < 1_500_000


def test_registrations_and_aerodromes_cannot_exist() -> None:
    """Marks begin with Q, which no state has been given (from memory: Q codes are signals)."""
    assert {row["registration"][:3] for row in rows("airframes.csv")} == {"QX-"}
    places = {row[name] for row in rows("flights.csv") for name in ("departure", "destination")}
    assert all(re.fullmatch("QX[A-Z]{2}", place) for place in places)


@pytest.mark.parametrize("registration", ["QX-ALD", "QX-BRE", "QX-CYR", "QX-DAN", "QX-ESK"])
def test_each_aeroplane_flies_two_to_four_times_a_week(registration: str) -> None:
    """In every full week between its first and last flight there are two to four flights."""
    weeks: dict[date, int] = defaultdict(int)
    for row in rows("flights.csv"):
        if row["airframe"] == registration:
            day = datetime.fromisoformat(row["off_at"]).date()
            weeks[day - timedelta(days=day.weekday())] += 1
    full = sorted(weeks)[1:-1]
    assert {weeks[monday] for monday in full} <= {2, 3, 4}
    assert [later - earlier for earlier, later in itertools.pairwise(full)] == [
        timedelta(days=7)
    ] * (len(full) - 1)


@pytest.mark.parametrize("registration", ["QX-ALD", "QX-BRE", "QX-CYR", "QX-DAN", "QX-ESK"])
def test_readings_scatter_as_logs_do(registration: str) -> None:
    """A month's differences have a standard deviation near the 15 to 25 ft of real logs.

    Common practice, no source: 15 to 25 ft between two primaries, read in steps of 10 or 20 ft.
    """
    april = [size for day, size in differences(registration) if (day.year, day.month) == (2026, 6)]
    assert 12 < stdev(april) < 26


@pytest.mark.parametrize("registration", ["QX-ALD", "QX-BRE", "QX-CYR", "QX-DAN", "QX-ESK"])
def test_readings_come_in_the_steps_of_the_indication(registration: str) -> None:
    """No primary shows more digits than the particulars say it has."""
    steps = {
        row["registration"]: int(row["altimeter_resolution_ft"]) for row in rows("airframes.csv")
    }
    readings = [
        int(row[name])
        for row in rows("crosschecks.csv")
        for name in ("primary_1_ft", "primary_2_ft")
        if row["airframe"] == registration
    ]
    assert {reading % steps[registration] for reading in readings} == {0}


def test_one_pair_of_altimeters_parts_slowly() -> None:
    """The altimeters of QX-BRE agree in spring, part by months, and end beyond 180 ft."""
    by_month: dict[int, list[int]] = defaultdict(list)
    for day, size in differences("QX-BRE"):
        if day.year == 2026:
            by_month[day.month].append(size)
    means = [mean(by_month[month]) for month in range(1, 12)]
    assert max(abs(each) for each in means[:6]) < 30
    assert means[6:] == sorted(means[6:], reverse=True)
    assert min(by_month[11]) < -180 <= min(size for m in range(1, 11) for size in by_month[m])


def test_the_others_stay_together() -> None:
    """No other aeroplane has a comparison beyond 180 ft, misread ones included."""
    for registration in ("QX-ALD", "QX-CYR", "QX-DAN", "QX-ESK"):
        assert max(abs(size) for _, size in differences(registration)) <= 180


def test_flights_are_over_before_the_next_begins() -> None:
    """Each aeroplane is at one place at a time, and hours never run backwards."""
    by_airframe: dict[str, list[dict[str, str]]] = defaultdict(list)
    for row in rows("flights.csv"):
        by_airframe[row["airframe"]].append(row)
    for flown in by_airframe.values():
        for before, after in itertools.pairwise(flown):
            assert before["on_at"] < after["off_at"]
            assert before["destination"] == after["departure"]
            assert float(before["airframe_hours"]) < float(after["airframe_hours"])
        assert datetime.fromisoformat(flown[-1]["on_at"]) < datetime(2026, 11, 21, tzinfo=UTC)
