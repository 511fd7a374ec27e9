"""What is left over of the oxygen: the tightest case, and what the mask worn makes of it."""

import math
from collections.abc import Iterable

from rvsmlog.errors import InputError
from rvsmlog.facts import Facts
from rvsmlog.findings import Margin
from rvsmlog.frozen import dataclass
from rvsmlog.rules.oxygen_flight import Drawn, OxygenFlight
from rvsmlog.rules.oxygen_masks import worn_above
from rvsmlog.science.oxygen import CaseNeed, Group, NoSupplyError, TooLittleError, without_worn
from rvsmlog.science.oxygen_shown import WholeLitres, tenths_up, whole_litres
from rvsmlog.units import show_level

#: What to do where a flow is not on record.
RECORD_FLOW = (
    "Record the handbook's flow, as high as the aeroplane goes, with `rvsmlog oxygen fit`; or plan "
    "the level that remains."
)
_RECORD_SUPPLY = (
    "A flow of 0 is no supply. Record with `rvsmlog oxygen fit` the flow that the mask delivers "
    "there: the mask that is worn is counted with it too; or plan the level that remains."
)


_CORRECT_FLOW = (
    "Flows are entered in millilitres a minute. Correct the table to the handbook's flow with "
    "`rvsmlog oxygen fit`; or plan the level that remains."
)


def flow_remedy(error: InputError) -> str:
    """Give what to do where a flow is not known: recorded as 0, as too little, or not at all."""
    if isinstance(error, TooLittleError):
        return _CORRECT_FLOW
    return _RECORD_SUPPLY if isinstance(error, NoSupplyError) else RECORD_FLOW


@dataclass(frozen=True, slots=True, kw_only=True)
class Tightest:
    """The case and system of which least is left over.

    Parameters
    ----------
    drawn : Drawn
        The system.
    case : CaseNeed
        The case.
    usable_litres, needed_litres, margin_litres : float
        What can be breathed, what the case draws, and what is left over.
    shown : WholeLitres
        The same in whole litres that add up.
    """

    drawn: Drawn
    case: CaseNeed
    usable_litres: float
    needed_litres: float
    margin_litres: float
    shown: WholeLitres

    @property
    def margin(self) -> Margin:
        """What is left over, in whole litres."""
        return Margin(value=self.shown.left, unit="l")

    @property
    def worn_litres(self) -> int:
        """What of the need a mask draws that is worn before the emergency, whole litres."""
        worn = self.case.worn
        if worn is None or self.shown.kept_back or Group.CREW not in self.drawn.groups:
            return 0
        return min(math.ceil(tenths_up(worn.crew_litres)), self.shown.needed)

    @property
    def says(self) -> str:
        """What of the crew's reserve is kept back, if that counts, and what is needed."""
        worn = self.case.worn
        if worn is not None and self.worn_litres:
            return (
                f"{self.shown.needed} l needed, {self.worn_litres} l of it by the mask worn for "
                f"{worn.minutes:.0f} min"
            )
        if not self.shown.kept_back:
            return f"{self.shown.needed} l needed"
        return (
            f"{self.shown.kept_back} l of it kept back for the crew, {self.shown.needed} l needed "
            "by the passengers"
        )


def tightest_of(flight: OxygenFlight, cases: Iterable[CaseNeed]) -> Tightest:
    """Find the case and system of which least is left over."""
    every = tuple(cases)
    found = [
        Tightest(
            drawn=drawn,
            case=case,
            usable_litres=drawn.supply.usable_litres,
            needed_litres=drawn.supply.litres_of(case),
            margin_litres=drawn.supply.margin_litres(case),
            shown=whole_litres(drawn.supply, case),
        )
        for drawn in flight.drawn
        if drawn.supply is not None
        for case in every
    ]
    return min(found, key=lambda each: each.margin_litres)


def worn_unknown(
    facts: Facts, flight: OxygenFlight, cases: tuple[CaseNeed, ...]
) -> tuple[str, str] | None:
    """Say why a need cannot be told that only the mask worn before it makes too great.

    Returns
    -------
    tuple of str or None
        What is not known, and what to record or give; None where nothing is missing, or not so.
    """
    if tightest_of(flight, cases).margin_litres >= 0:
        return None
    if tightest_of(flight, without_worn(cases)).margin_litres < 0:
        return None
    above = show_level(worn_above(facts))
    if facts.question.flight.cruise_minutes is None:
        return (
            f"how long the pilot's mask is worn above {above} is not said",
            "Give --cruise-minutes, the minutes at the level; or plan the level that remains.",
        )
    if not flight.worn_flow_known:
        return f"the flow of the mask worn above {above} is not on record", RECORD_FLOW
    return None
