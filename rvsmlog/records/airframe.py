"""One airframe: its particulars, the equipment fitted, and the work that touches altimetry."""

from datetime import date, datetime
from typing import Annotated

from rvsmlog.frozen import dataclass
from rvsmlog.records.base import FieldError, Logbook, Record, record
from rvsmlog.records.fields import Choice, Real, Text, Whole, Words
from rvsmlog.records.trade_fields import Day, EntryNumber, Instant, Level, LevelTable
from rvsmlog.standards.authorities import AUTHORITIES
from rvsmlog.standards.equipment import Function

#: Work after which altimetry must be tested or compared afresh.
ALTIMETRY_WORK = (
    "static-system-opened",
    "altimeter",
    "air-data-computer",
    "static-port-area",
    "altitude-reporting",
)
POSITION = Text(
    "position; 1 or 2 for the two altimetry systems, else as the manual names it",
    longest=24,
    pattern=r"[A-Za-z0-9][A-Za-z0-9 .\-]*",
    example="1",
)


@record("airframe", Logbook.AIRFRAME, title="airframe particulars")
@dataclass(frozen=True, slots=True, kw_only=True)
class Airframe(Record):
    """What an airframe is now; a change of any particular is a new entry."""

    registration: Annotated[
        str,
        Text(
            "registration marks",
            longest=12,
            pattern=r"[A-Z0-9]+(-[A-Z0-9]+)?",
            example="QX-ABC",
            upper=True,
        ),
    ]
    type_designator: Annotated[
        str,
        Text(
            "ICAO type designator", longest=4, pattern="[A-Z0-9]{2,4}", example="VK71", upper=True
        ),
    ]
    serial_number: Annotated[
        str,
        Text(
            "airframe serial number",
            longest=30,
            pattern=r"[A-Z0-9][A-Z0-9./\-]*",
            example="1007",
            upper=True,
        ),
    ]
    authority: Annotated[
        str,
        Choice(
            "authority and operating rules that apply; of complex aeroplanes in Europe flown "
            "non-commercially (Part-NCC: jets, turboprops above 5,700 kg) none is known",
            words=tuple(AUTHORITIES),
        ),
    ]
    rvsm_basis: Annotated[
        str, Choice("RVSM airworthiness: group or non-group aircraft", words=("group", "non-group"))
    ]
    type_certificate: Annotated[
        str,
        Choice(
            "application for the type certificate: up to 9 April 1997, or after it",
            words=("to-1997-04-09", "after-1997-04-09"),
        ),
    ]
    highest_level: Annotated[int, Level("highest certificated flight level")]
    icao_address: Annotated[
        str | None,
        Text(
            "ICAO 24-bit aircraft address, six hexadecimal digits",
            longest=6,
            pattern="[0-9A-F]{6}",
            example="00A1F3",
            upper=True,
        ),
    ] = None
    max_differential_psi: Annotated[
        float | None, Real("maximum cabin differential pressure, psi", low=0.5, high=12)
    ] = None
    altimeter_resolution_ft: Annotated[
        int | None, Whole("resolution of the primary altimeters as read, feet", low=1, high=100)
    ] = None
    primary_tolerance: Annotated[
        tuple[tuple[int, int], ...] | None,
        LevelTable("the manual's tolerance primary/primary in feet by level", low=20, high=200),
    ] = None
    standby_tolerance: Annotated[
        tuple[tuple[int, int], ...] | None,
        LevelTable("the manual's tolerance primary/standby in feet by level", low=20, high=2000),
    ] = None
    ground_tolerance_ft: Annotated[
        int | None,
        Whole("the manual's tolerance altimeter/known elevation, feet", low=10, high=75),
    ] = None
    static_test_months: Annotated[
        int | None,
        Whole("maintenance programme's interval of altimeter and static tests", low=1, high=24),
    ] = None
    altimeter_scale_limit: Annotated[
        tuple[tuple[int, int], ...] | None,
        LevelTable(
            "greatest altimeter scale error by level, feet, as the RVSM data package states it",
            low=5,
            high=300,
        ),
    ] = None
    transponder_feed: Annotated[
        str | None,
        Choice(
            "what gives the transponder its altitude",
            words=("primary-1", "primary-2", "own-source"),
        ),
    ] = None
    remarks: Annotated[str | None, Text("remarks")] = None


