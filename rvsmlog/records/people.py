"""Who may record what: the operator's list of people, and what was refused by it.

As long as nobody stands on the list, everybody may record everything. The list guards against an
honest person's mistake; what else guards a store is a matter of the database (see README.md).
"""

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType
from typing import Annotated

from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Logbook, Record, record
from rvsmlog.records.fields import Text, Words
from rvsmlog.records.trade_fields import Day

CREW, CONTROLLER, RELEASER = ROLES = ("crew", "controller", "releaser")
#: What is not a kind of record, but may be allowed or not: taking logbooks in from a file.
TRANSFER = "transfer"

_OFFICE = (CONTROLLER,)
_LINE = (CREW, CONTROLLER)
_SHOP = (CONTROLLER, RELEASER)

#: Which of the roles may record each kind, and correct it or strike it out. Common practice, no
#: source: the crew enters what the flight shows, whoever signs a release enters releases and the
#: work and tests that they rest on, and the maintenance controller everything but releases.
MAY_RECORD: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "operator": _OFFICE,
        "person": _OFFICE,
        "refusal": ROLES,
        "operator-clock": _OFFICE,
        "pilot": _OFFICE,
        "knowledge": _OFFICE,
        "route-profile": _LINE,
        "airframe": _OFFICE,
        "airframe-clock": _OFFICE,
        "equipment": _SHOP,
        "removal": _SHOP,
        "swap": _SHOP,
        "work": _SHOP,
        "oxygen-installation": _SHOP,
        "oxygen-reading": ROLES,
        "defect": ROLES,
        "altimetry-fault": ROLES,
        "deferral": _SHOP,
        "extension": _OFFICE,
        "rectification": (RELEASER,),
        "review": _OFFICE,
        "approval": _OFFICE,
        "withdrawal": _OFFICE,
        "test": _SHOP,
        "test-readings": _SHOP,
        "monitoring": _OFFICE,
        "static-error": _OFFICE,
        "flight": _LINE,
        "crosscheck": _LINE,
        "deviation": _LINE,
        "closure": _OFFICE,
        "gonogo": _LINE,
        TRANSFER: _OFFICE,
    }
)
#: What holds a level down for as long as it stands: of somebody else's the crew, who may not
#: release, corrects none and strikes none out. Common practice, no source.
CREW_OWN = ("defect", "altimetry-fault", "crosscheck", "deviation")
#: What stays as it is: no correction of it is taken, and it is never struck out.
LASTING = ("refusal", "operator-clock", "airframe-clock")


@record("person", Logbook.OPERATOR, title="person who may record")
@dataclass(frozen=True, slots=True, kw_only=True)
class Person(Record):
    """One person of the operator's list, and what that person may record."""

    name: Annotated[str, Text("the name as given to --by", longest=80)]
    may: Annotated[tuple[str, ...], Words("what the person records as", words=ROLES)]
    valid_until: Annotated[date | None, Day("last day on which the person may record")] = None
    database_role: Annotated[
        str | None,
        Text(
            "the person's own login on a PostgreSQL server",
            longest=63,
            pattern=r"[a-z_][a-z0-9_]*",
            example="ivorrand",
        ),
    ] = None
    remarks: Annotated[str | None, Text("remarks")] = None


@record("refusal", Logbook.OPERATOR, title="recording that was refused")
@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal(Record):
    """What somebody tried to record and may not."""

    name: Annotated[str, Text("the name that was given", longest=80)]
    wanted: Annotated[str, Text("what was to be recorded", longest=60)]
    why: Annotated[str, Text("why it was refused")]
    logbook: Annotated[str | None, Text("the logbook in which it was to stand", longest=120)] = None


@record("operator-clock", Logbook.OPERATOR, title="correction of the clock")
@dataclass(frozen=True, slots=True, kw_only=True)
class OperatorClock(Record):
    """The clock had run ahead: this entry and those after it bear the right time again."""

    cause: Annotated[str, Text("why the clock was wrong")]


@record("airframe-clock", Logbook.AIRFRAME, title="correction of the clock")
@dataclass(frozen=True, slots=True, kw_only=True)
class AirframeClock(Record):
    """The same in the logbook of an airframe."""

    cause: Annotated[str, Text("why the clock was wrong")]


#: Kinds of entry at which the time of a logbook may step back.
CLOCKS: Mapping[str, type[OperatorClock | AirframeClock]] = MappingProxyType(
    {Logbook.OPERATOR: OperatorClock, Logbook.AIRFRAME: AirframeClock}
)
CLOCK_KINDS = ("operator-clock", "airframe-clock")
