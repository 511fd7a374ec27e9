"""What the rules read: a frozen picture of one airframe, its operator and one planned flight.

Facts are read from the store once, as known at one instant. Nothing that reads them touches the
store or the clock afterwards.
"""

from collections.abc import Mapping
from dataclasses import fields
from datetime import date, datetime
from typing import Any, Generic, TypeVar

from rvsmlog.errors import RvsmlogError
from rvsmlog.frozen import dataclass, replace
from rvsmlog.once import once
from rvsmlog.records.airframe import Airframe, Equipment, Removal, Swap, Work
from rvsmlog.records.base import Record, Ref
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
from rvsmlog.records.readings import Readings
from rvsmlog.records.static_errors import StaticError
from rvsmlog.science.drift_log import DriftLog

R_co = TypeVar("R_co", bound=Record, covariant=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Logged(Generic[R_co]):
    """A record with the entry in which it stands.

    Parameters
    ----------
    ref : Ref
        The newest entry that holds it.
    first : int
        The number of the entry first made; other when it was corrected. Other entries name
        this one.
    recorded_at : datetime
        When the newest entry was made, UTC.
    recorded_by : str
        Who made it.
    record : Record
        What it says.
    """

    ref: Ref
    first: int
    recorded_at: datetime
    recorded_by: str
    record: R_co


@dataclass(frozen=True, slots=True, kw_only=True)
class FlightData:
    """What else is said of the planned flight; None where nothing is.

    Parameters
    ----------
    route : str or None
        Name of the route profile that filled what was not said.
    track : float or None
        Magnetic track, degrees.
    split : str or None
        Tracks that take the odd levels, for example ``000-179``.
    crew, passengers : int or None
        Who fly the aeroplane, and everyone else on board.
    second_pilot : str or None
        Code of the second pilot, where two fly.
    hold_level, hold_minutes : int or None
        Level below which terrain, sea or fuel forbids going after a loss of pressure, and for
        how long.
    recognition_s : int or None
        Seconds from the loss of pressure to the start of the emergency descent.
    descent_fpm, final_descent_fpm : int or None
        Rate of the emergency descent, and of the descent from the hold, feet a minute.
    cruise_minutes : int or None
        Minutes at the planned level.
    contaminated_minutes : int or None
        Minutes on oxygen for the crew in contaminated air.
    contaminated_mode : str or None
        Position of the crew's regulators then: ``100-percent`` or ``emergency``.
    differential_psi : float or None
        Greatest cabin differential of the day, psi.
    """

    route: str | None = None
    track: float | None = None
    split: str | None = None
    crew: int | None = None
    passengers: int | None = None
    second_pilot: str | None = None
    hold_level: int | None = None
    hold_minutes: int | None = None
    recognition_s: int | None = None
    descent_fpm: int | None = None
    final_descent_fpm: int | None = None
    cruise_minutes: int | None = None
    contaminated_minutes: int | None = None
    contaminated_mode: str | None = None
    differential_psi: float | None = None

    def filled_from(self, other: "FlightData") -> "FlightData":
        """Give the data with what is not said taken from other data."""
        return replace(other, **self.said())

    def said(self) -> dict[str, Any]:
        """Give what is said, by name."""
        values = {each.name: getattr(self, each.name) for each in fields(self)}
        return {name: value for name, value in values.items() if value is not None}


#: Data of a flight of which nothing else is said.
NOTHING_SAID = FlightData()


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """The planned flight about which the check is made.

    Parameters
    ----------
    at : datetime
        The instant for which the answer holds, UTC.
    level : int or None
        Flight level planned; None asks for the highest that may be used.
    region : str or None
        Region of the flight; None takes the operator's usual one.
    pilot : str or None
        The pilot's code; None takes the operator's only pilot. A second one stands in ``flight``.
    flight : FlightData
        What else is said of the flight.
    whole_day : bool
        Whether a day is looked ahead to: the instant is its end then, no take-off.
    """

    at: datetime
    level: int | None = None
    region: str | None = None
    pilot: str | None = None
    flight: FlightData = NOTHING_SAID
    whole_day: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class DefectCase:
    """A defect and all that was recorded about it."""

    defect: Logged[Defect] | Logged[AltimetryFault]
    deferral: Logged[Deferral] | None = None
    extensions: tuple[Logged[Extension], ...] = ()
    rectification: Logged[Rectification] | None = None
    reviews: tuple[Logged[Review], ...] = ()

    @property
    def is_open(self) -> bool:
        """Whether it is not rectified; work from before it was found rectified nothing."""
        done = self.rectification
        return done is None or done.record.done_at < self.defect.record.found_at


@dataclass(frozen=True, slots=True, kw_only=True)
class ApprovalCase:
    """An approval and its withdrawal, if any.

    Parameters
    ----------
    entered_under : str or None
        Code of the authority that the particulars stated when it was first entered, those as
        corrected since; None takes the present one's.
    """

    approval: Logged[Approval]
    withdrawal: Logged[Withdrawal] | None = None
    entered_under: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """A unit's change of place when it was swapped with another."""

    swap: Logged[Swap]
    position: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class EquipmentCase:
    """A fitted unit, the changes of its place from the earliest on, and its removal, if any."""

    equipment: Logged[Equipment]
    removal: Logged[Removal] | None = None
    moves: tuple[Move, ...] = ()

    @property
    def is_fitted(self) -> bool:
        """Whether it is still fitted."""
        return self.removal is None

    @property
    def position(self) -> str | None:
        """Where it is, or was when it was removed: swaps change the position it was fitted at."""
        return self.moves[-1].position if self.moves else self.equipment.record.position


def with_swaps(
    cases: tuple[EquipmentCase, ...], swaps: tuple[Logged[Swap], ...]
) -> tuple[EquipmentCase, ...]:
    """Give units with the changes of place that swaps made.

    Parameters
    ----------
    cases : tuple of EquipmentCase
        Units without changes of place.
    swaps : tuple of Logged
        From the earliest to the latest. One that names a unit not there changes nothing.
    """
    places = {case.equipment.first: case.equipment.record.position for case in cases}
    moves: dict[int, list[Move]] = {number: [] for number in places}
    for swap in swaps:
        one, other = swap.record.unit, swap.record.other
        if one in places and other in places:
            places[one], places[other] = places[other], places[one]
            for number in (one, other):
                moves[number].append(Move(swap=swap, position=places[number]))
    return tuple(replace(case, moves=tuple(moves[case.equipment.first])) for case in cases)


@once
def _fitted(cases: tuple[EquipmentCase, ...]) -> Mapping[str, tuple[EquipmentCase, ...]]:
    """Give the units that are fitted now by what they do."""
    found: dict[str, tuple[EquipmentCase, ...]] = {}
    for case in cases:
        if case.is_fitted:
            function = case.equipment.record.function
            found[function] = (*found.get(function, ()), case)
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviationCase:
    """An altitude deviation and its closure, if any."""

    deviation: Logged[Deviation]
    closure: Logged[Closure] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Seal:
    """The newest entry known of a logbook: its number and digest (hexadecimal)."""

    logbook: str
    entry: int
    digest: str

    def __str__(self) -> str:
        return f"{self.logbook}#{self.entry}:{self.digest}"


@dataclass(frozen=True, slots=True, kw_only=True)
class NotJudged:
    """An airframe of which nothing can be said; that is never a pass.

    Parameters
    ----------
    airframe : str
        Registration.
    logbook : str
        The logbook that holds it.
    message, hint : str
        Why, and what puts it right, as a check of this airframe alone says it.
    """

    airframe: str
    logbook: str
    message: str
    hint: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """All that is known about one airframe for one planned flight.

    Records that happened after the question's instant are left out, corrected entries are given
    as corrected, and each tuple runs from the earliest to the latest.

    Parameters
    ----------
    question : Question
        The planned flight.
    time_zone : str
        The operator's time zone, UTC where no operator is on record.
    today : date
        The calendar day of the question's instant in that zone.
    crosschecks : tuple
        The newest cross-checks only; enough for the last flights.
    exceedances : tuple
        Every cross-check in flight, however old, whose primaries differ by more than the
        tightest tolerance that applies anywhere to this airframe.
    flights : tuple
        The newest flights only.
    oxygen : tuple
        Oxygen systems as fitted; of each system the last holds.
    oxygen_readings : tuple
        The newest readings only.
    reviews : tuple
        All reviews, whatever they are about.
    readings : tuple
        Readings of tests, whichever test they belong to.
    swaps : tuple
        Swaps of units; the units in ``equipment`` stand where these put them.
    closures : tuple
        All closures: of deviations, and of monitoring results beyond their limit.
    static_errors : tuple
        Estimates of the error that both altimeters share.
    drift : DriftLog or None
        What the drift detector knows, the newest flight still open; None when it was not asked.
    """

    question: Question
    time_zone: str
    today: date
    airframe: Logged[Airframe]
    operator: Logged[Operator] | None = None
    pilots: tuple[Logged[Pilot], ...] = ()
    knowledge: tuple[Logged[Knowledge], ...] = ()
    equipment: tuple[EquipmentCase, ...] = ()
    work: tuple[Logged[Work], ...] = ()
    defects: tuple[DefectCase, ...] = ()
    approvals: tuple[ApprovalCase, ...] = ()
    tests: tuple[Logged[Test], ...] = ()
    monitoring: tuple[Logged[Monitoring], ...] = ()
    flights: tuple[Logged[Flight], ...] = ()
    crosschecks: tuple[Logged[CrossCheck], ...] = ()
    exceedances: tuple[Logged[CrossCheck], ...] = ()
    deviations: tuple[DeviationCase, ...] = ()
    reviews: tuple[Logged[Review], ...] = ()
    oxygen: tuple[Logged[OxygenInstallation], ...] = ()
    oxygen_readings: tuple[Logged[OxygenReading], ...] = ()
    readings: tuple[Logged[Readings], ...] = ()
    swaps: tuple[Logged[Swap], ...] = ()
    closures: tuple[Logged[Closure], ...] = ()
    static_errors: tuple[Logged[StaticError], ...] = ()
    drift: DriftLog | None = None
    seals: tuple[Seal, ...] = ()

    @property
    def particulars(self) -> Airframe:
        """The airframe's particulars."""
        return self.airframe.record

    def not_judged(self, fault: RvsmlogError) -> NotJudged:
        """Say that nothing can be said of the airframe, for what its rules stumbled on."""
        return NotJudged(
            airframe=self.particulars.registration,
            logbook=self.airframe.ref.logbook,
            message=fault.message,
            hint=fault.hint,
        )

    @property
    def now(self) -> datetime:
        """The instant asked about."""
        return self.question.at

    @property
    def region(self) -> str | None:
        """The region of the flight: the one asked about, else the operator's usual one."""
        if self.question.region is not None:
            return self.question.region
        return self.operator.record.region if self.operator is not None else None

    def fitted(self, function: str) -> tuple[EquipmentCase, ...]:
        """Give the units of one function that are fitted now."""
        return _fitted(self.equipment).get(function, ())

    def reviews_of(self, entry: int) -> tuple[Logged[Review], ...]:
        """Give the reviews of the entry that was first made under a number."""
        return tuple(review for review in self.reviews if review.record.subject == entry)

    def readings_of(self, test: int) -> Logged[Readings] | None:
        """Give the readings of the test that was first made under a number."""
        found = [logged for logged in self.readings if logged.record.test == test]
        return found[-1] if found else None

    def closure_of(self, entry: int) -> Logged[Closure] | None:
        """Give the closure of the entry that was first made under a number."""
        found = [logged for logged in self.closures if logged.record.deviation == entry]
        return found[-1] if found else None
