"""Defects that are open: of which function, at which position, deferred or not."""

from collections.abc import Collection
from datetime import datetime

from rvsmlog.facts import DefectCase, EquipmentCase, Facts
from rvsmlog.records.base import Ref
from rvsmlog.records.defects import AltimetryFault
from rvsmlog.rules.base import Result, advice
from rvsmlog.rules.places import places_since
from rvsmlog.standards.equipment import EQUIPMENT, Function
from rvsmlog.units import show_level

#: Functions of which an altimetry system consists. A fault report is about one of them.
ALTIMETRY = (Function.ALTIMETER, Function.AIR_DATA_COMPUTER, Function.STATIC_SOURCE)


def open_defects(facts: Facts, functions: Collection[str] | None = None) -> tuple[DefectCase, ...]:
    """Give the defects that are not rectified, of some functions or of all.

    An altimetry fault report names no function: it is one of the altimeter.
    """
    return tuple(
        case
        for case in facts.defects
        if case.is_open and (functions is None or function_of(case) in functions)
    )


def function_of(case: DefectCase) -> Function:
    """Give the function that a defect is about."""
    defect = case.defect.record
    return Function.ALTIMETER if isinstance(defect, AltimetryFault) else Function(defect.function)


def position_of(case: DefectCase) -> str | None:
    """Give the position that a defect is about, None where the entry does not say."""
    defect = case.defect.record
    return None if isinstance(defect, AltimetryFault) else defect.position


def name_of(case: DefectCase) -> str:
    """Name what a defect is about, for example ``altimeter 2``."""
    if isinstance(case.defect.record, AltimetryFault):
        return "altimetry system"
    return " ".join(filter(None, (EQUIPMENT[function_of(case)].title, position_of(case))))


def state_of(case: DefectCase) -> str:
    """Say in a few words how a defect stands."""
    if case.deferral is None:
        return f"defect #{case.defect.first} open, not deferred"
    return f"defect #{case.defect.first} deferred under item {case.deferral.record.mel_reference}"


def evidence_of(case: DefectCase) -> tuple[Ref, ...]:
    """Give the entries of a defect and its deferral."""
    return (case.defect.ref,) if case.deferral is None else (case.defect.ref, case.deferral.ref)


def level_of_item(case: DefectCase) -> Result | None:
    """Say which level the list's item sets; None where the deferral sets none."""
    own = None if case.deferral is None else case.deferral.record.highest_level
    if own is None:
        return None
    return advice(
        f"{name_of(case)}: {state_of(case)}, which sets {show_level(own)}",
        values={"item_level": own},
        evidence=evidence_of(case),
    )


def affects(case: DefectCase, unit: EquipmentCase, fitted: tuple[EquipmentCase, ...]) -> bool:
    """Say whether a defect may be one of a unit.

    Parameters
    ----------
    case : DefectCase
        A defect of the unit's function.
    unit : EquipmentCase
        One of those fitted.
    fitted : tuple of EquipmentCase
        All units of the function. A defect at a position where none of them is may be of any.
        Whether a fault goes with a unit that was swapped since is not known: it may be of either.
    """
    position, found_at = _plain(position_of(case)), case.defect.record.found_at
    known = {place for other in fitted for place in _places(other, found_at)}
    return not position or position not in known or position in _places(unit, found_at)


def _places(unit: EquipmentCase, since: datetime) -> set[str]:
    """Give the positions that a unit has had since an instant."""
    return {_plain(place) for place in places_since(unit, since)}


def _plain(position: str | None) -> str:
    return (position or "").strip().casefold()
