"""Approvals, tests and height monitoring: what an inspector asks for first."""

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType
from typing import Annotated

from rvsmlog.frozen import dataclass
from rvsmlog.records.base import FieldError, Logbook, Record, record
from rvsmlog.records.fields import Choice, Flag, Real, Text, Whole, Words
from rvsmlog.records.trade_fields import Day, EntryNumber
from rvsmlog.standards.regions import REGIONS

#: What an approval is for. ``rvsm-ads-b`` is the route that rests on ADS-B Out and monitoring.
APPROVALS = ("rvsm", "rvsm-ads-b", "mel")
REGION_CODES = tuple(REGIONS)
#: What the trade calls each test.
TEST_TITLES: Mapping[str, str] = MappingProxyType(
    {
        "altimeter-static": "altimeter and static test",
        "transponder": "transponder test",
        "leak-check": "leak check of the static system",
        "correspondence": "correspondence test of the altitude reported",
    }
)
TESTS = tuple(TEST_TITLES)


@record("approval", Logbook.AIRFRAME, title="approval")
@dataclass(frozen=True, slots=True, kw_only=True)
class Approval(Record):
    """An approval, or the ADS-B based authority that stands in for one."""

    approval: Annotated[str, Choice("what it is for", words=APPROVALS)]
    registration: Annotated[
        str,
        Text("registration it names", longest=12, pattern=r"[A-Z0-9]+(-[A-Z0-9]+)?", upper=True),
    ]
    holder: Annotated[str, Text("the operator to whom it was issued", longest=120)]
    issued_on: Annotated[date, Day("first day on which it counts")]
    reference: Annotated[str | None, Text("its number or reference", longest=120)] = None
    issued_by: Annotated[str | None, Text("who issued it", longest=120)] = None
    regions: Annotated[
        tuple[str, ...] | None,
        Words("regions it covers (ALL for every region)", words=REGION_CODES),
    ] = None
    expires_on: Annotated[date | None, Day("last day on which it counts, where one is set")] = None
    remarks: Annotated[str | None, Text("remarks")] = None

    def check(self) -> None:
        """Ask an RVSM approval for its regions, and refuse an expiry before the issue."""
        if self.expires_on is not None and self.expires_on < self.issued_on:
            raise FieldError("expires_on", "lies before the day of issue")
        if self.approval != "mel" and self.regions is None:
            raise FieldError("regions", "is missing", "name the regions, or ALL")


@record("withdrawal", Logbook.AIRFRAME, title="withdrawal of an approval", happened="withdrawn_on")
@dataclass(frozen=True, slots=True, kw_only=True)
class Withdrawal(Record):
    """An approval taken away or given back."""

    approval: Annotated[int, EntryNumber("the approval's entry", kinds=("approval",), once=True)]
    withdrawn_on: Annotated[date, Day("first day on which it no longer counts")]
    cause: Annotated[str, Text("why, and by whom")]
    remarks: Annotated[str | None, Text("remarks")] = None


@record("test", Logbook.AIRFRAME, title="altimeter, static or transponder test", happened="done_on")
@dataclass(frozen=True, slots=True, kw_only=True)
class Test(Record):
    """A bench or ramp test."""

    test: Annotated[str, Choice("which test", words=TESTS)]
    done_on: Annotated[date, Day("day of the test")]
    passed: Annotated[bool, Flag("whether it was passed")]
    position: Annotated[
        str,
        Choice("altimetry system tested, or all of them", words=("all", "1", "2", "standby")),
    ] = "all"
    tested_altitude_ft: Annotated[
        int | None, Whole("highest pressure altitude tested, feet", low=1000, high=60000)
    ] = None
    correspondence_ft: Annotated[
        int | None,
        Whole("transponder altitude minus altimeter on 1013.25 hPa, feet", low=-5000, high=5000),
    ] = None
    leak_ft: Annotated[
        int | None, Whole("altitude lost in one minute of the leak check, feet", low=0, high=20000)
    ] = None
    unit_serial: Annotated[str | None, Text("serial number of the unit tested", longest=60)] = None
    done_by: Annotated[str | None, Text("who tested", longest=120)] = None
    licence: Annotated[str | None, Text("licence or certificate number and kind", longest=120)] = (
        None
    )
    reference: Annotated[str | None, Text("record reference", longest=120)] = None
    remarks: Annotated[str | None, Text("remarks")] = None

    @property
    def title(self) -> str:
        """Which test it is."""
        return TEST_TITLES[self.test]

    def check(self) -> None:
        """Ask an altimeter test for the altitude tested: it caps the flight."""
        if self.test == "altimeter-static" and self.tested_altitude_ft is None:
            raise FieldError(
                "tested_altitude_ft", "is missing", "flight above the tested altitude is barred"
            )


@record("monitoring", Logbook.AIRFRAME, title="height monitoring result", happened="measured_on")
@dataclass(frozen=True, slots=True, kw_only=True)
class Monitoring(Record):
    """What a height-monitoring system measured."""

    measured_on: Annotated[date, Day("day of the measurement")]
    method: Annotated[
        str, Choice("how it was measured", words=("ground-station", "gps-unit", "ads-b"))
    ]
    ase_ft: Annotated[
        int, Whole("altimetry system error, feet; positive when higher", low=-2000, high=2000)
    ]
    tve_ft: Annotated[
        int | None,
        Whole("total vertical error, feet; positive when higher", low=-5000, high=5000),
    ] = None
    measured_by: Annotated[str | None, Text("monitoring agency or centre", longest=120)] = None
    airframe_hours: Annotated[
        float | None, Real("total airframe hours at the measurement", low=0, high=200000)
    ] = None
    reference: Annotated[str | None, Text("result reference", longest=120)] = None
    remarks: Annotated[str | None, Text("remarks")] = None
