"""Oxygen that a flight needs: legal minimum, loss of pressure, contaminated air.

Where a rule leaves the altitude open, the greatest flow that could apply is counted, so that a
higher level never needs less than a lower one.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import field
from functools import lru_cache

from rvsmlog.frozen import dataclass
from rvsmlog.science.cabin import cabin_altitude_ft
from rvsmlog.science.oxygen_case import CaseName, CaseNeed, OxygenCase, OxygenNeed, PhaseNeed
from rvsmlog.science.oxygen_flow import FlowBasis, FlowCurve, Mode, flow_curve
from rvsmlog.science.oxygen_worn import worn_assumptions, worn_phase
from rvsmlog.standards.oxygen import (
    QUICK_DESCENT_MINUTES,
    RESERVE_DESCENT_MINUTES,
    OxygenBand,
    OxygenReserve,
)
from rvsmlog.standards.oxygen_figures import (
    CONTAMINATED_AIR_FT,
    CREW_LEAVES_OXYGEN_FT,
    NTPD_TEMPERATURE_C,
    Group,
)
from rvsmlog.standards.source import Source


@dataclass(slots=True)
class _Flows:
    """Flows of a case, fetched when first needed and kept for the answer's list."""

    case: OxygenCase
    used: dict[tuple[Group, Mode], FlowCurve] = field(default_factory=dict)

    def of(self, group: Group, mode: Mode) -> FlowCurve:
        """Give a flow."""
        key = (group, mode)
        if key not in self.used:
            top_ft = self.case.planned_ft
            self.used[key] = flow_curve(self.case.flow_table, group, mode, top_ft)
        return self.used[key]

    def passengers(self) -> FlowCurve:
        """Give the passengers' flow."""
        return self.of(Group.PASSENGERS, self.case.passenger_mode)

    def of_group(self, group: Group, *, first: bool) -> FlowCurve:
        """Give a group's flow in the first minutes after a loss of pressure, or later."""
        if group is Group.PASSENGERS:
            return self.passengers()
        return self.of(group, self.case.crew_mode if first else self.case.crew_hold_mode)


# A search for the highest level, and a fleet of one type, ask about the same case over and over.
@lru_cache(maxsize=512)
def oxygen_needed(case: OxygenCase) -> OxygenNeed:
    """Give the oxygen that a flight needs, case by case.

    Parameters
    ----------
    case : OxygenCase
        The flight, the people, the equipment and the rule.

    Returns
    -------
    OxygenNeed
        Litres by case, phase and group, with assumptions and sources.

    Raises
    ------
    OutOfRangeError
        When the equipment's table does not reach an altitude that is needed, or no rule states
        a flow there.
    InputError
        When neither table nor rule states a flow for a mode.
    """
    flows = _Flows(case)
    cabin_ft = cabin_altitude_ft(case.planned_ft, case.differential_psi)
    worn = _worn(case, flows, cabin_ft)
    cases = (
        CaseNeed(name=CaseName.LEGAL, phases=(*worn, *_legal(case, flows, cabin_ft))),
        CaseNeed(name=CaseName.DESCENT, phases=(*worn, *_descent(case, flows))),
        _contaminated_case(case, flows, worn),
    )
    used = tuple(flows.used.values())
    return OxygenNeed(
        planned_level=case.planned_level,
        cabin_ft=cabin_ft,
        cases=cases,
        flows=used,
        assumptions=(*_assumptions(case), *_flow_assumptions(used)),
        sources=_sources(case),
    )


def contaminated_need(case: OxygenCase) -> CaseNeed:
    """Give the need in contaminated air alone, with the mask that was worn before it.

    Raises
    ------
    OutOfRangeError, InputError
        When a flow is not known.
    """
    flows = _Flows(case)
    cabin_ft = cabin_altitude_ft(case.planned_ft, case.differential_psi)
    return _contaminated_case(case, flows, _worn(case, flows, cabin_ft))


