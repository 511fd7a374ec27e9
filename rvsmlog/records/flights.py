"""Flights, altimeter cross-checks and altitude deviations."""

from datetime import date, datetime, timedelta
from typing import Annotated

from rvsmlog.frozen import dataclass
from rvsmlog.records.base import FieldError, Logbook, Record, record
from rvsmlog.records.fields import Choice, Real, Text, Whole
from rvsmlog.records.trade_fields import Day, EntryNumber, Instant, Level

#: Phases of a cross-check in the order of a flight.
PHASES = ("ground", "before-entry", "level", "hourly", "leaving", "after-flight")
#: Phases in which the aeroplane stands on the ground at a known elevation.
GROUND_PHASES = ("ground", "after-flight")
#: What confirms that a large height error is put right.
CONFIRMATIONS = ("functional-check", "flight-check", "monitored-flight")
_INDICATED = {"low": -2000, "high": 60000}
_LONGEST_FLIGHT = timedelta(hours=24)
_PILOT = Text("the pilot's code", longest=8, upper=True)


@record("flight", Logbook.AIRFRAME, title="flight", happened="off_at")
@dataclass(frozen=True, slots=True, kw_only=True)
class Flight(Record):
    """A flight with its times; with times in RVSM airspace where it went there."""

    off_at: Annotated[datetime, Instant("take-off")]
    on_at: Annotated[datetime, Instant("landing")]
    pilot: Annotated[str | None, _PILOT] = None
    departure: Annotated[
        str | None, Text("departure aerodrome", longest=8, example="QXAA", upper=True)
    ] = None
    destination: Annotated[
        str | None, Text("destination aerodrome", longest=8, example="QXBB", upper=True)
    ] = None
    highest_level: Annotated[int | None, Level("highest flight level flown")] = None
    rvsm_from: Annotated[datetime | None, Instant("entered RVSM airspace")] = None
    rvsm_to: Annotated[datetime | None, Instant("left RVSM airspace")] = None
    airframe_hours: Annotated[
        float | None, Real("total airframe hours after the flight", low=0, high=200000)
    ] = None
    remarks: Annotated[str | None, Text("remarks")] = None

    def check(self) -> None:
        """Refuse times that are out of order."""
        if not self.off_at < self.on_at:
            raise FieldError("on_at", "is not after the take-off", "give day and time of both")
        if self.on_at - self.off_at > _LONGEST_FLIGHT:
            raise FieldError(
                "on_at", "is more than 24 hours after the take-off", "look at the days"
            )
        if (self.rvsm_from is None) != (self.rvsm_to is None):
            raise FieldError("rvsm_to", "entry and exit go together", "give both or neither")
        times = (self.off_at, self.rvsm_from, self.rvsm_to, self.on_at)
        given = [time for time in times if time is not None]
        if given != sorted(given) or (
            self.rvsm_from is not None and self.rvsm_from == self.rvsm_to
        ):
            raise FieldError(
                "rvsm_from",
                "take-off, entry, exit and landing are not in this order",
                "look at the days and times",
            )


@record("crosscheck", Logbook.AIRFRAME, title="altimeter cross-check", happened="taken_at")
@dataclass(frozen=True, slots=True, kw_only=True)
class CrossCheck(Record):
    """The altimeters read side by side at one moment."""

    taken_at: Annotated[datetime, Instant("when the altimeters were read")]
    phase: Annotated[str, Choice("phase of the flight", words=PHASES)]
    primary_1_ft: Annotated[int, Whole("primary altimeter 1, feet", **_INDICATED)]
    primary_2_ft: Annotated[int, Whole("primary altimeter 2, feet", **_INDICATED)]
    standby_ft: Annotated[int | None, Whole("standby altimeter, feet", **_INDICATED)] = None
    transponder_ft: Annotated[
        int | None, Whole("altitude reported by the transponder, feet", **_INDICATED)
    ] = None
    level: Annotated[int | None, Level("flight level held")] = None
    field_elevation_ft: Annotated[
        int | None, Whole("known elevation of the place, feet", low=-1500, high=20000)
    ] = None
    qnh_hpa: Annotated[float | None, Real("QNH set on the sub-scales, hPa", low=870, high=1085)] = (
        None
    )
    mach: Annotated[float | None, Real("Mach number", low=0.05, high=0.99)] = None
    static_air_temperature_c: Annotated[
        float | None, Real("static air temperature, degrees Celsius", low=-100, high=60)
    ] = None
    total_air_temperature_c: Annotated[
        float | None, Real("total air temperature, degrees Celsius", low=-100, high=90)
    ] = None
    gnss_height_ft: Annotated[int | None, Whole("GNSS height, feet", **_INDICATED)] = None
    gnss_kind: Annotated[
        str | None,
        Choice("what the GNSS height is above", words=("ellipsoid", "mean-sea-level")),
    ] = None
    latitude_deg: Annotated[
        float | None, Real("latitude, degrees, north positive", low=-90, high=90)
    ] = None
    longitude_deg: Annotated[
        float | None, Real("longitude, degrees, east positive", low=-180, high=180)
    ] = None
    pilot: Annotated[str | None, _PILOT] = None
    remarks: Annotated[str | None, Text("remarks")] = None

    def check(self) -> None:
        """Ask for what the phase needs to be judged by."""
        if self.phase in GROUND_PHASES:
            if self.field_elevation_ft is None:
                raise FieldError("field_elevation_ft", "is missing", "a ground check needs it")
            if self.qnh_hpa is None:
                raise FieldError("qnh_hpa", "is missing", "a ground check needs it")
        elif self.level is None:
            raise FieldError("level", "is missing", "a check in flight needs the level held")
        if (self.gnss_height_ft is None) != (self.gnss_kind is None):
            raise FieldError("gnss_kind", "height and its kind go together")

    @property
    def difference_ft(self) -> int:
        """Altimeter 1 minus altimeter 2, feet."""
        return self.primary_1_ft - self.primary_2_ft

    @property
    def on_ground(self) -> bool:
        """Whether it was made at a known elevation."""
        return self.phase in GROUND_PHASES


