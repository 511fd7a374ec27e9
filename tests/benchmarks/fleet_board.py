"""Time the fleet board against reading the same rows by the driver alone.

Usage: ``python tests/benchmarks/fleet_board.py [AIRFRAMES ...]`` (1,000 and 10,000 when left out).

Each airframe has its particulars, units, papers, tests, an oxygen system with its readings, twenty
flights and a hundred readings of its altimeters; some have a deferred defect, some drift. The fleet
is filled by the logbook's own writer. The board is made twice: with no drift log beside any of the
logbooks, when all readings are gone through, and with one, as each recorded check leaves it; and
once more with what the next thing that falls due will cost, which JSON has and the screen does not.
What counts is processor time for each airframe. The floor in the same run is the driver of the
database alone, fetching every row that the board looks at with one statement for each table.
"""

import sqlite3
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from rvsmlog.answers.fleet_board import board_rows
from rvsmlog.records.airframe import Airframe, Equipment
from rvsmlog.records.base import Logbook, Record
from rvsmlog.records.defects import Defect, Deferral
from rvsmlog.records.flights import CrossCheck, Flight
from rvsmlog.records.kinds import KINDS
from rvsmlog.records.operator import Knowledge, Operator, Pilot
from rvsmlog.records.oxygen import OxygenInstallation, OxygenReading
from rvsmlog.records.papers import Approval, Monitoring, Test
from rvsmlog.store.connection import Store, open_store
from rvsmlog.store.importing.drift_keeping import refresh_drift
from rvsmlog.store.reading.airframes import registrations
from rvsmlog.store.reading.books import OPERATOR
from rvsmlog.store.safekeeping.schema import create_store
from rvsmlog.store.tables import table_name
from rvsmlog.store.writing.fleet import each_facts, fleet_facts
from rvsmlog.store.writing.logbook import Writer, writing

SIZES = (1_000, 10_000)
WANTED_MS = 2.0
ASKED_AT = datetime(2027, 3, 14, 2, 30, tzinfo=UTC)
FLIGHTS = 20
READINGS = 100
_DAY = timedelta(days=1)
_TWICE = ("altimeter", "air-data-computer", "static-source", "static-heat", "pitot-heat")
_ONCE = (
    "altitude-alerter",
    "altitude-control",
    "transponder",
    "standby-altimeter",
    "cabin-pressure-control",
    "cabin-altitude-warning",
)
_EVERY = ("valve", "pressure", "flow", "mask", "microphone")


def registration(number: int) -> str:
    """Give an invented registration."""
    letters = []
    for _ in range(4):
        number, letter = divmod(number, 26)
        letters.append(chr(ord("A") + letter))
    return "QX-" + "".join(reversed(letters))


def papers(rng: Random, number: int) -> Iterator[Record]:
    """Give what is on record of one airframe but flights and readings."""
    borne, fitted = registration(number), date(2024, 5, 1)
    yield Airframe(
        registration=borne,
        type_designator="VK71",
        serial_number=str(1000 + number),
        authority="us-91",
        rvsm_basis="group",
        type_certificate="after-1997-04-09",
        highest_level=310,
        altimeter_resolution_ft=20,
        max_differential_psi=6.2,
    )
    for function in _TWICE:
        for position in ("1", "2"):
            yield Equipment(function=function, position=position, fitted_on=fitted)
    for function in _ONCE:
        yield Equipment(function=function, fitted_on=fitted)
    yield Approval(
        approval="rvsm",
        registration=borne,
        holder="Merrow Air",
        issued_on=date(2024, 6, 1),
        regions=("ALL",),
    )
    tested = date(2025, 4, 1) + rng.randint(0, 600) * _DAY
    yield Test(test="altimeter-static", done_on=tested, passed=True, tested_altitude_ft=35_000)
    yield Test(test="transponder", done_on=tested, passed=True)
    yield Test(test="leak-check", done_on=tested, passed=True, leak_ft=40)
    yield Test(test="correspondence", done_on=tested, passed=True, correspondence_ft=30)
    yield Monitoring(
        measured_on=date(2025, 3, 20) + rng.randint(0, 700) * _DAY,
        method="ground-station",
        ase_ft=rng.randint(-90, 90),
        airframe_hours=1400.0,
    )
    yield OxygenInstallation(
        serves=("crew", "passengers"),
        fitted_on=fitted,
        service_psi=1850.0,
        unusable_psi=200.0,
        water_litres=11.5,
        crew_masks=2,
        passenger_masks=4,
        crew_delivery="demand",
        crew_modes=("normal", "100-percent"),
        quick_donning=True,
        donning_s=5,
    )
    for day in range(3):
        yield OxygenReading(
            checked_at=ASKED_AT - (3 - day) * _DAY,
            gauge_psi=float(rng.randint(1300, 1850)),
            cylinder_c=15.0,
            pilot_seat=_EVERY,
            copilot_seat=_EVERY,
        )
    if number % 5 == 0:
        yield Defect(
            found_at=ASKED_AT - 6 * _DAY, function="altitude-alerter", description="no aural alert"
        )


