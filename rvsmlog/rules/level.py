"""The level itself: what the aeroplane is certificated for."""

from collections.abc import Iterator

from rvsmlog.facts import Facts
from rvsmlog.findings import LEVELS, Margin, Outcome
from rvsmlog.rules.base import Result, advice, rule
from rvsmlog.standards.rvsm import RVSM_HIGHEST_LEVEL
from rvsmlog.units import show_level


@rule("appendix-g-1")
def level_above_certificated(facts: Facts) -> Iterator[Result]:
    """Level above the highest certificated one.

    Checks: The planned flight level against the highest certificated level in the airframe's
    particulars. The finding always carries that level, so that every verdict has one. A level above
    RVSM airspace gets a note.

    Why: Structure, pressurisation, engine and altimetry were shown up to the certificated ceiling
    only, and the RVSM envelope ends there as well (appendix G section 1).

    Remedy: Plan no higher than the certificated level. Where the particulars on record are wrong,
    record the airframe's particulars again.

    Known problems: The ceiling is taken from the particulars as recorded; a lower ceiling that the
    flight manual sets for the day (weight, temperature, icing) is not known here.
    """
    planned, ceiling = facts.question.level, facts.particulars.highest_level
    above = planned is not None and planned > ceiling
    shown = show_level(ceiling)
    yield Result(
        outcome=Outcome.NOT_MET if above else Outcome.MET,
        says=(
            f"highest certificated level is {shown}"
            if planned is None
            else f"{show_level(planned)} planned, highest certificated level {shown}"
        ),
        highest_level=ceiling,
        values={"planned_level": planned},
        limits={"highest_level": ceiling},
        margin=None if planned is None else Margin(value=ceiling - planned, unit=LEVELS),
        evidence=(facts.airframe.ref,),
        remedy=(
            f"Plan {shown} or lower; where the ceiling on record is wrong, record the airframe's "
            "particulars again."
            if above
            else ""
        ),
    )
    top = RVSM_HIGHEST_LEVEL.value
    if planned is not None and planned > top:
        yield advice(
            f"{show_level(planned)} lies above RVSM airspace, which ends with {show_level(top)}",
            remedy="Climb and descent lead through RVSM airspace: its requirements hold there.",
            values={"planned_level": planned},
            limits={"rvsm_highest_level": top},
        )
