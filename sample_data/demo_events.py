"""What happened to each invented aeroplane in its year, apart from its flights."""

from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta

from sample_data.demo_bench import bench
from sample_data.demo_book import DemoBook
from sample_data.demo_fleet import DEFERRED_ON, EXCHANGED_ON
from sample_data.demo_flights import Trip
from sample_data.demo_papers import CONTROLLER, ENGINEER, LICENCE, add_test

_CENTRE = "invented monitoring centre"


def events(book: DemoBook, registration: str, flown: Sequence[Trip]) -> None:
    """Enter what happened to one aeroplane."""
    story = _STORIES.get(registration)
    if story is not None:
        story(book, registration, flown)


def _newest(flown: Sequence[Trip], day: date) -> Trip:
    """Give the newest flight of a day or before it."""
    return [trip for trip in flown if trip.day <= day][-1]


def _monitored(
    book: DemoBook, registration: str, day: date, method: str, ase_ft: int, hours: float
) -> None:
    book.add(
        "monitoring",
        registration,
        measured_on=day,
        method=method,
        ase_ft=ase_ft,
        measured_by=_CENTRE,
        airframe_hours=hours,
        reference=f"HM-{day:%y%m}",
    )


def _all_in_order(book: DemoBook, registration: str, flown: Sequence[Trip]) -> None:
    """Exchange altimeter 2 in May; report, close and learn from one deviation."""
    monitored = date(2026, 4, 21)
    hours = _newest(flown, monitored).airframe_hours
    _monitored(book, registration, monitored, "ground-station", 38, hours)
    book.add(
        "removal",
        registration,
        equipment="altimeter 2",
        removed_on=EXCHANGED_ON,
        cause="differed more from altimeter 1 each month; within tolerance",
        reference="W-260512",
    )
    book.later(
        "equipment",
        registration,
        function="altimeter",
        fitted_on=EXCHANGED_ON,
        position="2",
        part_number="KA-520",
        serial_number="0977-02",
        reference="W-260512",
    )
    add_test(book, registration, "leak-check", EXCHANGED_ON, position="2", leak_ft=40)
    add_test(
        book,
        registration,
        "altimeter-static",
        EXCHANGED_ON,
        position="2",
        tested_altitude_ft=35000,
    )
    _alerter_mended(book, registration)
    _lifted_by_a_wave(book, registration, _newest(flown, date(2026, 3, 12)))


def _alerter_mended(book: DemoBook, registration: str) -> None:
    """Find and mend a silent altitude alerter."""
    book.add(
        "defect",
        registration,
        "alerter",
        found_at=datetime(2026, 8, 18, 12, 40, tzinfo=UTC),
        function="altitude-alerter",
        description="no aural alert in the test before flight",
        reported_by="Ilse Vorrand",
    )
    book.add(
        "rectification",
        registration,
        defect="alerter",
        done_at=datetime(2026, 8, 18, 16, 5, tzinfo=UTC),
        work_done="audio plug cleaned and seated, alert tested",
        released_by=ENGINEER,
        licence=LICENCE,
        reference="W-260818",
    )


def _lifted_by_a_wave(book: DemoBook, registration: str, trip: Trip) -> None:
    """Report a deviation in time, and close it."""
    occurred_at = trip.off_at + timedelta(minutes=58)
    book.add(
        "deviation",
        registration,
        "deviation",
        occurred_at=occurred_at,
        description="lifted by mountain wave, altitude hold kept on, ATC told",
        aad_ft=310,
        cleared_level=trip.level,
        duration_s=40,
        cause="turbulence",
        reported_at=occurred_at + timedelta(hours=20),
    )
    book.add(
        "closure",
        registration,
        deviation="deviation",
        closed_on=trip.day + timedelta(days=5),
        conclusion="mountain wave; altitude control tested and found in order",
        confirmed_by=CONTROLLER,
    )


def _altimeters_part(book: DemoBook, registration: str, flown: Sequence[Trip]) -> None:
    """Open the static system in February, test in November; what is read is not yet looked at."""
    opened = date(2026, 2, 10)
    book.add(
        "work",
        registration,
        work="static-system-opened",
        done_on=opened,
        description="static drain 1 replaced",
        position="1",
        done_by=ENGINEER,
        licence=LICENCE,
        reference="W-260210",
    )
    monitored = date(2025, 12, 9)
    hours = _newest(flown, monitored).airframe_hours
    _monitored(book, registration, monitored, "gps-unit", 54, hours)
    bench(book)


def _deferral_runs_out(book: DemoBook, registration: str, flown: Sequence[Trip]) -> None:
    """Defer a static port heater, extend the deferral once, and let it run out."""
    hours = round(flown[0].airframe_hours - 253.0, 1)
    _monitored(book, registration, date(2025, 3, 18), "ground-station", -22, hours)
    book.add(
        "defect",
        registration,
        "defect",
        found_at=datetime(2026, 10, 26, 11, 20, tzinfo=UTC),
        function="static-heat",
        description="static port 2 stays cold with the heat on",
        position="2",
        reported_by="Tomas Quennard",
    )
    book.add(
        "deferral",
        registration,
        "deferral",
        defect="defect",
        category="C",
        mel_reference="30-31-2",
        deferred_on=DEFERRED_ON,
        limitation="not into known icing",
        highest_level=280,
        deferred_by=ENGINEER,
        licence=LICENCE,
    )
    book.add(
        "extension",
        registration,
        deferral="deferral",
        days=10,
        granted_on=DEFERRED_ON + timedelta(days=9),
        granted_by="the authority, on request",
        reference="X-30-31-2",
    )
    book.add(
        "review",
        registration,
        subject="deferral",
        reviewed_at=datetime(2026, 11, 4, 9, 30, tzinfo=UTC),
        conclusion="heater on order, due 13 November; extension asked for",
        accepted="no",
    )


def _rests_on_ads_b(book: DemoBook, registration: str, flown: Sequence[Trip]) -> None:
    """Monitor the height by ADS-B, which its authority rests on."""
    for monitored, ase_ft in ((date(2026, 1, 20), -52), (date(2026, 7, 14), -63)):
        hours = _newest(flown, monitored).airframe_hours
        _monitored(book, registration, monitored, "ads-b", ase_ft, hours)


_STORIES: Mapping[str, Callable[[DemoBook, str, Sequence[Trip]], None]] = {
    "QX-ALD": _all_in_order,
    "QX-BRE": _altimeters_part,
    "QX-CYR": _deferral_runs_out,
    "QX-ESK": _rests_on_ads_b,
}
