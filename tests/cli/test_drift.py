"""`drift`: the screen, JSON and the picture, on the demo and on hostile text."""

import io
import xml.etree.ElementTree as ET
from contextlib import redirect_stdout
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.answers.drift_analysis import Drift, analysed
from rvsmlog.dates import parse_instant
from rvsmlog.facts import Facts, Logged, Question
from rvsmlog.pages.plot_svg import write_plot
from rvsmlog.records.airframe import Airframe
from rvsmlog.reports.drift_plot import drift_plot
from rvsmlog.reports.drift_screen import drift_lines
from rvsmlog.reports.text import show
from rvsmlog.store.connection import open_store
from rvsmlog.store.reading.airframes import find_airframe
from rvsmlog.store.reading.drift_reader import every_point
from rvsmlog.store.reading.facts_reader import read_facts
from rvsmlog.store.reading.reader import view

if TYPE_CHECKING:
    from collections.abc import Callable

    from rvsmlog.science.drift_readings import Point
    from tests.cli.conftest import Cli, Ran

AT = ("--at", "2026-11-24T08:00Z")
HOSTILE = 'Q<script>&"$x^2$\x1b[31m]]>'


def words_of(path: Path) -> str:
    """Give all text in an SVG, which must be well-formed."""
    root = ET.fromstring(path.read_text("utf-8"))  # noqa: S314  # we made it
    return " ".join("".join(root.itertext()).split())


def test_the_answer_stands_first(demo: "Cli") -> None:
    """A drift and its alarm in the first line, what follows below, all within 80 columns."""
    lines = demo.ok("drift", "QX-BRE", *AT).out.splitlines()
    assert lines[0].startswith("QX-BRE  ALTIMETERS DRIFTING: alarm of 2026-0")
    assert max(map(len, lines)) <= 80
    flat = " ".join(" ".join(lines).split())
    assert "it came by and by" in flat
    assert "the tolerance of 180 ft is reached" in flat or "reaches 180 ft about" in flat
    assert "`rvsmlog defect review`" in flat
    assert "an error that both share does not show here" in flat


def test_drift_and_due_speak_of_the_same_day(demo: "Cli") -> None:
    """Each forecast names its band, and that of the due list is the first of the drift's.

    The one asks when the tolerance is crossed, the other on which day the middle of the forecast is
    beyond it: that may differ by a day.
    """
    items = demo.ok("due", "QX-BRE", *AT, "--json").json
    (item,) = (each for each in items if each["rule"] == "altimeters-drifting")
    bands = demo.ok("drift", "QX-BRE", *AT, "--json").json["bands"]
    reached = {each["band"]: (each["reaches_tolerance"] or {}).get("likely") for each in bands}
    first = min((likely, band) for band, likely in reached.items() if likely)
    assert f"difference at {first[1]} within tolerance" in item["what"]
    assert abs((date.fromisoformat(first[0][:10]) - date.fromisoformat(item["due_on"])).days) <= 1
    said = " ".join(demo.ok("drift", "QX-BRE", *AT).out.split())
    assert f"first at {first[1]}: reaches 180 ft about {first[0][:10]}" in said
    # The band in which the alarm was first is told too, with its own day and name.
    assert f"FL290-329: reaches 180 ft about {str(reached['FL290-329'])[:10]}" in said


@pytest.mark.parametrize("registration", ["QX-ALD", "QX-CYR", "QX-DAN", "QX-ESK"])
def test_a_quiet_log_says_so_first(demo: "Cli", registration: str) -> None:
    """The other aeroplanes of the demo have no drift, by their story."""
    lines = demo.ok("drift", registration, *AT).out.splitlines()
    assert lines[0].startswith(f"{registration}  no drift in ")
    assert max(map(len, lines)) <= 80


@pytest.mark.parametrize(("second_ft", "apart_ft"), [(29_080, 920), (29_820, None)])
def test_a_reading_far_off_is_not_hidden_by_the_median(
    demo: "Cli", second_ft: int, apart_ft: int | None
) -> None:
    """No drift, and yet one reading beyond the 180 ft of the particulars; one of 180 ft is not."""
    check = ("crosscheck", "log", "QX-ALD", "--taken-at", "2026-11-20T17:00Z", "--phase", "level")
    readings = ("--level", "300", "--primary-1-ft", "30000", "--primary-2-ft", str(second_ft))
    demo.ok(*check, *readings)
    lines = demo.ok("drift", "QX-ALD", *AT).out.splitlines()
    assert lines[0].startswith("QX-ALD  no drift in ")
    beyond = demo.ok("drift", "QX-ALD", *AT, "--json").json["beyond_tolerance"]
    said = " ".join(" ".join(lines).split())
    if apart_ft is None:
        assert (beyond, "beyond tolerance" in said) == ([], False)
        return
    assert f"1 reading beyond tolerance stands: altimeters {apart_ft} ft apart at FL300" in said
    assert [each["says"].split(" at ")[0] for each in beyond] == [f"altimeters {apart_ft} ft apart"]


