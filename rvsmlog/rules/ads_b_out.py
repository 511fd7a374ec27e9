"""ADS-B Out for airspace of the United States: fitted, working, and of a standard for Class A."""

import re
from collections.abc import Iterator
from enum import Enum

from rvsmlog.facts import EquipmentCase, Facts
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
# Revisions of the standard order for 1090 MHz, and of the document that it refers to.
_EXTENDED_SQUITTER = re.compile(r"\bc-?166([a-z]?)\b|\bdo-?260([a-z]?)\b", re.IGNORECASE | re.ASCII)
_FIRST_GOOD_REVISION = "b"
_LINK_1090 = re.compile(r"\b1090", re.ASCII)
_UAT = re.compile(r"\bc-?154[a-z]?\b|\bdo-?282[a-z]?\b|\buat\b|\b978", re.IGNORECASE | re.ASCII)


class Standard(Enum):
    """What the version on record says of an ADS-B Out."""

    CLASS_A = "good for Class A airspace"
    TOO_OLD = "older than TSO-C166b"
    UAT = "a universal access transceiver, which serves below 18,000 ft only"
    UNKNOWN = "not understood"


def standard_of(version: str | None) -> Standard:
    """Read the standard of an ADS-B Out out of its version on record.

    Examples
    --------
    >>> standard_of("TSO-C166b, 91.227"), standard_of("TSO-C154c")
    (<Standard.CLASS_A: 'good for Class A airspace'>, \
<Standard.UAT: 'a universal access transceiver, which serves below 18,000 ft only'>)
    """
    text = version or ""
    revisions = [match[1] or match[2] or "" for match in _EXTENDED_SQUITTER.finditer(text)]
    if revisions:
        good = any(each.lower() >= _FIRST_GOOD_REVISION for each in revisions)
        return Standard.CLASS_A if good else Standard.TOO_OLD
    if _LINK_1090.search(text):
        return Standard.CLASS_A
    return Standard.UAT if _UAT.search(text) else Standard.UNKNOWN


@rule("91-225", "91-135", "91-227")
def ads_b_out_missing(facts: Facts) -> Iterator[Result]:
    """No ADS-B Out that serves for Class A airspace of the United States.

    Checks: For a flight in region US, or in one that holds it (NAM, ALL) or is not known, whatever
    rules the airframe flies under: whether an ADS-B Out is on record as fitted, has no open defect,
    deferred or not, and is of TSO-C166b or later by its version on record. A version that names
    1090 MHz and no older standard is taken for that. Of several units one in order is enough.

    Why: From 18,000 ft up, 91.225(a) and 91.135(c) ask for ADS-B Out on 1090 MHz that meets 91.227,
    unless air traffic control authorises otherwise; RVSM airspace lies within. A universal access
    transceiver (UAT) serves below 18,000 ft only (91.225(b)). From 10,000 ft up one of the two is
    asked for nearly everywhere (91.225(d)): without any, the highest level is the same as without
    a transponder.

    Remedy: Fit or mend it and record that; or correct the unit's entry with the standard that it
    meets, such as TSO-C166b.

    Known problems: That air traffic control authorises a flight without it cannot be recorded. What
    91.227 asks of its performance is not checked. A defect of the transponder that transmits it
    counts only where it is entered as one of ADS-B Out too. What other states ask of ADS-B is not
    judged. A flight in region NAM that stays out of the United States is asked all the same.
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
    yield from map(_not_for_class_a, working)


def _name(unit: EquipmentCase) -> str:
    return "ADS-B Out" + (f" {unit.position}" if unit.position else "")


def _standard(unit: EquipmentCase) -> Standard:
    return standard_of(unit.equipment.record.version)


def _not_for_class_a(unit: EquipmentCase) -> Result:
    """Say of a unit that works why it does not serve in Class A airspace."""
    version, standard = unit.equipment.record.version, _standard(unit)
    values, limits = {"version": version}, {"version": "TSO-C166b"}
    evidence = (unit.equipment.ref,)
    if standard is Standard.UNKNOWN:
        known = "not on record" if version is None else f"not understood: {version}"
        return not_on_record(
            f"{_name(unit)}: standard {known}; TSO-C166b or later wanted",
            highest_level=LEVEL_WITHOUT_ADS_B,
            remedy=f"Correct entry #{unit.equipment.first} with the standard it meets, such as "
            "--version TSO-C166b.",
            values=values,
            limits=limits,
            evidence=evidence,
        )
    return not_met(
        f"{_name(unit)}: {version}, {standard.value}",
        highest_level=LEVEL_WITH_UAT if standard is Standard.UAT else LEVEL_WITHOUT_ADS_B,
        remedy=f"Fit one of TSO-C166b or later (1090 MHz) and record it. {_PERMISSION}",
        values=values,
        limits=limits,
        evidence=evidence,
    )