def flown(rng: Random) -> Iterator[tuple[Flight, list[CrossCheck]]]:
    """Give flights with the readings of each, the last one a day before the question."""
    drift, offset = rng.choice((*[0.0] * 8, 4.0, -6.0)), rng.gauss(0.0, 25.0)
    for number in range(FLIGHTS):
        off = ASKED_AT - (FLIGHTS - number) * 2 * _DAY - timedelta(hours=rng.randint(0, 20))
        mean = offset + drift * number
        checks = [
            CrossCheck(
                taken_at=off + timedelta(minutes=25 + 30 * each),
                phase="level",
                primary_1_ft=31_000 + round(rng.gauss(mean, 15.0) / 20.0) * 20,
                primary_2_ft=31_000,
                standby_ft=31_100,
                transponder_ft=31_000,
                level=310,
                mach=0.47,
            )
            for each in range(READINGS // FLIGHTS)
        ]
        flight = Flight(
            off_at=off,
            on_at=off + timedelta(hours=3),
            rvsm_from=off + timedelta(minutes=20),
            rvsm_to=off + timedelta(minutes=160),
            highest_level=310,
            airframe_hours=1600.0 + 3 * number,
        )
        yield flight, checks


def enter(log: Writer, number: int) -> None:
    """Enter one airframe."""
    rng = Random(number)
    book = log.open_book(Logbook.AIRFRAME, f"VK71-{1000 + number}")
    for record in papers(rng, number):
        ref = log.append(book, record)
        if isinstance(record, Defect):
            log.append(
                book,
                Deferral(
                    defect=ref.entry,
                    category="C",
                    mel_reference="34-22-1",
                    deferred_on=(ASKED_AT - 6 * _DAY).date(),
                    highest_level=280,
                ),
            )
    flights = list(flown(rng))
    log.append_many(book, [flight for flight, _ in flights])
    log.append_many(book, [each for _, checks in flights for each in checks])


def fill(store: Store, airframes: int) -> None:
    """Fill a store: an operator with one pilot, and a fleet."""
    with writing(store, "benchmark", lambda: ASKED_AT) as log:
        operator = log.open_book(Logbook.OPERATOR, OPERATOR)
        for record in (
            Operator(name="Merrow Air", time_zone="Pacific/Auckland", region="US"),
            Pilot(code="MKO", name="M. Invented"),
            Knowledge(pilot="MKO", completed_on=date(2026, 5, 1), training="recurrent"),
        ):
            log.append(operator, record)
        for number in range(airframes):
            enter(log, number)


def keep(store: Store) -> None:
    """Keep the drift log beside each logbook, as a recorded check does."""
    with store.reading() as connection:
        names = [name for _, name in registrations(connection)]
    for name in names:
        refresh_drift(store, name, ASKED_AT)


def by_the_driver(path: Path) -> int:
    """Fetch every row that the board looks at, one statement for each table."""
    count = 0
    with closing(sqlite3.connect(path)) as connection:
        for table in ("logbook", "derived", *map(table_name, KINDS)):
            joined = (
                "" if table in ("logbook", "derived") else " JOIN entry USING (logbook_id, number)"
            )
            count += len(connection.execute(f"SELECT * FROM {table}{joined}").fetchall())  # noqa: S608 - our own tables
    return count


def processor(work: Callable[[], object]) -> float:
    """Give the processor time of some work, milliseconds."""
    begun = time.process_time()
    work()
    return (time.process_time() - begun) * 1000


def read_only(store: Store) -> None:
    """Read the facts and let each airframe's go."""
    for _ in each_facts(store, ASKED_AT):
        pass


def measure(path: Path, airframes: int) -> Iterator[tuple[str, float]]:
    """Give what each way costs, milliseconds of processor time for each airframe."""
    with create_store(str(path)) as store:
        yield "filling", processor(lambda: fill(store, airframes)) / airframes
    floor = processor(lambda: by_the_driver(path)) / airframes
    with open_store(str(path)) as store:
        board_rows([next(iter(fleet_facts(store, ASKED_AT, registration(0))))])  # warms up
        yield "rows by the driver alone: the floor", floor
        first = processor(lambda: board_rows(each_facts(store, ASKED_AT), 0))
        yield "board, no drift log kept", first / airframes
        keep(store)
        yield "facts read, drift log kept", processor(lambda: read_only(store)) / airframes
        kept = processor(lambda: board_rows(each_facts(store, ASKED_AT), 0))
        yield "board, drift log kept", kept / airframes
        costs = processor(lambda: board_rows(each_facts(store, ASKED_AT), 1))
        yield "with what the next thing costs", costs / airframes


def main(arguments: Sequence[str]) -> None:
    """Fill, measure, print."""
    print(f"processor time for each airframe; wanted below {WANTED_MS:.0f} ms")
    for airframes in map(int, arguments) if arguments else SIZES:
        with TemporaryDirectory() as name:
            floor = None
            for what, cost in measure(Path(name) / "fleet.sqlite3", airframes):
                floor = cost if "floor" in what else floor
                ratio = "" if floor is None else f"{cost / floor:7.1f} x"
                print(f"{airframes:7,} airframes  {what:36} {cost:8.3f} ms {ratio}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
