"""Alerter, altitude control and transponder: of each, one must work in RVSM airspace."""

from collections.abc import Iterator

from rvsmlog.facts import DefectCase, EquipmentCase, Facts
from rvsmlog.rules.base import Result, met, not_met, not_on_record, rule
from rvsmlog.rules.margins import BELOW_RVSM
from rvsmlog.rules.open_defects import affects, evidence_of, name_of, open_defects, state_of
from rvsmlog.standards.equipment import MINIMUM_SET, MinimumItem

_ITEMS = {item.name: item for item in MINIMUM_SET}


@rule("appendix-g-2c-3", "spa-rvsm-110", "annex-6-2-2-5-2")
def altitude_alerter_inoperative(facts: Facts) -> Iterator[Result]:
    """Altitude alerter not working, or not on record.

    Checks: Whether an altitude alerter is on record as fitted and has no open defect, deferred or
    not.

    Why: The alerter is what tells a single pilot that the aeroplane leaves its level while the eyes
    are elsewhere.

    Remedy: Record the unit fitted; have the defect rectified and record the rectification.

    Known problems: Its threshold, 200 or 300 ft by the age of the type, is not checked.
    """
    yield from _needed(facts, _ITEMS["altitude-alerter"])


@rule("appendix-g-2c-2", "spa-rvsm-110", "annex-6-2-2-5-2")
def altitude_control_inoperative(facts: Facts) -> Iterator[Result]:
    """Automatic altitude control not working, or not on record.

    Checks: Whether an automatic altitude control is on record as fitted and has no open defect,
    deferred or not.

    Why: Nobody holds a level within 65 ft by hand for hours, least of all alone.

    Remedy: Record the unit fitted; have the defect rectified and record the rectification.

    Known problems: How well it holds the level is not measured here.
    """
    yield from _needed(facts, _ITEMS["altitude-control"])


@rule("91-215", "spa-rvsm-110", "annex-6-2-2-5-2")
def transponder_inoperative(facts: Facts) -> Iterator[Result]:
    """Altitude-reporting transponder not working, or not on record.

    Checks: Whether an altitude-reporting transponder is on record as fitted and has no open defect,
    deferred or not. Where two are fitted, one that works is enough; a defect that does not say at
    which position counts against both.

    Why: Controllers and collision avoidance see the level through it. Appendix G does not list it;
    the rules of the airspace require it, and Europe's RVSM rules do.

    Remedy: Record the unit fitted; have the defect rectified and record the rectification. Where
    one of two works, give the defect its position.

    Known problems: Air traffic control may let a flight continue or go without one; that cannot be
    recorded.
    """
    yield from _needed(facts, _ITEMS["transponder"])


def _needed(facts: Facts, item: MinimumItem) -> Iterator[Result]:
    """Judge one item of the minimum set of which one must work."""
    function = item.functions[0]
    fitted, cases = facts.fitted(function), open_defects(facts, (function,))
    sources = (item.source_for(facts.particulars.authority).key,)
    working = [unit for unit in fitted if not any(affects(case, unit, fitted) for case in cases)]
    if not fitted:
        yield not_on_record(
            f"no {item.title} on record as fitted",
            highest_level=BELOW_RVSM,
            remedy="Record the unit fitted with `rvsmlog equipment fit`.",
            evidence=(facts.airframe.ref,),
            sources=sources,
        )
    if not working:
        yield from (_lost(case, item, len(fitted), sources) for case in cases)
    elif cases:
        yield _spare(working[0], cases, item, sources)
    else:
        yield met(
            f"{item.title} on record, no open defect",
            evidence=tuple(unit.equipment.ref for unit in fitted),
            sources=sources,
        )


def _lost(case: DefectCase, item: MinimumItem, fitted: int, sources: tuple[str, ...]) -> Result:
    """Say that a defect leaves none that works, or none that surely does."""
    remedy = "Have it rectified and record the rectification."
    because = "" if case.deferral is None else ": RVSM is lost while it is open"
    if fitted > 1:
        because = f"; no other of {fitted} is known to work"
        remedy = f"{remedy} Where another works, correct the defect's entry to name its position."
    return not_met(
        f"{name_of(case)}: {state_of(case)}{because}",
        highest_level=BELOW_RVSM,
        remedy=remedy,
        values={"fitted": fitted},
        limits={"working": item.number},
        evidence=evidence_of(case),
        sources=sources,
    )


def _spare(
    unit: EquipmentCase, cases: tuple[DefectCase, ...], item: MinimumItem, sources: tuple[str, ...]
) -> Result:
    """Say that one works although another does not."""
    which = " ".join(filter(None, (item.title, unit.position)))
    return met(
        f"{which} works, use it; {name_of(cases[0])}: {state_of(cases[0])}",
        limits={"working": item.number},
        evidence=(unit.equipment.ref, *(ref for case in cases for ref in evidence_of(case))),
        sources=sources,
    )
