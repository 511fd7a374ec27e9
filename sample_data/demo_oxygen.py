"""Oxygen of the invented aeroplanes, and the routes that are flown often."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from sample_data.demo_book import DemoBook
from sample_data.demo_fleet import Aeroplane
from sample_data.demo_flights import LAST_DAY, Trip

#: The morning on which the demo looks at its records: every gauge is read once more.
MORNING = datetime(2026, 11, 24, 7, 10, tzinfo=UTC)
_READ_SINCE = LAST_DAY - timedelta(days=21)
_BEFORE_TAKE_OFF = timedelta(minutes=40)
_CREW_SEAT = "valve,pressure,flow,mask,microphone"
_PASSENGER_SEATS = "valve,flow,mask"

# Pressure on the gauge on the first day that is read, and what it loses in a day, psi.
_GAUGES = {
    "QX-ALD": (1690.0, 1.5),
    "QX-BRE": (1540.0, 1.5),
    "QX-CYR": (1610.0, 2.0),
    "QX-DAN": (1280.0, 2.5),
    # Used in training in the summer and not filled since: enough for some flights.
    "QX-ESK": (790.0, 1.5),
}


def routes(book: DemoBook) -> None:
    """Enter two routes: one that may descend at once, one over high ground."""
    book.add(
        "route-profile",
        name="PLAINS",
        departure="QXBO",
        destination="QXEL",
        region="US",
        track=131,
        crew=1,
        passengers=3,
        hold_level=100,
        hold_minutes=0,
        recognition_s=20,
        descent_fpm=3000,
        contaminated_minutes=20,
    )
    book.add(
        "route-profile",
        name="RIDGE",
        departure="QXAR",
        destination="QXCE",
        region="US",
        track=326,
        crew=1,
        passengers=4,
        hold_level=140,
        hold_minutes=60,
        recognition_s=20,
        descent_fpm=2500,
        final_descent_fpm=1000,
        contaminated_minutes=20,
    )


def oxygen(book: DemoBook, aeroplane: Aeroplane, flown: Sequence[Trip]) -> None:
    """Enter the oxygen system, and what was on its gauge."""
    _system(book, aeroplane)
    _readings(book, aeroplane, flown)


def _system(book: DemoBook, aeroplane: Aeroplane) -> None:
    """Fit one cylinder that crew and passengers share; its flows are invented."""
    book.add(
        "oxygen-installation",
        aeroplane.registration,
        serves="crew,passengers",
        fitted_on=aeroplane.delivered,
        service_psi=1850,
        unusable_psi=200,
        water_litres=11.5,
        gauge_tolerance_psi=25,
        in_use_c=-20,
        crew_masks=2,
        passenger_masks=4,
        crew_delivery="demand",
        crew_modes="normal,100-percent,emergency",
        quick_donning="yes",
        donning_s=5,
        mask_can_be_worn="yes",
        flow_reference="VK71 handbook, table 7-4 (invented)",
        crew_normal_flow="80:7000,100:6600,150:5200,200:3900,250:4700,310:4300",
        crew_full_flow="80:13200,100:12000,150:9600,200:7600,250:5900,310:4300",
        passenger_flow="80:0,100:800,150:1700,200:2500,250:3200,310:3900",
    )


def _readings(book: DemoBook, aeroplane: Aeroplane, flown: Sequence[Trip]) -> None:
    """Read the gauge before each of the last flights, and on the demo's morning."""
    first, loss = _GAUGES[aeroplane.registration]
    start = datetime.combine(_READ_SINCE, datetime.min.time(), tzinfo=UTC)
    moments = [(trip.off_at - _BEFORE_TAKE_OFF, trip.pilot) for trip in flown]
    recent = [each for each in moments if each[0] >= start]
    for moment, pilot in (*recent, (MORNING, "IVO")):
        days = (moment - start).total_seconds() / 86_400
        book.add(
            "oxygen-reading",
            aeroplane.registration,
            checked_at=moment,
            gauge_psi=round((first - loss * days) / 10) * 10,
            cylinder_c=9 - round(days / 4),
            pilot_seat=_CREW_SEAT,
            copilot_seat=_CREW_SEAT,
            passenger_seats=_PASSENGER_SEATS,
            pilot=pilot,
        )