def _worn(case: OxygenCase, flows: _Flows, cabin_ft: float) -> tuple[PhaseNeed, ...]:
    """Count the mask that a pilot must wear at the planned level; nothing where none need be."""
    if not case.mask_worn:
        return ()
    return (worn_phase(case, flows.of_group(Group.CREW, first=False), cabin_ft),)


def _contaminated_case(case: OxygenCase, flows: _Flows, worn: tuple[PhaseNeed, ...]) -> CaseNeed:
    """Give the case of contaminated air; nothing is worn for it where it is not asked."""
    phases = tuple(_contaminated(case, flows))
    return CaseNeed(name=CaseName.CONTAMINATED, phases=(*worn, *phases) if phases else ())


def _people(case: OxygenCase, group: Group) -> int:
    """Count a group."""
    return case.crew if group is Group.CREW else case.passengers


def _legal(case: OxygenCase, flows: _Flows, cabin_ft: float) -> Iterator[PhaseNeed]:
    """Count what the rule asks: use in normal flight, and the supply against loss of pressure."""
    litres = {group: _normal_flight(case, flows, group, cabin_ft) for group in Group}
    yield PhaseNeed(
        phase="normal flight at the planned level",
        minutes=case.cruise_minutes,
        from_ft=cabin_ft,
        to_ft=cabin_ft,
        crew_litres=litres[Group.CREW],
        passenger_litres=litres[Group.PASSENGERS],
    )
    for reserve in case.oxygen_rule.reserves:
        minutes = _minutes_owed(case, reserve)
        if minutes and _people(case, reserve.group):
            yield _reserve_phase(case, flows, reserve, minutes)


def _normal_flight(case: OxygenCase, flows: _Flows, group: Group, cabin_ft: float) -> float:
    """Count a group's oxygen at the cabin altitude of normal flight."""
    band = next((b for b in case.oxygen_rule.bands_of(group) if b.covers(cabin_ft)), None)
    # Who wears a mask is counted with it.
    people = _people(case, group) - (group is Group.CREW and case.mask_worn)
    if band is None or not people:
        return 0.0
    minutes = max(case.cruise_minutes - band.free_minutes, 0.0)
    lowest_ft = case.oxygen_rule.lowest_ft(group)
    flow = flows.of_group(group, first=False).greatest_lpm(lowest_ft, cabin_ft)
    return band.people(people) * minutes * flow


def _minutes_owed(case: OxygenCase, reserve: OxygenReserve) -> int:
    """Give the minutes of a reserve that the planned level owes."""
    slow = reserve.quick_to_ft is not None and not _quick_descent(case, reserve.quick_to_ft)
    return reserve.minutes_owed(planned_ft=case.planned_ft, ceiling_ft=case.ceiling_ft, slow=slow)


def _quick_descent(case: OxygenCase, to_ft: int) -> bool:
    """Tell whether an altitude is reached within four minutes of the loss of pressure."""
    if case.planned_ft <= to_ft:
        return True
    if case.hold_ft > to_ft:
        return False
    minutes = case.recognition_minutes + (case.planned_ft - to_ft) / case.descent_fpm
    return minutes <= QUICK_DESCENT_MINUTES