def test_without_readings_it_says_what_to_do(small: "Cli") -> None:
    """An airframe whose readings came before its altimeters were fitted anew."""
    small.ok(
        *("equipment", "work", "QX-ABC", "--work", "altimeter", "--done-on", "2024-06-01"),
        *("--description", "altimeter 1 exchanged"),
    )
    out = small.ok("drift", "QX-ABC").out
    assert out.startswith("QX-ABC  no cross-check in flight since the altimetry")
    assert small.ok("drift", "QX-ABC", "--json").json["bands"] == []


def test_json_says_the_same(demo: "Cli") -> None:
    """Alarm with onset and size, forecast with its ends in order, points and the caution."""
    answer: Any = demo.ok("drift", "QX-BRE", *AT, "--json").json
    assert (answer["airframe"], answer["drifting"]) == ("QX-BRE", True)
    assert answer["sign"] == "altimeter 1 minus altimeter 2"
    alarmed = [band for band in answer["bands"] if band["alarm"] is not None]
    for band in alarmed:
        assert band["alarm"]["onset"] <= band["alarm"]["at"] < answer["at"]
        assert band["alarm"]["shift_ft"] < 0
        assert band["alarm"]["entry"] > 0
        forecast = band["forecast_ft"]
        assert forecast is None or forecast["low"] < forecast["likely"] < forecast["high"]
    assert len(alarmed) >= 1
    assert "does not show" in answer["caution"]
    quiet: Any = demo.ok("drift", "QX-ESK", *AT, "--json").json
    assert quiet["drifting"] is False
    assert [band["alarm"] for band in quiet["bands"]] == [None] * len(quiet["bands"])


def test_asked_about_an_earlier_day_it_knows_no_later(demo: "Cli") -> None:
    """In May nothing had happened yet."""
    answer: Any = demo.ok("drift", "QX-BRE", "--at", "2026-05-01T08:00Z", "--json").json
    assert answer["drifting"] is False
    assert max(p["at"] for band in answer["bands"] for p in band["points"]) < "2026-05-01T08"


@pytest.mark.parametrize(
    ("registration", "words"),
    [("QX-BRE", ("tolerance 180 ft", "alarm ", "trend")), ("QX-ALD", ("tolerance", "work #"))],
)
def test_the_picture_says_it_in_words(
    demo: "Cli", tmp_path: Path, registration: str, words: tuple[str, ...]
) -> None:
    """Tolerance, alarm and work stand beside their lines; the caution stands below."""
    path = tmp_path / "drift.svg"
    out = demo.ok("drift", registration, *AT, "--plot", str(path)).out
    assert "written:" in out
    said = words_of(path)
    assert [word for word in words if word not in said] == []
    assert registration in said
    assert "An aid: manuals, local rules" in said
    assert "difference, feet" in said


def test_the_picture_is_the_same_each_time(demo: "Cli", tmp_path: Path) -> None:
    """Byte by byte, so that a change shows."""
    first, second = tmp_path / "one.svg", tmp_path / "two.svg"
    for path in (first, second):
        demo.ok("drift", "QX-BRE", *AT, "--plot", str(path))
    assert first.read_bytes() == second.read_bytes()


def test_a_png_is_drawn_too(demo: "Cli", tmp_path: Path) -> None:
    """By its first bytes (PNG specification, 5.2)."""
    path = tmp_path / "drift.png"
    demo.ok("drift", "QX-BRE", *AT, "--plot", str(path))
    assert path.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"


@pytest.mark.parametrize("name", ["drift.gif", "drift", "nowhere/drift.svg"])
def test_a_name_that_cannot_be_drawn_to_is_refused(
    demo: "Cli", tmp_path: Path, check_one_line: "Callable[[Ran, int], None]", name: str
) -> None:
    """The ending says the kind of picture, and the folder is there."""
    check_one_line(demo("drift", "QX-BRE", *AT, "--plot", str(tmp_path / name)), 2)


def hostile(cli: "Cli") -> tuple[Drift, "tuple[Point, ...]"]:
    """Give the demo's drift with a registration that no record would take."""
    with open_store(str(cli.store)) as store, store.reading() as connection:
        book = find_airframe(connection, "QX-BRE")
        at = parse_instant(AT[1])
        facts: Facts = read_facts(connection, book, Question(at=at))
        history = every_point(connection, view(connection, book), at)
    airframe: Logged[Airframe] = facts.airframe
    scalars = {**airframe.record.scalars(), "registration": HOSTILE}
    record = Airframe.kind.read(scalars)
    assert isinstance(record, Airframe)
    return analysed(replace(facts, airframe=replace(airframe, record=record))), history


def test_hostile_text_is_escaped(demo: "Cli", tmp_path: Path) -> None:
    """Marks with mark-up, mathematics and control characters reach screen and picture as text."""
    drift, history = hostile(demo)
    out = io.StringIO()
    with redirect_stdout(out):
        show(drift_lines(drift))
    assert "\x1b" not in out.getvalue()
    assert "\\u001b" in out.getvalue()
    path = tmp_path / "drift.svg"
    write_plot(drift_plot(drift, history), path)
    assert "<script" not in path.read_text("utf-8")
    assert '<script>&"$x^2$' in words_of(path)
