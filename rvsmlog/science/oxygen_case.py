"""The flight for which oxygen is counted, and the answer in litres.

All litres are NTPD (70 F, 760 mmHg, dry).
"""

import math
from enum import StrEnum

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.frozen import dataclass
from rvsmlog.science.oxygen_flow import FlowBasis, FlowCurve, FlowTable, Mode
from rvsmlog.standards.oxygen import OxygenRule, oxygen_rule
from rvsmlog.standards.oxygen_figures import CREW_LEAVES_OXYGEN_FT
from rvsmlog.standards.source import Source
from rvsmlog.units import HIGHEST_LEVEL, level_to_feet, show_level

#: What the phase is called in which one pilot wears a mask because the rule says so.
WORN_PHASE = "mask worn by one pilot"
_MOST_PEOPLE = 1_000
_MOST_MINUTES = 24 * 60.0


class CaseName(StrEnum):
    """The cases that a supply must cover, each by itself."""

    LEGAL = "legal minimum"
    DESCENT = "loss of pressure"
    CONTAMINATED = "contaminated air"


@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenCase:
    """What a flight needs oxygen for.

    Parameters
    ----------
    planned_level : int
        Flight level.
    crew, passengers : int
        People; the crew are those who fly.
    rule : str
        Key of the authority's oxygen rule, for example ``us-91``.
    ceiling_ft : int
        Greatest certificated altitude, feet.
    differential_psi : float
        Greatest differential that the cabin holds today, psi.
    cruise_minutes : float
        Minutes at the planned level.
    recognition_minutes : float
        From loss of pressure to the start of the emergency descent, at the planned level.
    descent_fpm, final_descent_fpm : float
        Rate of the emergency descent, and of the descent from the hold, feet a minute.
    hold_ft : int
        Altitude below which terrain, sea or fuel forbids going at once; 10,000 or lower: none.
    hold_minutes : float
        How long.
    contaminated_minutes : float
        Minutes on oxygen for the crew in contaminated air; 0: the case is not asked.
    crew_mode, crew_hold_mode : Mode
        Regulator until the hold, and from there on (and in normal flight).
    passenger_mode : Mode
        Passengers' masks.
    contaminated_mode : Mode
        Crew's regulator in contaminated air.
    flow_table : FlowTable or None
        The equipment's own flows.
    worn_above : int or None
        Flight level above which one pilot wears a mask; None: nobody does.

    Raises
    ------
    InputError
        When a figure makes no sense; OutOfRangeError when it is out of range.
    """

    planned_level: int
    crew: int
    passengers: int
    rule: str
    ceiling_ft: int
    differential_psi: float
    cruise_minutes: float
    recognition_minutes: float
    descent_fpm: float
    hold_ft: int
    hold_minutes: float
    final_descent_fpm: float
    contaminated_minutes: float
    crew_mode: Mode = Mode.UNDILUTED
    crew_hold_mode: Mode = Mode.NORMAL
    passenger_mode: Mode = Mode.CONTINUOUS
    contaminated_mode: Mode = Mode.UNDILUTED
    flow_table: FlowTable | None = None
    worn_above: int | None = None

    def __post_init__(self) -> None:
        """Refuse a flight that cannot be."""
        oxygen_rule(self.rule)
        _in_range("planned level", self.planned_level, 1, HIGHEST_LEVEL, "")
        _in_range("crew", self.crew, 1, _MOST_PEOPLE, "people")
        _in_range("passengers", self.passengers, 0, _MOST_PEOPLE, "people")
        for name in ("cruise", "recognition", "hold", "contaminated"):
            _in_range(f"{name} time", getattr(self, f"{name}_minutes"), 0, _MOST_MINUTES, "min")
        _in_range("rate of the emergency descent", self.descent_fpm, 100, 20_000, "ft/min")
        _in_range("rate of the final descent", self.final_descent_fpm, 100, 20_000, "ft/min")
        if self.planned_ft > self.ceiling_ft:
            raise InputError(
                f"{show_level(self.planned_level)} is above the greatest certificated altitude, "
                f"{self.ceiling_ft:,} ft",
                "plan a lower level",
            )
        if self.planned_ft < self.hold_ft == self.hold_bottom_ft:
            raise InputError(
                f"{show_level(self.planned_level)} is below the altitude that the flight may not "
                f"leave, {self.hold_ft:,} ft",
                "plan a higher level, or another route",
            )

    @property
    def planned_ft(self) -> int:
        """Planned pressure altitude, feet."""
        return level_to_feet(self.planned_level)

    @property
    def mask_worn(self) -> bool:
        """Whether one pilot wears a mask at the planned level."""
        return self.worn_above is not None and self.planned_level > self.worn_above

    @property
    def hold_bottom_ft(self) -> int:
        """Altitude at which the emergency descent ends: the hold, or where masks come off."""
        return max(self.hold_ft, CREW_LEAVES_OXYGEN_FT.value)

    @property
    def oxygen_rule(self) -> OxygenRule:
        """The authority's rule."""
        return oxygen_rule(self.rule)


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseNeed:
    """Oxygen for one phase.

    Parameters
    ----------
    phase : str
        What happens.
    minutes : float
        How long it lasts.
    from_ft, to_ft : float
        Cabin altitude at its start and end.
    crew_litres, passenger_litres : float
        Litres NTPD.
    """

    phase: str
    minutes: float
    from_ft: float
    to_ft: float
    crew_litres: float
    passenger_litres: float

    @property
    def litres(self) -> float:
        """Litres of everyone."""
        return self.crew_litres + self.passenger_litres


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseNeed:
    """Oxygen for one case, phase by phase.

    Parameters
    ----------
    name : CaseName
        Which case.
    phases : tuple of PhaseNeed
        In order.
    """

    name: CaseName
    phases: tuple[PhaseNeed, ...]

    @property
    def crew_litres(self) -> float:
        """Litres of the crew."""
        return sum(phase.crew_litres for phase in self.phases)

    @property
    def passenger_litres(self) -> float:
        """Litres of the passengers."""
        return sum(phase.passenger_litres for phase in self.phases)

    @property
    def litres(self) -> float:
        """Litres of everyone."""
        return self.crew_litres + self.passenger_litres

    @property
    def worn(self) -> PhaseNeed | None:
        """The mask worn by one pilot before the emergency; None where nobody wears one."""
        return next((phase for phase in self.phases if phase.phase == WORN_PHASE), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenNeed:
    """Oxygen that a flight needs: each case, and what the figures rest on.

    Parameters
    ----------
    planned_level : int
        Flight level.
    cabin_ft : float
        Cabin altitude at that level with the day's differential.
    cases : tuple of CaseNeed
        Legal minimum, loss of pressure, contaminated air.
    flows : tuple of FlowCurve
        Flows counted with.
    assumptions : tuple of str
        What was assumed, in words.
    sources : tuple of Source
        Where the figures stand.
    """

    planned_level: int
    cabin_ft: float
    cases: tuple[CaseNeed, ...]
    flows: tuple[FlowCurve, ...]
    assumptions: tuple[str, ...]
    sources: tuple[Source, ...]

    @property
    def largest(self) -> CaseNeed:
        """The case that needs most."""
        return max(self.cases, key=lambda case: case.litres)

    @property
    def litres(self) -> float:
        """Litres of the case that needs most."""
        return self.largest.litres

    @property
    def may_be_too_low(self) -> bool:
        """Whether a flow is only the rule's least, so that the equipment may take more."""
        return any(flow.basis is FlowBasis.MINIMUM for flow in self.flows)


def _in_range(what: str, value: float, low: float, high: float, unit: str) -> None:
    """Refuse a value out of range; ``nan`` lies in none."""
    if not (math.isfinite(value) and low <= value <= high):
        raise OutOfRangeError(
            f"{what} {value:g} {unit}".rstrip() + " is out of range",
            f"the range is {low:,g} to {high:,g} {unit}".rstrip(),
        )
