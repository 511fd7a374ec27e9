"""Estimates of the error that both altimeters share, made from ordinary logs and weather."""

from datetime import date
from typing import Annotated

from rvsmlog.frozen import dataclass
from rvsmlog.records.base import FieldError, Logbook, Record, record
from rvsmlog.records.fields import Choice, Real, Text, Whole
from rvsmlog.records.trade_fields import Day
from rvsmlog.science.weather_worth import WeatherSource

#: Sources of weather as single words.
WEATHER = tuple(each.value.replace(" ", "-") for each in WeatherSource)


@record("static-error", Logbook.AIRFRAME, title="estimate of static error", happened="estimated_on")
@dataclass(frozen=True, slots=True, kw_only=True)
class StaticError(Record):
    """An error common to both altimeters, estimated from GNSS heights; no height monitoring.

    Positive when the aeroplane is higher than it shows.
    """

    estimated_on: Annotated[date, Day("day of the estimate")]
    first_on: Annotated[date, Day("day of the first flight used")]
    last_on: Annotated[date, Day("day of the last flight used")]
    flights: Annotated[int, Whole("independent flights used", low=1, high=100000)]
    weather: Annotated[
        str,
        Choice("where the weather came from", words=WEATHER),
    ]
    error_ft: Annotated[
        float, Real("estimate, feet; positive when higher than shown", low=-2000, high=2000)
    ]
    low_ft: Annotated[float, Real("lower end of its interval, feet", low=-4000, high=4000)]
    high_ft: Annotated[float, Real("upper end of its interval, feet", low=-4000, high=4000)]
    confidence_percent: Annotated[
        float, Real("probability with which the interval holds it, per cent", low=50, high=100)
    ] = 99.0
    reference: Annotated[str | None, Text("file or document used", longest=200)] = None
    remarks: Annotated[str | None, Text("remarks")] = None

    def check(self) -> None:
        """Refuse ends out of order."""
        if not self.low_ft <= self.error_ft <= self.high_ft:
            raise FieldError("low_ft", "estimate and ends of the interval are out of order")
        if not self.first_on <= self.last_on <= self.estimated_on:
            raise FieldError("first_on", "first flight, last flight and estimate are out of order")
