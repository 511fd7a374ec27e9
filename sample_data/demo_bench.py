"""The bench and ramp record of QX-BRE: altimeter 2 passes Table I, and is not fit for RVSM."""

from datetime import date

from sample_data.demo_book import DemoBook
from sample_data.demo_papers import add_test

_REGISTRATION = "QX-BRE"
_EQUIPMENT = "air data test set 4, calibrated 2026-09-01, C-2609"
#: The day after its last flight; nothing was adjusted or exchanged.
_DAY = date(2026, 11, 19)

# Altitude of each point of Table I up to 35,000 ft, and what altimeters 1 and 2 show too much.
_SCALE = (
    *((-1000, 0, 5), (0, 0, 5), (500, 0, 5), (1000, 0, 5), (1500, -5, 5), (2000, -5, 5)),
    *((3000, -5, 5), (4000, -5, 10), (6000, -5, 10), (8000, -5, 20), (10000, -5, 25)),
    *((12000, -5, 30), (14000, -5, 40), (16000, -10, 50), (18000, -10, 60), (20000, -10, 75)),
    *((22000, -10, 85), (25000, -10, 105), (30000, -10, 150), (35000, -15, 190)),
)
# Altitude of each point of Table III, and the friction of both altimeters there.
_FRICTION = (
    *((1000, 15, 20), (2000, 15, 20), (3000, 20, 25), (5000, 20, 25), (10000, 25, 30)),
    *((15000, 25, 35), (20000, 30, 40), (25000, 35, 45), (30000, 40, 60), (35000, 50, 70)),
)
# Each setting of Table IV, and the change of reading of both altimeters.
_BAROMETRIC = (
    *(("28.10", -1725, -1735), ("28.50", -1340, -1345), ("29.00", -865, -865)),
    *(("29.50", -390, -395), ("29.92", 0, 0), ("30.50", 530, 535), ("30.90", 890, 900)),
    ("30.99", 975, 985),
)
# Earlier bench tests of altimeter 2: the day, and its error at 30,000 and 35,000 ft.
_EARLIER = ((date(2020, 7, 20), 5, 5), (date(2022, 6, 14), 0, 5), (date(2024, 5, 28), 10, 15))


def bench(book: DemoBook) -> None:
    """Enter the tests of November, and the earlier ones of altimeter 2."""
    for day, at_30000, at_35000 in _EARLIER:
        key = f"bench {day}"
        _test(book, key, day, "1019-02", None)
        _read(book, key, scale_error=f"0:0,30000:{at_30000:+d},35000:{at_35000:+d}")
    for number in (1, 2):
        key = f"bench altimeter {number}"
        _test(book, key, _DAY, f"1019-{number:02d}", str(number))
        _whole(book, key, number)
    add_test(book, _REGISTRATION, "leak-check", _DAY, leak_ft=90, key="leak in November")
    _read(book, "leak in November", static_leak="6.20:90")
    add_test(
        book,
        _REGISTRATION,
        "correspondence",
        _DAY,
        correspondence_ft=25,
        tested_altitude_ft=35000,
        key="correspondence in November",
    )
    _read(book, "correspondence in November", correspondence="0:0,10000:+15,20000:+20,35000:+25")


def _test(book: DemoBook, key: str, day: date, serial: str, position: str | None) -> None:
    """Enter the test of one altimeter."""
    add_test(
        book,
        _REGISTRATION,
        "altimeter-static",
        day,
        position=position or "all",
        tested_altitude_ft=35000,
        unit_serial=serial,
        key=key,
    )


def _whole(book: DemoBook, key: str, number: int) -> None:
    """Enter the readings of one altimeter in full."""
    _read(
        book,
        key,
        scale_error=_points(_SCALE, number),
        scale_dwell_s=",".join(f"{point}:75" for point, *_ in _SCALE),
        scale_rate_ft_min=12000,
        hysteresis="17500:+30,14000:+25" if number == 1 else "17500:+45,14000:+40",
        hysteresis_start_s=240,
        hysteresis_dwell_s="17500:320,14000:90",
        hysteresis_rate_ft_min=10000,
        after_effect_ft=5 if number == 1 else 15,
        after_effect_s=180,
        friction=_points(_FRICTION, number),
        case_leak_ft=20 if number == 1 else 35,
        barometric=_points(_BAROMETRIC, number),
    )


def _points(rows: tuple[tuple[int | str, int, int], ...], number: int) -> str:
    """Write the points of one altimeter."""
    return ",".join(f"{row[0]}:{row[number]}" for row in rows)


def _read(book: DemoBook, test: str, **fields: str | int) -> None:
    """Enter readings of a test."""
    book.add(
        "test-readings",
        _REGISTRATION,
        test=test,
        part_number="KA-520" if test.startswith("bench") else None,
        test_equipment=_EQUIPMENT if not test.startswith("bench 20") else None,
        **fields,
    )