@record("equipment", Logbook.AIRFRAME, title="equipment fitted", happened="fitted_on")
@dataclass(frozen=True, slots=True, kw_only=True)
class Equipment(Record):
    """A unit fitted to the airframe."""

    function: Annotated[str, Choice("what it does", words=tuple(Function))]
    fitted_on: Annotated[date, Day("day on which it was fitted")]
    position: Annotated[str | None, POSITION] = None
    part_number: Annotated[str | None, Text("part number", longest=60)] = None
    serial_number: Annotated[str | None, Text("serial number of the unit", longest=60)] = None
    version: Annotated[
        str | None,
        Text(
            "software version or standard met: 7.1 for ACAS II, TSO-C166b for ADS-B Out",
            longest=60,
        ),
    ] = None
    reference: Annotated[str | None, Text("release or work-order reference", longest=120)] = None
    remarks: Annotated[str | None, Text("remarks")] = None


@record("removal", Logbook.AIRFRAME, title="equipment removed", happened="removed_on")
@dataclass(frozen=True, slots=True, kw_only=True)
class Removal(Record):
    """A fitted unit taken out."""

    equipment: Annotated[
        int, EntryNumber("the entry that fitted it", kinds=("equipment",), once=True)
    ]
    removed_on: Annotated[date, Day("day on which it was removed")]
    cause: Annotated[str | None, Text("why it was removed")] = None
    reference: Annotated[str | None, Text("release or work-order reference", longest=120)] = None
    remarks: Annotated[str | None, Text("remarks")] = None


@record("swap", Logbook.AIRFRAME, title="units swapped", happened="swapped_at")
@dataclass(frozen=True, slots=True, kw_only=True)
class Swap(Record):
    """Two units of one function that changed places, as a step of finding a fault."""

    unit: Annotated[int, EntryNumber("the entry that fitted one unit", kinds=("equipment",))]
    other: Annotated[int, EntryNumber("the entry that fitted the other", kinds=("equipment",))]
    swapped_at: Annotated[datetime, Instant("when they changed places")]
    cause: Annotated[str, Text("why: the fault looked for, and what the swap is to show")]
    done_by: Annotated[str | None, Text("who did it", longest=120)] = None
    licence: Annotated[str | None, Text("licence or certificate number and kind", longest=120)] = (
        None
    )
    reference: Annotated[str | None, Text("release reference", longest=120)] = None
    remarks: Annotated[str | None, Text("remarks")] = None

    def check(self) -> None:
        """Refuse a unit that changes places with itself."""
        if self.unit == self.other:
            raise FieldError("other", "is the same unit", "name the other unit's entry")


@record("work", Logbook.AIRFRAME, title="maintenance work on altimetry", happened="done_on")
@dataclass(frozen=True, slots=True, kw_only=True)
class Work(Record):
    """Maintenance that opens or disturbs the altimetry system."""

    work: Annotated[tuple[str, ...], Words("what was touched", words=ALTIMETRY_WORK)]
    done_on: Annotated[date, Day("day on which it was done")]
    description: Annotated[str, Text("what was done")]
    position: Annotated[str | None, POSITION] = None
    done_by: Annotated[str | None, Text("who did it", longest=120)] = None
    licence: Annotated[str | None, Text("licence or certificate number and kind", longest=120)] = (
        None
    )
    reference: Annotated[str | None, Text("release reference", longest=120)] = None
    remarks: Annotated[str | None, Text("remarks")] = None


def tolerance_at(table: tuple[tuple[int, int], ...], level: int) -> int:
    """Give a table's tolerance at a level: the tighter of the two rows that enclose it.

    Parameters
    ----------
    table : tuple of (level, feet)
        Rows with rising levels.
    level : int
        Flight level.

    Returns
    -------
    int
        Feet. Above the highest row and below the lowest the nearest row holds.
    """
    if not table:
        raise FieldError("tolerance table", "has no rows")
    below = [feet for row, feet in table if row <= level]
    above = [feet for row, feet in table if row >= level]
    return min(part for part in (below[-1:] + above[:1]))
