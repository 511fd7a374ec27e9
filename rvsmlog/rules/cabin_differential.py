"""The greatest cabin differential of the day, and what it rests on."""

from rvsmlog.facts import Facts
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Ref
from rvsmlog.rules.gone_units import taken_out
from rvsmlog.rules.open_defects import evidence_of, open_defects
from rvsmlog.standards.equipment import Function


@dataclass(frozen=True, slots=True, kw_only=True)
class Differential:
    """A cabin differential with its ground.

    Parameters
    ----------
    psi : float
        Cabin pressure less outside pressure, psi.
    ground : str
        What sets it.
    refs : tuple of Ref
        The entries in which it stands.
    """

    psi: float
    ground: str
    refs: tuple[Ref, ...]


def differential_of(facts: Facts) -> Differential | None:
    """Give the greatest differential that the cabin holds on this flight.

    The lowest of the airframe's, that of each open deferral that states one, and what is said of
    the day.

    Returns
    -------
    Differential or None
        None when nothing says it, when a defect of the pressure control is open of which nothing
        says what differential it leaves, or when its unit was taken out.
    """
    found = [*_of_airframe(facts), *_of_day(facts)]
    for case in open_defects(facts):
        deferral = case.deferral
        psi = None if deferral is None else deferral.record.max_differential_psi
        if deferral is not None and psi is not None:
            ground = f"deferral #{deferral.first}"
            found.append(Differential(psi=psi, ground=ground, refs=evidence_of(case)))
    if not found or (_unknown(facts) and not _of_day(facts)):
        return None
    return min(found, key=lambda each: each.psi)


def _of_airframe(facts: Facts) -> tuple[Differential, ...]:
    psi, refs = facts.particulars.max_differential_psi, (facts.airframe.ref,)
    return () if psi is None else (Differential(psi=psi, ground="airframe", refs=refs),)


def _of_day(facts: Facts) -> tuple[Differential, ...]:
    psi = facts.question.flight.differential_psi
    return () if psi is None else (Differential(psi=psi, ground="said of the day", refs=()),)


def _unknown(facts: Facts) -> bool:
    """Tell whether a defect or removal of the pressure control leaves the differential unknown."""
    if any(taken_out(facts, (Function.CABIN_PRESSURE_CONTROL,), 0)):
        return True
    for case in open_defects(facts, (Function.CABIN_PRESSURE_CONTROL,)):
        deferral = case.deferral
        if deferral is None or (
            deferral.record.max_differential_psi is None and deferral.record.highest_level is None
        ):
            return True
    return False
