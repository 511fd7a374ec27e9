"""The catalogue of record kinds: one literal tuple, in the order in which a log grows."""

from collections.abc import Mapping
from types import MappingProxyType

from rvsmlog.errors import InputError
from rvsmlog.records.airframe import Airframe, Equipment, Removal, Swap, Work
from rvsmlog.records.base import RecordKind
from rvsmlog.records.checks import GoNoGo
from rvsmlog.records.defects import (
    AltimetryFault,
    Defect,
    Deferral,
    Extension,
    Rectification,
    Review,
)
from rvsmlog.records.flights import Closure, CrossCheck, Deviation, Flight
from rvsmlog.records.operator import Knowledge, Operator, Pilot
from rvsmlog.records.oxygen import OxygenInstallation, OxygenReading
from rvsmlog.records.papers import Approval, Monitoring, Test, Withdrawal
from rvsmlog.records.people import AirframeClock, OperatorClock, Person, Refusal
from rvsmlog.records.readings import Readings
from rvsmlog.records.routes import RouteProfile
from rvsmlog.records.static_errors import StaticError

KINDS: tuple[RecordKind, ...] = (
    Operator.kind,
    Person.kind,
    Refusal.kind,
    OperatorClock.kind,
    Pilot.kind,
    Knowledge.kind,
    RouteProfile.kind,
    Airframe.kind,
    AirframeClock.kind,
    Equipment.kind,
    Removal.kind,
    Swap.kind,
    Work.kind,
    OxygenInstallation.kind,
    OxygenReading.kind,
    Defect.kind,
    AltimetryFault.kind,
    Deferral.kind,
    Extension.kind,
    Rectification.kind,
    Review.kind,
    Approval.kind,
    Withdrawal.kind,
    Test.kind,
    Readings.kind,
    Monitoring.kind,
    StaticError.kind,
    Flight.kind,
    CrossCheck.kind,
    Deviation.kind,
    Closure.kind,
    GoNoGo.kind,
)

KIND: Mapping[str, RecordKind] = MappingProxyType({kind.name: kind for kind in KINDS})

#: Kinds whose newest entry takes the place of all that an earlier one of the same name said, and
#: the field that names it.
PARTICULARS: Mapping[str, str] = MappingProxyType(
    {"airframe": "", "operator": "", "oxygen-installation": "system", "route-profile": "name"}
)


#: Kinds whose title takes no article: several things, or what was done.
_NO_ARTICLE = frozenset(
    {
        *("operator", "airframe", "knowledge", "equipment", "removal", "swap", "work"),
        *("oxygen-installation", "test-readings"),
    }
)


def called(kind: RecordKind) -> str:
    """Give what the trade calls a kind, with its article, as in ``an altimeter cross-check``."""
    if kind.name in _NO_ARTICLE:
        return kind.title
    return f"{'an' if kind.title[0] in 'aeiou' else 'a'} {kind.title}"


def kind(name: str) -> RecordKind:
    """Give the record kind of a name.

    Raises
    ------
    InputError
        When there is no such kind.
    """
    found = KIND.get(name) if isinstance(name, str) else None
    if found is None:
        raise InputError(f"{name!r} is no kind of record", "kinds: " + ", ".join(KIND))
    return found
