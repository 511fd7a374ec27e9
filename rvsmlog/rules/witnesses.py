"""Third witnesses of the altitude: the standby altimeter and the transponder."""

from collections.abc import Iterator

from rvsmlog.dates import show_instant
from rvsmlog.facts import Facts, Logged
from rvsmlog.findings import Margin, Value
from rvsmlog.records.airframe import tolerance_at
from rvsmlog.records.flights import CrossCheck
from rvsmlog.rules.altimetry_work import REPORTING, STANDBY, Scope, newest_after
from rvsmlog.rules.base import Result, advice, not_applicable, rule
from rvsmlog.rules.margins import by_margin
from rvsmlog.rules.readings import in_flight, level_of
from rvsmlog.rules.reviews import accepting_review
from rvsmlog.standards.equipment import Function
from rvsmlog.standards.rvsm import CORRESPONDENCE_TOLERANCE_FT
from rvsmlog.units import show_level


@rule("practice", "aim-4-6-9")
def standby_disagrees(facts: Facts) -> Iterator[Result]:
    """Standby altimeter too far from a primary in flight.

    Checks: The newest cross-check in flight that reads the standby altimeter: its difference from
    each primary against the airframe's own tolerance at that level. Work on the altimetry or the
    standby altimeter after it, or a controller's review that accepts it, sets it aside.

    Why: When the primaries part, the standby altimeter is what tells which of them is wrong, and
    when one primary fails it confirms the other. One that is itself out of tolerance does neither.

    Remedy: Have the standby altimeter compared and tested, and record the work or the review. Where
    the airframe has no tolerance on record, take it from its manual into its particulars.

    Known problems: No published figure exists for the difference; an airframe without its own table
    gets advice only. Standby altimeters are commonly not corrected for static source error, so that
    hundreds of feet may be normal.
    """
    readings = [logged for logged in in_flight(facts) if logged.record.standby_ft is not None]
    if not readings and not facts.fitted(Function.STANDBY_ALTIMETER):
        yield not_applicable("no standby altimeter on record")
    elif not readings:
        yield _not_compared(facts, "standby altimeter")
    else:
        newest = readings[-1]
        yield _judged(facts, STANDBY, newest, "standby altimeter", _standby(facts, newest))


def _standby(facts: Facts, reading: Logged[CrossCheck]) -> Result:
    """Judge the standby altimeter by the primary from which it is farther."""
    check = reading.record
    number, difference = max(
        _from_primaries(check, check.standby_ft), key=lambda item: abs(item[1])
    )
    level, table = level_of(check), facts.particulars.standby_tolerance
    says = f"standby {difference:+d} ft from altimeter {number} at {show_level(level)}"
    values: dict[str, Value] = {
        "difference_ft": difference,
        "primary": number,
        "level": level,
        "taken_at": show_instant(check.taken_at),
    }
    if table is None:
        return advice(
            f"{says}: no published limit, and none of its own on record",
            remedy=(
                "Take the manual's tolerance into the particulars: `rvsmlog airframe add` with "
                f"--standby-tolerance, as a correction of entry #{facts.airframe.ref.entry}."
            ),
            values=values,
            evidence=(reading.ref,),
        )
    tolerance = tolerance_at(table, level)
    return by_margin(
        f"{says} on {show_instant(check.taken_at)}, limit {tolerance} ft",
        Margin(value=tolerance - abs(difference), unit="ft"),
        remedy="Have the standby altimeter tested and record the work; or record the maintenance "
        f"controller's accepting review of entry #{reading.first}.",
        values=values,
        limits={"tolerance_ft": tolerance},
        evidence=(reading.ref,),
    )


