"""Make the demo's files anew: an invented operator, five aeroplanes, a year of readings.

Usage, from the top of the checkout: ``python -m sample_data.make_demo [FOLDER]``. The same files
come out each time: every stream of chance has a fixed seed of its own, so that adding to one
aeroplane or one subject leaves the others as they are.
"""

import json
import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from random import Random

from sample_data import demo_heights
from sample_data.demo_book import DemoBook
from sample_data.demo_events import events
from sample_data.demo_fleet import FLEET, OPERATOR, Aeroplane
from sample_data.demo_flights import FIRST_DAY, LAST_DAY, Trip, trips
from sample_data.demo_oxygen import oxygen, routes
from sample_data.demo_papers import common_papers, operator
from sample_data.demo_readings import crosschecks
from sample_data.demo_weather import Weather, weather

SEED = "rvsmlog demo 1"

#: What goes beside the files: the instant at which the demo looks at its records, and the flight
#: that it asks about, and commands to go on with.
DEMO = {
    "note": "All of this is invented: operator, people, aeroplanes, aerodromes and readings.",
    "operator": OPERATOR,
    "at": "2026-11-24T08:00Z",
    "level": 310,
    "weather": demo_heights.NAME,
    "pilot": "IVO",
    "ends_on": LAST_DAY.isoformat(),
    "try": [
        "gonogo QX-BRE --level 310 --pilot IVO --at 2026-11-24T08:00Z",
        "gonogo QX-ESK --level 310 --pilot IVO --at 2026-11-24T08:00Z --region CAR",
        "gonogo QX-ESK --level 310 --pilot IVO --at 2026-11-24T08:00Z --route RIDGE",
        "defect list QX-CYR",
        "equipment history 1019-02",
        "store verify",
    ],
}


def chance(*subject: str) -> Random:
    """Give the stream of chance of one subject."""
    return Random(" / ".join((SEED, *subject)))


def make() -> DemoBook:
    """Make all rows."""
    book = DemoBook()
    operator(book)
    routes(book)
    air = weather(chance("weather"), FIRST_DAY, LAST_DAY)
    for aeroplane in FLEET:
        flown = tuple(trips(chance(aeroplane.registration, "flights"), aeroplane.flying))
        common_papers(book, aeroplane)
        events(book, aeroplane.registration, flown)
        _flights(book, aeroplane.registration, flown)
        _readings(book, aeroplane, flown, air)
        oxygen(book, aeroplane, flown)
    return book


def _heights() -> str:
    """Make the heights of pressure levels around the flights of one aeroplane."""
    air = weather(chance("weather"), FIRST_DAY, LAST_DAY)
    (aeroplane,) = (each for each in FLEET if each.registration == demo_heights.REGISTRATION)
    flown = trips(chance(aeroplane.registration, "flights"), aeroplane.flying)
    return demo_heights.heights(flown, air)


def _flights(book: DemoBook, registration: str, flown: Sequence[Trip]) -> None:
    for trip in flown:
        book.add(
            "flight",
            registration,
            off_at=trip.off_at,
            on_at=trip.on_at,
            pilot=trip.pilot,
            departure=trip.departure.code,
            destination=trip.destination.code,
            highest_level=trip.level,
            rvsm_from=trip.rvsm_from,
            rvsm_to=trip.rvsm_to,
            airframe_hours=trip.airframe_hours,
        )


def _readings(
    book: DemoBook, aeroplane: Aeroplane, flown: Sequence[Trip], air: dict[date, Weather]
) -> None:
    rng = chance(aeroplane.registration, "readings")
    for trip in flown:
        for row in crosschecks(rng, aeroplane.altimetry, trip, air[trip.day]):
            book.add("crosscheck", aeroplane.registration, **row)


def main(arguments: Sequence[str]) -> None:
    """Write the files."""
    folder = Path(arguments[0]) if arguments else Path(__file__).parent
    book = make()
    book.write(folder)
    demo_heights.write(folder, _heights())
    files = [{"file": name, "kind": kind} for name, kind in book.files()]
    text = json.dumps(DEMO | {"files": files}, indent=2) + "\n"
    (folder / "demo.json").write_text(text, "utf-8", newline="")


if __name__ == "__main__":
    main(sys.argv[1:])
