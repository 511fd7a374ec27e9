"""ADS-B Out for airspace of the United States: fitted, working, and of a standard for Class A."""

from collections.abc import Iterator

from rvsmlog.facts import DefectCase, EquipmentCase, Facts
from rvsmlog.frozen import replace
from rvsmlog.rules.ads_b_standard import Standard, standard_of
from rvsmlog.rules.base import Result, met, not_applicable, not_met, not_on_record, rule
from rvsmlog.rules.open_defects import affects, evidence_of, name_of, open_defects, state_of
from rvsmlog.standards.equipment import Function
from rvsmlog.standards.regions import covers
from rvsmlog.standards.rvsm import ADS_B_OUT_NEEDED_FT, CLASS_A_FROM_FT
from rvsmlog.units import feet_to_level

#: Highest level at which a flight in the United States does without ADS-B Out.
LEVEL_WITHOUT_ADS_B = feet_to_level(ADS_B_OUT_NEEDED_FT.value) - 10
#: Highest level at which a universal access transceiver serves.
LEVEL_WITH_UAT = feet_to_level(CLASS_A_FROM_FT.value) - 10
_US = "US"
_PERMISSION = (
    "That air traffic control lets this one flight go without it (91.225(a), (g)) cannot be "
    "recorded here."
)
#: The least standard for Class A airspace.
_WANTED = "TSO-C166b"


@rule("91-225", "91-135", "91-227")
def ads_b_out_missing(facts: Facts) -> Iterator[Result]:
    """No ADS-B Out that serves for Class A airspace of the United States.

    Checks: For a flight in region US, or in one that holds it (NAM, ALL) or is not known, whatever
    rules the airframe flies under: whether an ADS-B Out is on record as fitted, has no open defect,
    deferred or not, and is of TSO-C166b or later by its version on record (so DO-260B, ED-102A,
    CS-ACNS, or version 2 or 3 of 1090 MHz). A text that names an older standard beside it, or any
    word that is not understood, is not taken for that, nor is 1090 MHz alone. Of several units one
    in order is enough.

    Why: From 18,000 ft up, 91.225(a) and 91.135(c) ask for ADS-B Out on 1090 MHz that meets 91.227,
    unless air traffic control authorises otherwise; RVSM airspace lies within. A universal access
    transceiver (UAT) of TSO-C154c or later serves below 18,000 ft only (91.225(b)). From 10,000 ft
    up one of the two is asked for nearly everywhere (91.225(d)): without any, the highest level is
    the same as without a transponder.

    Remedy: Fit or mend it and record that; or correct the unit's entry with the standard that it
    meets, such as TSO-C166b.

    Known problems: The version is what somebody typed, and is taken at its word. That air traffic
    control authorises a flight without it cannot be recorded, nor a deviation that was approved for
    the unit (91.225(c)). What 91.227 asks of its performance is not checked. A defect of the
    transponder that transmits it counts only where it is entered as one of ADS-B Out too. What
    other states ask of ADS-B is not judged. A flight in region NAM that stays out of the United
    States is asked all the same. That ED-102A and CS-ACNS stand for DO-260B is from memory.
    """
    region = facts.region
    if region is not None and not covers((region,), _US):
        yield not_applicable(f"region {region}: 91.225 is about airspace of the United States")
        return
    yield from transmitters(facts)


def transmitters(facts: Facts) -> Iterator[Result]:
    """Judge the ADS-B Out on record: one unit in order is met, else each fault is a finding."""
    fitted = facts.fitted(Function.ADS_B_OUT)
    cases = open_defects(facts, (Function.ADS_B_OUT,))
    if not fitted:
        yield not_on_record(
            "no ADS-B Out on record as fitted",
            highest_level=LEVEL_WITHOUT_ADS_B,
            remedy=f"Record the ADS-B Out fitted, with the standard it meets. {_PERMISSION}",
            evidence=(facts.airframe.ref,),
        )
    working = [unit for unit in fitted if not any(affects(case, unit, fitted) for case in cases)]
    good = [unit for unit in working if _standard(unit) is Standard.CLASS_A]
    if good:
        spare = tuple(ref for case in cases for ref in evidence_of(case))
        yield met(
            f"{_name(good[0])} on record: {good[0].equipment.record.version}, no open defect",
            evidence=(*(unit.equipment.ref for unit in good), *spare),
        )
        return
    for case in () if working else cases:
        yield not_met(
            f"{name_of(case)}: {state_of(case)}",
            highest_level=LEVEL_WITHOUT_ADS_B,
            remedy=f"Rectify the ADS-B Out and record the rectification. {_PERMISSION}",
            evidence=evidence_of(case),
        )
    broken = tuple(case for case in cases if _opens(case, fitted))
    for unit in working:
        yield _with_way_back(_not_for_class_a(unit), broken)


def _opens(case: DefectCase, fitted: tuple[EquipmentCase, ...]) -> bool:
    """Whether a defect stands in the way of a unit that is good for Class A airspace."""
    return any(
        affects(case, unit, fitted) and _standard(unit) is Standard.CLASS_A for unit in fitted
    )


def _with_way_back(result: Result, broken: tuple[DefectCase, ...]) -> Result:
    """Add to what is said of a working unit that another one, once rectified, serves."""
    if not broken:
        return result
    numbers = " and ".join(f"#{case.defect.first}" for case in broken)
    return replace(
        result,
        remedy=f"Rectify defect {numbers} of the ADS-B Out for Class A airspace, which opens it "
        f"again. Or: {result.remedy}",
        evidence=(*result.evidence, *(ref for case in broken for ref in evidence_of(case))),
    )


def _name(unit: EquipmentCase) -> str:
    return "ADS-B Out" + (f" {unit.position}" if unit.position else "")


def _standard(unit: EquipmentCase) -> Standard:
    return standard_of(unit.equipment.record.version)


def _not_for_class_a(unit: EquipmentCase) -> Result:
    """Say of a unit that works why it does not serve in Class A airspace."""
    version, standard = unit.equipment.record.version, _standard(unit)
    values, limits = {"version": version}, {"version": _WANTED}
    evidence = (unit.equipment.ref,)
    if standard is Standard.UNKNOWN:
        known = "not on record" if version is None else f"not understood: {version}"
        return not_on_record(
            f"{_name(unit)}: standard {known}; {_WANTED} or later wanted",
            highest_level=LEVEL_WITHOUT_ADS_B,
            remedy=f"Correct entry #{unit.equipment.ref.entry} with the one standard that the unit "
            f"meets and nothing else: --version {_WANTED} (or a later letter, DO-260B, ED-102A; "
            "TSO-C154c for a universal access transceiver).",
            values=values,
            limits=limits,
            evidence=evidence,
        )
    return not_met(
        f"{_name(unit)}: {version}, {standard.value}",
        highest_level=LEVEL_WITH_UAT if standard is Standard.UAT else LEVEL_WITHOUT_ADS_B,
        remedy=f"Fit one of {_WANTED} or later (1090 MHz) and record it. {_PERMISSION}",
        values=values,
        limits=limits,
        evidence=evidence,
    )