@record("deviation", Logbook.AIRFRAME, title="altitude deviation", happened="occurred_at")
@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation(Record):
    """An altitude deviation or a reported height-keeping error."""

    occurred_at: Annotated[datetime, Instant("when it happened")]
    description: Annotated[str, Text("what happened")]
    tve_ft: Annotated[
        int | None, Whole("total vertical error, feet; positive when higher", low=-9000, high=9000)
    ] = None
    ase_ft: Annotated[
        int | None,
        Whole("altimetry system error, feet; positive when higher", low=-9000, high=9000),
    ] = None
    aad_ft: Annotated[
        int | None,
        Whole("assigned altitude deviation, feet; positive when higher", low=-9000, high=9000),
    ] = None
    cleared_level: Annotated[int | None, Level("cleared flight level")] = None
    observed_level: Annotated[int | None, Level("observed flight level")] = None
    duration_s: Annotated[int | None, Whole("time off the level, seconds", low=0, high=86400)] = (
        None
    )
    cause: Annotated[
        str | None,
        Choice(
            "cause as far as known",
            words=(
                "pilot",
                "controller",
                "pilot-controller-loop",
                "equipment",
                "acas",
                "turbulence",
                "other",
                "unknown",
            ),
        ),
    ] = None
    position: Annotated[str | None, Text("position", longest=120)] = None
    route: Annotated[str | None, Text("ATS route", longest=120)] = None
    unit: Annotated[
        str | None, Text("flight information region or air traffic unit", longest=120)
    ] = None
    callsign: Annotated[
        str | None, Text("callsign, when other than the registration", longest=12, upper=True)
    ] = None
    displayed_level: Annotated[
        int | None, Level("level that the controller saw from the transponder")
    ] = None
    subsequent_level: Annotated[int | None, Level("level cleared afterwards")] = None
    traffic: Annotated[
        str | None, Text("other traffic, and what separation was lost", longest=400)
    ] = None
    reported_at: Annotated[datetime | None, Instant("when it was reported")] = None
    remarks: Annotated[str | None, Text("remarks")] = None

    def check(self) -> None:
        """Ask for at least one error or both levels: a deviation without size says nothing."""
        sizes = (self.tve_ft, self.ase_ft, self.aad_ft)
        levels = (self.cleared_level, self.observed_level)
        if all(size is None for size in sizes) and None in levels:
            raise FieldError(
                "aad_ft", "no size is given", "give an error in feet, or cleared and observed level"
            )


@record("closure", Logbook.AIRFRAME, title="closure of a deviation", happened="closed_on")
@dataclass(frozen=True, slots=True, kw_only=True)
class Closure(Record):
    """What was found and done about a deviation, or about a height error that monitoring showed.

    A large height error is put right when a check confirms it, not when the work is done.
    """

    deviation: Annotated[
        int,
        EntryNumber(
            "the entry of the deviation, or of the monitoring result beyond its limit",
            kinds=("deviation", "monitoring"),
            once=True,
        ),
    ]
    closed_on: Annotated[date, Day("day on which it was closed")]
    conclusion: Annotated[str, Text("cause found and measures taken")]
    confirmed_by: Annotated[str, Text("who confirmed that it is put right", longest=120)]
    confirmation: Annotated[
        str | None,
        Choice("which check confirms that a height error is put right", words=CONFIRMATIONS),
    ] = None
    confirmed_on: Annotated[date | None, Day("day of that check")] = None
    reference: Annotated[str | None, Text("reference", longest=120)] = None
    remarks: Annotated[str | None, Text("remarks")] = None

    def check(self) -> None:
        """Ask for the day of a confirming check."""
        if (self.confirmation is None) != (self.confirmed_on is None):
            raise FieldError("confirmed_on", "the check and its day go together", "give both")
