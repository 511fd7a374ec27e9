"""Defects and what becomes of them: deferral, extension, rectification, review."""

from datetime import date, datetime
from typing import Annotated

from rvsmlog.frozen import dataclass
from rvsmlog.records.airframe import ALTIMETRY_WORK, POSITION
from rvsmlog.records.base import FieldError, Logbook, Record, record
from rvsmlog.records.fields import Choice, Flag, Real, Text, Whole, Words
from rvsmlog.records.trade_fields import Day, EntryNumber, Instant, Level
from rvsmlog.standards.equipment import Function
from rvsmlog.standards.repair_intervals import Category

#: The kinds of entry that open a defect.
DEFECT_KINDS = ("defect", "altimetry-fault")
_DEFECT = EntryNumber("the entry that reported the defect", kinds=DEFECT_KINDS, once=True)
_INDICATED = {"low": -2000, "high": 60000}


@record("defect", Logbook.AIRFRAME, title="defect", happened="found_at")
@dataclass(frozen=True, slots=True, kw_only=True)
class Defect(Record):
    """Something found wrong with the airframe."""

    found_at: Annotated[datetime, Instant("when it was found")]
    function: Annotated[str, Choice("which function is affected", words=tuple(Function))]
    description: Annotated[str, Text("what is wrong")]
    position: Annotated[str | None, POSITION] = None
    reported_by: Annotated[str | None, Text("who reported it", longest=120)] = None
    remarks: Annotated[str | None, Text("remarks")] = None


@record("altimetry-fault", Logbook.AIRFRAME, title="altimetry fault report", happened="found_at")
@dataclass(frozen=True, slots=True, kw_only=True)
class AltimetryFault(Record):
    """A fault of the altimetry system, with what helps to find its cause.

    The fields are those that the UK/EU acceptable means of compliance to SPA.RVSM.105 ask for in
    the technical log after a flight with an altimetry fault.
    """

    found_at: Annotated[datetime, Instant("when it was noticed")]
    description: Annotated[str, Text("what was noticed")]
    level: Annotated[int | None, Level("cleared flight level at the time")] = None
    primary_1_ft: Annotated[int | None, Whole("primary altimeter 1, feet", **_INDICATED)] = None
    primary_2_ft: Annotated[int | None, Whole("primary altimeter 2, feet", **_INDICATED)] = None
    standby_ft: Annotated[int | None, Whole("standby altimeter, feet", **_INDICATED)] = None
    selected_altitude_ft: Annotated[
        int | None, Whole("altitude selector setting, feet", **_INDICATED)
    ] = None
    subscale_1_hpa: Annotated[
        float | None, Real("sub-scale setting of altimeter 1, hPa", low=870, high=1085)
    ] = None
    subscale_2_hpa: Annotated[
        float | None, Real("sub-scale setting of altimeter 2, hPa", low=870, high=1085)
    ] = None
    autopilot: Annotated[
        str | None, Text("autopilot in use, and what changing it showed", longest=400)
    ] = None
    alternate_static_1_ft: Annotated[
        int | None, Whole("altimeter 1 on alternate static, feet", **_INDICATED)
    ] = None
    alternate_static_2_ft: Annotated[
        int | None, Whole("altimeter 2 on alternate static, feet", **_INDICATED)
    ] = None
    air_data_selector: Annotated[
        str | None, Text("how the air data selector was used to find the fault", longest=400)
    ] = None
    transponder: Annotated[
        str | None, Text("transponder selected, and what changing it showed", longest=400)
    ] = None
    reported_by: Annotated[str | None, Text("who reported it", longest=120)] = None
    remarks: Annotated[str | None, Text("remarks")] = None


@record("deferral", Logbook.AIRFRAME, title="deferral", happened="deferred_on")
@dataclass(frozen=True, slots=True, kw_only=True)
class Deferral(Record):
    """A defect carried under the minimum equipment list."""

    defect: Annotated[int, _DEFECT]
    category: Annotated[str, Choice("repair category", words=tuple(Category))]
    mel_reference: Annotated[str, Text("item of the minimum equipment list", longest=60)]
    deferred_on: Annotated[date, Day("day on which it was deferred")]
    discovered_on: Annotated[
        date | None, Day("day of discovery, when other than that of the defect's entry")
    ] = None
    due_on: Annotated[date | None, Day("last day, for category A as the item states it")] = None
    limitation: Annotated[str | None, Text("operational limitation, as the item states it")] = None
    highest_level: Annotated[
        int | None, Level("highest flight level while deferred, where the item sets one")
    ] = None
    max_differential_psi: Annotated[
        float | None,
        Real("greatest cabin differential while deferred, psi", low=0, high=12),
    ] = None
    deferred_by: Annotated[str | None, Text("who deferred it", longest=120)] = None
    licence: Annotated[str | None, Text("licence or certificate number and kind", longest=120)] = (
        None
    )
    remarks: Annotated[str | None, Text("remarks")] = None

    def check(self) -> None:
        """Ask for the stated day in category A, and refuse days that contradict each other."""
        if self.category == "A" and self.due_on is None:
            raise FieldError("due_on", "is missing", "category A lasts as the item states: give it")
        if self.category != "A" and self.due_on is not None:
            raise FieldError("due_on", "is only for category A", "B, C and D are counted")
        start = self.discovered_on or self.deferred_on
        if start > self.deferred_on:
            raise FieldError("discovered_on", "lies after the day of deferral")
        if self.due_on is not None and self.due_on < start:
            raise FieldError("due_on", "lies before the day of discovery")


@record("extension", Logbook.AIRFRAME, title="extension of a deferral", happened="granted_on")
@dataclass(frozen=True, slots=True, kw_only=True)
class Extension(Record):
    """More days for a deferral, as the authority's rules allow once."""

    deferral: Annotated[int, EntryNumber("the deferral's entry", kinds=("deferral",))]
    days: Annotated[int, Whole("days added to the interval", low=1, high=120)]
    granted_on: Annotated[date, Day("day on which it was granted")]
    granted_by: Annotated[str, Text("who granted it", longest=120)]
    reference: Annotated[str | None, Text("approval reference", longest=120)] = None
    remarks: Annotated[str | None, Text("remarks")] = None


@record("rectification", Logbook.AIRFRAME, title="rectification", happened="done_at")
@dataclass(frozen=True, slots=True, kw_only=True)
class Rectification(Record):
    """The work that closes a defect, and its release."""

    defect: Annotated[int, _DEFECT]
    done_at: Annotated[datetime, Instant("when the work was released")]
    work_done: Annotated[str, Text("what was done")]
    released_by: Annotated[str, Text("who released it", longest=120)]
    licence: Annotated[str, Text("licence or certificate number and kind", longest=120)]
    reference: Annotated[str, Text("release reference", longest=120)]
    touched: Annotated[
        tuple[str, ...] | None,
        Words("what of the altimetry system the work touched", words=ALTIMETRY_WORK),
    ] = None
    remarks: Annotated[str | None, Text("remarks")] = None


@record("review", Logbook.AIRFRAME, title="maintenance controller's review", happened="reviewed_at")
@dataclass(frozen=True, slots=True, kw_only=True)
class Review(Record):
    """The maintenance controller looked at an entry and says what follows."""

    subject: Annotated[int, EntryNumber("the entry reviewed")]
    reviewed_at: Annotated[datetime, Instant("when")]
    conclusion: Annotated[str, Text("what was concluded, and why")]
    accepted: Annotated[
        bool, Flag("whether the finding may stand without limiting the level until new evidence")
    ] = False
    remarks: Annotated[str | None, Text("remarks")] = None
