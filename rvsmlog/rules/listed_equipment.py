"""Equipment whose loss the minimum equipment list judges, and the version of TCAS II."""

import re
from collections.abc import Iterator

from rvsmlog.facts import DefectCase, EquipmentCase, Facts
from rvsmlog.rules.base import Result, advice, met, not_applicable, not_met, not_on_record, rule
from rvsmlog.rules.gone_units import taken_out
from rvsmlog.rules.margins import BELOW_RVSM
from rvsmlog.rules.open_defects import evidence_of, name_of, open_defects, state_of
from rvsmlog.standards.equipment import Function
from rvsmlog.standards.rvsm import ACAS_VERSION
from rvsmlog.units import show_level

_NUMBER = re.compile(r"\bv?(\d{1,2})\.(\d{1,2})[a-z]?\b|^v?(\d{1,2})$", re.IGNORECASE | re.ASCII)
# Revisions of the technical standard order for TCAS II; b is version 7.0, as 2(g) says.
_STANDARD = re.compile(r"\bc-?119([a-z]?)\b", re.IGNORECASE | re.ASCII)
_FIRST_GOOD_REVISION = "b"
_TCAS_I = re.compile(r"\b[AT]CAS[ -]?(?:I|1)\b", re.IGNORECASE | re.ASCII)
_TCAS_II = re.compile(r"\b[AT]CAS[ -]?(?:II|2)\b", re.IGNORECASE | re.ASCII)
# Words by which a text says that what it names is not what is fitted.
_DOUBT = re.compile(
    r"\b(?:not|without|removed|pending|planned|awaiting|until|before|below|prior to|older|will"
    r"|shall|to be|to become)\b|[<?]",
    re.IGNORECASE,
)


@rule("practice")
def heat_inoperative(facts: Facts) -> Iterator[Result]:
    """Open defect on static port heat or pitot heat, or one taken out and not replaced.

    Checks: Whether a defect of static port heat or pitot heat is open. Where it is deferred and the
    list's item sets a highest level, that level decides; otherwise RVSM is taken as lost. So it is
    where one was removed, and neither a unit in its place nor a defect about it with its deferral
    or release is on record.

    Why: At RVSM levels water freezes in an unheated port, and what the altimeter then shows is a
    level passed earlier.

    Remedy: Have it rectified and record the rectification; or defer it under the minimum equipment
    list and record the highest level that the item sets.

    Known problems: No published source that was read names heat among RVSM equipment: not appendix
    G section 2(c), not SPA.RVSM.110. So an aeroplane without it on record is not asked for it; only
    defects and removals are looked at. Many lists restrict it. Icing conditions are not looked at.
    """
    yield from _listed(facts, (Function.STATIC_HEAT, Function.PITOT_HEAT), "static or pitot heat")


@rule("practice")
def standby_altimeter_inoperative(facts: Facts) -> Iterator[Result]:
    """Open defect on the standby altimeter, or one taken out and not replaced.

    Checks: Whether a defect of the standby altimeter is open. Where it is deferred and the list's
    item sets a highest level, that level decides; otherwise RVSM is taken as lost. So it is where
    it was removed, and neither another in its place nor a defect about it with its deferral or
    release is on record.

    Why: It is the third witness when the primaries part, and the only one when a primary fails.

    Remedy: Have it rectified and record the rectification; or defer it under the minimum equipment
    list and record the highest level that the item sets.

    Known problems: No published source that was read names it among RVSM equipment: not appendix G
    section 2(c), not SPA.RVSM.110. So an aeroplane without one on record is not asked for it; only
    defects and removals are looked at. Some lists restrict it. One that is fitted is tested like
    the primaries.
    """
    yield from _listed(facts, (Function.STANDBY_ALTIMETER,), "standby altimeter")


def _listed(facts: Facts, functions: tuple[Function, ...], title: str) -> Iterator[Result]:
    """Judge functions of which the aeroplane's own list says what their loss does."""
    cases = open_defects(facts, functions)
    fitted = [unit for function in functions for unit in facts.fitted(function)]
    gone = tuple(taken_out(facts, functions, BELOW_RVSM))
    yield from (_by_list(case) for case in cases)
    yield from gone
    if cases or gone:
        return
    if fitted:
        yield met(
            f"no open defect on {title}", evidence=tuple(unit.equipment.ref for unit in fitted)
        )
    else:
        yield not_applicable(f"no {title} on record")