@rule("43-appendix-e-c", "91-217", "nat-doc-001-3-5-1g")
def transponder_altitude_disagrees(facts: Facts) -> Iterator[Result]:
    """Transponder altitude other than that of the altimeters.

    Checks: The newest cross-check in flight that reads the transponder's altitude: its difference
    from the nearer primary against the published correspondence tolerance. Work on the altimetry,
    altitude reporting or the transponder after it, or a controller's review that accepts it, sets
    it aside. Without such a reading, a passed correspondence test on record is named instead.

    Why: Controllers and other aircraft see the transponder's altitude only. One that does not
    correspond makes a wrong picture of an aeroplane that holds its level, and defeats collision
    avoidance.

    Remedy: Select the other transponder or altimetry system and compare again; have the
    correspondence tested and record the test with `rvsmlog test add`, and the work done.

    Known problems: The rule does not know which altimetry system fed the transponder, so it takes
    the nearer primary. Reported altitude comes in steps of 25 or 100 ft. A reading is common
    practice rather than required, so that without one this rule gives advice only; the tests that
    are required have rules of their own.
    """
    readings = [logged for logged in in_flight(facts) if logged.record.transponder_ft is not None]
    tests = [
        logged
        for logged in facts.tests
        if logged.record.test == "correspondence" and logged.record.passed
    ]
    if readings:
        newest = readings[-1]
        yield _judged(facts, REPORTING, newest, "transponder altitude", _transponder(newest))
    elif tests:
        done_on = tests[-1].record.done_on
        yield not_applicable(f"no cross-check reads it; correspondence test passed on {done_on}")
    else:
        yield _not_compared(facts, "transponder altitude")


def _transponder(reading: Logged[CrossCheck]) -> Result:
    """Judge the transponder's altitude by the primary to which it is nearer."""
    check, tolerance = reading.record, CORRESPONDENCE_TOLERANCE_FT.value
    number, difference = min(
        _from_primaries(check, check.transponder_ft), key=lambda item: abs(item[1])
    )
    taken_at = show_instant(check.taken_at)
    return by_margin(
        f"transponder {difference:+d} ft from altimeter {number} on {taken_at}, limit "
        f"{tolerance} ft",
        Margin(value=tolerance - abs(difference), unit="ft"),
        remedy="Have the correspondence tested; record the test with `rvsmlog test add` and the "
        f"work, or the maintenance controller's accepting review of entry #{reading.first}.",
        values={
            "difference_ft": difference,
            "primary": number,
            "level": level_of(check),
            "taken_at": taken_at,
        },
        limits={"tolerance_ft": tolerance},
        evidence=(reading.ref,),
    )


def _from_primaries(check: CrossCheck, altitude_ft: int | None) -> tuple[tuple[int, int], ...]:
    """Give the number of each primary with the altitude's difference from it, feet."""
    altitude = altitude_ft or 0
    return ((1, altitude - check.primary_1_ft), (2, altitude - check.primary_2_ft))


def _not_compared(facts: Facts, what: str) -> Result:
    return advice(
        f"no cross-check in flight on record reads the {what}",
        remedy=f"Read the {what} too in the next cross-check; record it with `rvsmlog crosscheck "
        "log`.",
        evidence=(facts.airframe.ref,),
        sources=("practice",),
    )


def _judged(
    facts: Facts, scope: Scope, reading: Logged[CrossCheck], what: str, result: Result
) -> Result:
    """Give the result of a reading, or say what set the reading aside."""
    taken_at = reading.record.taken_at
    work, review = newest_after(facts, scope, reading), accepting_review(facts, reading, taken_at)
    if work is not None:
        return advice(
            f"{what} not compared in flight since work of {work.day}",
            remedy=f"Read the {what} too in the next cross-check; record it with `rvsmlog "
            "crosscheck log`.",
            evidence=(reading.ref, work.ref),
        )
    if review is not None and result.highest_level is not None:
        return advice(
            f"{result.says}; accepted by review #{review.ref.entry}",
            values=result.values,
            limits=result.limits,
            margin=result.margin,
            evidence=(reading.ref, review.ref),
        )
    return result
