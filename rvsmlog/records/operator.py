"""The operator's logbook: who operates, who flies, and what each pilot knows of RVSM."""

from datetime import date
from typing import Annotated

from rvsmlog import dates
from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import FieldError, Logbook, Record, record
from rvsmlog.records.fields import Choice, Text, Whole
from rvsmlog.records.trade_fields import Day
from rvsmlog.standards.regions import REGIONS


@record("operator", Logbook.OPERATOR, title="operator particulars")
@dataclass(frozen=True, slots=True, kw_only=True)
class Operator(Record):
    """Who operates the aeroplanes, and the operator's own limits."""

    name: Annotated[str, Text("the operator's name, as on the approvals", longest=120)]
    time_zone: Annotated[
        str, Text("IANA time zone in which calendar days count", longest=64, example="UTC")
    ]
    region: Annotated[
        str | None,
        Choice("region of most flights, taken when a check names none", words=tuple(REGIONS)),
    ] = None
    designator: Annotated[
        str | None,
        Text(
            "ICAO three-letter designator", longest=3, pattern="[A-Z]{3}", example="QXA", upper=True
        ),
    ] = None
    crosscheck_max_age_days: Annotated[
        int | None,
        Whole("days after which the newest altimeter cross-check is too old", low=1, high=90),
    ] = None
    remarks: Annotated[str | None, Text("remarks")] = None

    def check(self) -> None:
        """Refuse an unknown time zone."""
        try:
            dates.zone(self.time_zone)
        except InputError as error:
            raise FieldError("time_zone", error.message, error.hint) from None


@record("pilot", Logbook.OPERATOR, title="pilot")
@dataclass(frozen=True, slots=True, kw_only=True)
class Pilot(Record):
    """One pilot of the operator."""

    code: Annotated[
        str,
        Text(
            "short code by which flights name the pilot",
            longest=8,
            pattern="[A-Z0-9]{2,8}",
            example="MKO",
            upper=True,
        ),
    ]
    name: Annotated[str, Text("the pilot's name", longest=120)]
    licence: Annotated[str | None, Text("licence number", longest=60)] = None
    remarks: Annotated[str | None, Text("remarks")] = None


@record("knowledge", Logbook.OPERATOR, title="RVSM knowledge of a pilot", happened="completed_on")
@dataclass(frozen=True, slots=True, kw_only=True)
class Knowledge(Record):
    """Training in RVSM requirements and procedures that a pilot has completed."""

    pilot: Annotated[str, Text("the pilot's code", longest=8, upper=True)]
    completed_on: Annotated[date, Day("day on which it was completed")]
    training: Annotated[str, Choice("which training it was", words=("initial", "recurrent"))]
    valid_until: Annotated[date | None, Day("last day on which it counts, where one is set")] = None
    given_by: Annotated[str | None, Text("who gave it", longest=120)] = None
    reference: Annotated[str | None, Text("certificate or record reference", longest=120)] = None
    remarks: Annotated[str | None, Text("remarks")] = None

    def check(self) -> None:
        """Refuse training that ended before it was completed."""
        if self.valid_until is not None and self.valid_until < self.completed_on:
            raise FieldError("valid_until", "lies before the day of completion")