def _by_list(case: DefectCase) -> Result:
    """Say what remains with an open defect: what the list's item sets, or no RVSM."""
    says, evidence = f"{name_of(case)}: {state_of(case)}", evidence_of(case)
    level = None if case.deferral is None else case.deferral.record.highest_level
    if level is not None:
        return advice(
            f"{says}, which sets {show_level(level)}",
            values={"item_level": level},
            evidence=evidence,
        )
    if case.deferral is not None:
        return not_met(
            f"{says}, no level on record: RVSM taken as lost",
            highest_level=BELOW_RVSM,
            remedy="Have it rectified; or, where the item sets a highest level, correct the "
            f"deferral #{case.deferral.ref.entry} to say it.",
            evidence=evidence,
        )
    return not_met(
        says,
        highest_level=BELOW_RVSM,
        remedy="Have it rectified and record the rectification; or defer it under the minimum "
        "equipment list, with the highest level that the item sets.",
        evidence=evidence,
    )


@rule("appendix-g-2g", "aim-4-6-3")
def acas_version_too_old(facts: Facts) -> Iterator[Result]:
    """TCAS II older than version 7.0, or its version not on record.

    Checks: Each collision avoidance system on record as fitted: whether the version on record is
    7.0 or later, or the standard it meets is TSO-C119b or later. One recorded as TCAS I or ACAS I
    alone is left alone. A text that says of a version that it is not fitted (not, pending, until)
    is not understood.

    Why: Earlier versions give resolution advisories against traffic that is properly separated by
    1,000 ft. RVSM does not ask for TCAS II; where it is fitted, appendix G section 2(g) asks for
    this version.

    Remedy: Have the version brought up to 7.0 or later; record the unit with its version, such as
    7.1.

    Known problems: Some airspace asks for 7.1, which is not checked. A version that is not on
    record, or not understood, is treated as too old.
    """
    units = facts.fitted(Function.ACAS)
    yield from (_version(unit) for unit in units)
    if not units:
        yield not_applicable("no collision avoidance system on record as fitted")


def _version(unit: EquipmentCase) -> Result:
    """Judge the version of one unit."""
    text, evidence = unit.equipment.record.version, (unit.equipment.ref,)
    least, values = ACAS_VERSION.value, {"version": text}
    if text is not None and _is_other(text):
        return not_applicable(f"{text}: the version is asked of TCAS II only")
    good = None if text is None else _is_recent(text)
    if good is None:
        known = "not on record" if text is None else f"not understood: {text}"
        return not_on_record(
            f"TCAS II fitted, version {known}; {least} or later wanted",
            highest_level=BELOW_RVSM,
            remedy=f"Correct entry #{unit.equipment.ref.entry} to say the version, such as 7.1.",
            values=values,
            limits={"version": least},
            evidence=evidence,
        )
    says = f"TCAS II version on record {text}, {least} or later wanted"
    if good:
        return met(says, values=values, limits={"version": least}, evidence=evidence)
    return not_met(
        says,
        highest_level=BELOW_RVSM,
        remedy=f"Have TCAS II brought up to version {least} or later and record the unit fitted.",
        values=values,
        limits={"version": least},
        evidence=evidence,
    )


def _is_other(text: str) -> bool:
    """Say whether a text names TCAS I and nothing else, of which no version is asked."""
    named = _TCAS_I.search(text) is not None and _TCAS_II.search(text) is None
    return named and _DOUBT.search(text) is None


def _is_recent(text: str) -> bool | None:
    """Say whether a version is recent enough, None where the text names none or casts doubt."""
    if _DOUBT.search(text):
        return None
    standard = _STANDARD.search(text)
    if standard is not None:
        return standard.group(1).lower() >= _FIRST_GOOD_REVISION
    numbers = list(_NUMBER.finditer(text.strip()))
    if len(numbers) != 1:
        return None
    major, minor, alone = numbers[0].groups(default="0")
    least_major, _, least_minor = ACAS_VERSION.value.partition(".")
    return (int(major) or int(alone), int(minor)) >= (int(least_major), int(least_minor))
