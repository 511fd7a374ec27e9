"""The readings behind a test of altimeter, static system or altitude reporting, point by point."""

from typing import Annotated

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import FieldError, Logbook, Record, record
from rvsmlog.records.fields import Choice, Text, Whole
from rvsmlog.records.point_table import Points, PointTable
from rvsmlog.records.trade_fields import EntryNumber
from rvsmlog.standards.altimeter_tests import barometric_difference_ft, friction_tolerance_ft

#: To what a unit was tested: appendix E itself, or its maker's specification as paragraph (b)(2)
#: of it allows for air data computer types.
SPECIFICATIONS = ("appendix-e", "maker")
#: Decimal digits of barometric settings (inHg) and of cabin differentials (psi).
_HUNDREDTHS = 2
_DWELL = {"low": 0, "high": 7200}
_SECONDS = {"low": 0, "high": 86400}
_FEET = {"low": -5000, "high": 5000}
_RATE = {"low": 0, "high": 60000}
#: Fields that hold what a test found.
MEASURED = (
    "scale_error",
    "hysteresis",
    "after_effect_ft",
    "friction",
    "case_leak_ft",
    "barometric",
    "static_leak",
    "correspondence",
)


@record("test-readings", Logbook.AIRFRAME, title="readings of a test")
@dataclass(frozen=True, slots=True, kw_only=True)
class Readings(Record):
    """What a bench or ramp test measured; the test itself is an entry of its own.

    The order of the points is the order of the test.
    """

    test: Annotated[int, EntryNumber("the test's entry", kinds=("test",), once=True)]
    specification: Annotated[
        str, Choice("specification to which the unit was tested", words=SPECIFICATIONS)
    ] = "appendix-e"
    part_number: Annotated[str | None, Text("part number of the unit", longest=60)] = None
    test_equipment: Annotated[
        str | None, Text("test equipment used, and its calibration reference", longest=200)
    ] = None
    scale_error: Annotated[
        Points | None, PointTable("scale error: altitude shown minus altitude of the point, feet")
    ] = None
    scale_dwell_s: Annotated[
        Points | None, PointTable("time kept at a point of the scale, seconds", **_DWELL)
    ] = None
    scale_rate_ft_min: Annotated[
        int | None, Whole("greatest rate between points of the scale, ft/min", **_RATE)
    ] = None
    hysteresis: Annotated[
        Points | None, PointTable("reading going down minus reading going up, feet")
    ] = None
    hysteresis_start_s: Annotated[
        int | None,
        Whole("from first reaching the highest point to the start of the descent, s", **_SECONDS),
    ] = None
    hysteresis_dwell_s: Annotated[
        Points | None, PointTable("time kept at a hysteresis point, seconds", **_DWELL)
    ] = None
    hysteresis_rate_ft_min: Annotated[
        int | None, Whole("rate of the descent between hysteresis points, ft/min", **_RATE)
    ] = None
    after_effect_ft: Annotated[
        int | None, Whole("after effect: reading at the end minus at the start, feet", **_FEET)
    ] = None
    after_effect_s: Annotated[
        int | None, Whole("from the end of the hysteresis test to that reading, s", **_SECONDS)
    ] = None
    friction: Annotated[
        Points | None, PointTable("friction: change of reading after vibration, feet")
    ] = None
    case_leak_ft: Annotated[
        int | None, Whole("case leak: change in one minute at 18,000 ft, feet", **_FEET)
    ] = None
    barometric: Annotated[
        Points | None,
        PointTable(
            "barometric scale: change of reading from that at 29.92 inHg, feet",
            point="setting in inHg",
            decimals=_HUNDREDTHS,
            lowest=2800,
            highest=3100,
        ),
    ] = None
    static_leak: Annotated[
        Points | None,
        PointTable(
            "static system leak: altitude lost in one minute, feet",
            point="cabin differential in psi",
            decimals=_HUNDREDTHS,
            lowest=0,
            highest=1500,
            low=0,
            high=20000,
        ),
    ] = None
    correspondence: Annotated[
        Points | None,
        PointTable("altitude reported by the transponder minus altimeter on 1013.25 hPa, feet"),
    ] = None
    remarks: Annotated[str | None, Text("remarks")] = None

    def check(self) -> None:
        """Refuse readings at points that the tables do not list, and dwells without a reading."""
        if all(getattr(self, name) is None for name in MEASURED):
            raise FieldError("scale_error", "there is no reading", "give what was measured")
        _check_listed(self)
        _check_dwells("scale_dwell_s", self.scale_dwell_s, self.scale_error)
        _check_dwells("hysteresis_dwell_s", self.hysteresis_dwell_s, self.hysteresis)
        if self.hysteresis is not None and len(self.hysteresis) > len(("first", "second")):
            raise FieldError("hysteresis", "has more than two points", "appendix E has two")


def _check_listed(readings: Readings) -> None:
    """Hold friction and barometric points against Tables III and IV, which have no rows between."""
    for point, _ in readings.friction or ():
        try:
            friction_tolerance_ft(point)
        except InputError as error:
            raise FieldError("friction", error.message, error.hint) from None
    for point, _ in readings.barometric or ():
        try:
            barometric_difference_ft(point / 10**_HUNDREDTHS)
        except InputError as error:
            raise FieldError("barometric", error.message, error.hint) from None


def _check_dwells(field: str, dwells: Points | None, readings: Points | None) -> None:
    """Refuse a dwell at a point without a reading: one of the two is mistyped."""
    known = {point for point, _ in readings or ()}
    for point, _ in dwells or ():
        if point not in known:
            raise FieldError(field, f"there is no reading at {point:,} ft", "give both, or neither")