def _reserve_phase(
    case: OxygenCase, flows: _Flows, reserve: OxygenReserve, minutes: int
) -> PhaseNeed:
    """Count one reserve."""
    first = min(minutes, RESERVE_DESCENT_MINUTES)
    curve = flows.of_group(reserve.group, first=True)
    bottom_ft = reserve.descent_to_ft
    if reserve.from_ceiling:
        top_ft = max(case.ceiling_ft, bottom_ft)
        litres = first * curve.mean_lpm(bottom_ft, top_ft)
    else:
        top_ft = max(case.planned_ft, bottom_ft)
        litres = first * curve.greatest_lpm(bottom_ft, top_ft)
    if minutes > first:
        later = flows.of_group(reserve.group, first=False)
        low_ft, high_ft = bottom_ft, top_ft
        if reserve.then_at_ft is not None:
            low_ft = high_ft = reserve.then_at_ft
        litres += (minutes - first) * later.greatest_lpm(low_ft, high_ft)
    litres *= _people(case, reserve.group)
    crew = reserve.group is Group.CREW
    return PhaseNeed(
        phase=f"supply for {minutes} minutes, {reserve.group}",
        minutes=minutes,
        from_ft=top_ft,
        to_ft=bottom_ft,
        crew_litres=litres if crew else 0.0,
        passenger_litres=0.0 if crew else litres,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Leg:
    """One leg after a loss of pressure; level where both altitudes are the same."""

    phase: str
    from_ft: float
    to_ft: float
    minutes: float
    #: Lowest altitude whose flow may apply on a level leg.
    lowest_ft: float
    first: bool


def _legs(case: OxygenCase) -> Iterator[_Leg]:
    """Give the legs from the loss of pressure down to where masks come off."""
    top, hold, end = case.planned_ft, case.hold_bottom_ft, CREW_LEAVES_OXYGEN_FT.value
    if top <= end:
        return
    yield _Leg(
        phase="recognition at the planned level",
        from_ft=top,
        to_ft=top,
        minutes=case.recognition_minutes,
        lowest_ft=hold,
        first=True,
    )
    yield _Leg(
        phase="emergency descent",
        from_ft=top,
        to_ft=hold,
        minutes=(top - hold) / case.descent_fpm,
        lowest_ft=hold,
        first=True,
    )
    if hold > end:
        yield _Leg(
            phase="hold",
            from_ft=hold,
            to_ft=hold,
            minutes=case.hold_minutes,
            lowest_ft=hold,
            first=False,
        )
        yield _Leg(
            phase="final descent",
            from_ft=hold,
            to_ft=end,
            minutes=(hold - end) / case.final_descent_fpm,
            lowest_ft=end,
            first=False,
        )


def _descent(case: OxygenCase, flows: _Flows) -> Iterator[PhaseNeed]:
    """Count the flight after a loss of pressure, leg by leg."""
    spent: dict[int, float] = {}
    for leg in _legs(case):
        crew = flows.of_group(Group.CREW, first=leg.first)
        crew_litres = case.crew * leg.minutes * _leg_lpm(leg, crew)
        passengers = 0.0
        if case.passengers:
            bands = case.oxygen_rule.bands_of(Group.PASSENGERS)
            passengers = sum(_band_litres(case, flows, leg, band, spent) for band in bands[::-1])
        yield PhaseNeed(
            phase=leg.phase,
            minutes=leg.minutes,
            from_ft=leg.from_ft,
            to_ft=leg.to_ft,
            crew_litres=crew_litres,
            passenger_litres=passengers,
        )


def _leg_lpm(leg: _Leg, curve: FlowCurve) -> float:
    """Give the mean flow of a descending leg, the greatest that may apply on a level one."""
    if leg.from_ft == leg.to_ft:
        return curve.greatest_lpm(leg.lowest_ft, leg.from_ft)
    return curve.mean_lpm(leg.to_ft, leg.from_ft)


def _minutes_between(leg: _Leg, above_ft: float, to_ft: float) -> float:
    """Give the minutes of a leg above one altitude, up to and including another."""
    if leg.from_ft == leg.to_ft:
        return leg.minutes if above_ft < leg.from_ft <= to_ft else 0.0
    feet = min(leg.from_ft, to_ft) - max(leg.to_ft, above_ft)
    return max(feet, 0.0) * leg.minutes / (leg.from_ft - leg.to_ft)


def _band_litres(
    case: OxygenCase, flows: _Flows, leg: _Leg, band: OxygenBand, spent: dict[int, float]
) -> float:
    """Count the passengers of one band on one leg, once the band's free minutes are spent.

    ``spent`` keeps the minutes that count against those of each band, by its lower end.
    """
    top_ft = math.inf if band.to_ft is None else band.to_ft
    before = spent.get(band.above_ft, 0.0)
    if band.free_to_ft is not None:
        before += _minutes_between(leg, top_ft, band.free_to_ft)
    inside = _minutes_between(leg, band.above_ft, top_ft)
    spent[band.above_ft] = before + inside
    counted = inside - max(band.free_minutes - before, 0.0)
    if counted <= 0.0:
        return 0.0
    people, curve = band.people(case.passengers), flows.passengers()
    if leg.from_ft == leg.to_ft:
        return people * counted * _leg_lpm(leg, curve)
    low = max(leg.to_ft, band.above_ft)
    start = low + (min(leg.from_ft, top_ft) - low) * counted / inside
    return people * counted * curve.mean_lpm(low, start)


def _contaminated(case: OxygenCase, flows: _Flows) -> Iterator[PhaseNeed]:
    """Count the crew's oxygen in contaminated air; nothing when no time was stated."""
    if not case.contaminated_minutes:
        return
    cabin_ft = CONTAMINATED_AIR_FT.value
    flow = flows.of(Group.CREW, case.contaminated_mode).lpm(cabin_ft)
    yield PhaseNeed(
        phase="crew on oxygen in contaminated air",
        minutes=case.contaminated_minutes,
        from_ft=cabin_ft,
        to_ft=cabin_ft,
        crew_litres=case.crew * case.contaminated_minutes * flow,
        passenger_litres=0.0,
    )


def _assumptions(case: OxygenCase) -> Iterator[str]:
    """Say what was assumed of the flight."""
    yield f"litres NTPD: {NTPD_TEMPERATURE_C.value:.1f} C, 760 mmHg, dry"
    yield "at a loss of pressure the cabin is at the aeroplane's altitude at once"
    yield (
        f"the crew breathe oxygen from the loss of pressure down to "
        f"{CREW_LEAVES_OXYGEN_FT.value:,} ft ({CREW_LEAVES_OXYGEN_FT.source.status}); the rule's "
        "free minutes are not used"
    )
    yield "passengers breathe it as the rule asks, its free minutes used, shares rounded up"
    yield "the supply for a stated time is counted on top of the need in normal flight"
    yield (
        "where the rule leaves the altitude open, the greatest flow between the planned level "
        "and the end of the descent is counted"
    )
    yield from worn_assumptions(case)
    if case.contaminated_minutes:
        yield f"contaminated air is met at a cabin altitude of {CONTAMINATED_AIR_FT.value:,} ft"
    else:
        yield "contaminated air was not counted: no time was stated"
    yield from case.oxygen_rule.notes


def _flow_assumptions(flows: Iterable[FlowCurve]) -> Iterator[str]:
    """Say what each flow rests on."""
    for curve in flows:
        text = f"{curve.group}, {curve.mode}: {curve.basis} ({curve.reference})"
        if curve.basis is FlowBasis.UNDILUTED:
            text += ": 20 l/min BTPS; litres STPD = 20 (P - 47) / 760 x 273.15 / 310.15, P in mmHg"
        if curve.basis is FlowBasis.MINIMUM:
            text += (
                ": litres STPD = V x (P - 47) / 760 x 273.15 / 310.15, x = (T / (P - 47) - 0.2095) "
                "/ 0.7905, T the tracheal pressure, V the minute volume BTPS, greatest up to the "
                "planned level"
            )
        yield text


def _sources(case: OxygenCase) -> tuple[Source, ...]:
    """Give the sources of the rule and of the figures beside it."""
    beside = (CREW_LEAVES_OXYGEN_FT, CONTAMINATED_AIR_FT, NTPD_TEMPERATURE_C)
    return tuple(dict.fromkeys((*case.oxygen_rule.sources, *(figure.source for figure in beside))))
