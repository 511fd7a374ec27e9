"""The two primary altimeters: against each other in flight, and against the ground."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from rvsmlog.dates import show_instant
from rvsmlog.facts import Facts, Logged
from rvsmlog.findings import Margin, Outcome
from rvsmlog.records.base import Ref
from rvsmlog.records.flights import CrossCheck
from rvsmlog.rules.altimetry_work import (
    PRIMARIES,
    cleared_by,
    mending,
    newest_after,
)
from rvsmlog.rules.base import Result, advice, met, not_applicable, not_met, rule
from rvsmlog.rules.margins import BELOW_RVSM, by_margin
from rvsmlog.rules.readings import level_of, newest_flight_readings, on_ground
from rvsmlog.rules.reviews import judging_review
from rvsmlog.rules.tolerances import (
    between_on_ground_ft,
    crosscheck_tolerance_ft,
    ground_tolerance_ft,
    tightest_tolerance_ft,
)
from rvsmlog.standards.authorities import authority
from rvsmlog.standards.rvsm import GROUND_BETWEEN_TOLERANCE_FT
from rvsmlog.units import show_level


@rule("spa-rvsm-105-entry", "nat-doc-001-3-5-1f")
def altimeters_disagree(facts: Facts) -> Iterator[Result]:
    """Primary altimeters differed in flight by more than their tolerance.

    Checks: Every cross-check in flight on record, however old, whose primaries differ by more than
    the published tolerance or, where it is tighter, the airframe's own at that level. Such a
    reading stands until work on the altimetry came after it, or the maintenance controller's newest
    review of it accepts it. A difference of exactly the tolerance passes. Where none stands, the
    finding gives the worst difference of the newest flight.

    Why: Two independent altimetry systems that agree are the ground on which 1,000 ft separation
    stands. When they part, one of them is wrong, and the aeroplane cannot tell which. A fault that
    comes and goes with temperature or moisture is not mended by one good reading.

    Remedy: Report the altimetry as defective and have the cause found. Record the work with what it
    touched and, where a defect was reported, its rectification; or record the maintenance
    controller's review that accepts the reading and says why.

    Known problems: Work recorded by its day alone clears no reading of the same day, as it may have
    been done before the flight. Work on altitude reporting or on the standby altimeter clears
    nothing here, nor do swapped units: they bring their faults along. A misread digit counts until
    it is corrected or reviewed.
    """
    cleared: dict[Ref, Ref] = {}
    standing = []
    for reading in _beyond(facts):
        clearing = cleared_by(facts, PRIMARIES, reading)
        if clearing is None:
            standing.append(_disagreement(facts, reading))
        else:
            cleared[reading.ref] = clearing
    readings = newest_flight_readings(facts)
    if standing:
        yield from standing
    elif readings:
        yield _agreement(facts, readings, cleared)
    else:
        yield not_applicable("no cross-check in flight on record")


def _beyond(facts: Facts) -> tuple[Logged[CrossCheck], ...]:
    """Give the cross-checks in flight beyond tolerance, each once, from the earliest on."""
    # Hardly any reading is beyond the tightest tolerance of all: the others need no closer look.
    tightest = tightest_tolerance_ft(facts.particulars)
    candidates = {
        logged.ref: logged
        for logged in (*facts.exceedances, *facts.crosschecks)
        if abs(logged.record.difference_ft) > tightest
    }
    beyond = [
        logged
        for logged in candidates.values()
        if not logged.record.on_ground and _margin_ft(facts, logged) < 0
    ]
    return tuple(sorted(beyond, key=lambda logged: (logged.record.taken_at, logged.ref.entry)))


def _tolerance_ft(facts: Facts, reading: Logged[CrossCheck]) -> int:
    return crosscheck_tolerance_ft(facts.particulars, level_of(reading.record))


def _margin_ft(facts: Facts, reading: Logged[CrossCheck]) -> int:
    return _tolerance_ft(facts, reading) - abs(reading.record.difference_ft)


def _split(reading: Logged[CrossCheck]) -> str:
    """Say how far the altimeters were apart, where and when."""
    check = reading.record
    return (
        f"altimeters {abs(check.difference_ft)} ft apart at {show_level(level_of(check))}"
        f" on {show_instant(check.taken_at)}"
    )


def _numbers(reading: Logged[CrossCheck]) -> dict[str, int | str]:
    check = reading.record
    return {
        "difference_ft": check.difference_ft,
        "level": level_of(check),
        "taken_at": show_instant(check.taken_at),
    }


def _disagreement(facts: Facts, reading: Logged[CrossCheck]) -> Result:
    """Say that a reading beyond tolerance stands, and why what came after does not clear it."""
    tolerance = _tolerance_ft(facts, reading)
    review = judging_review(facts, reading, reading.record.taken_at)
    same_day = [
        work
        for work in mending(facts, PRIMARIES)
        if not work.before(reading.record.taken_at, facts.time_zone)
    ]
    evidence: tuple[Ref, ...] = (reading.ref,)
    because = ""
    if review is not None:
        evidence, because = (reading.ref, review.ref), "; the review does not accept it"
    elif same_day:
        evidence, because = (reading.ref, same_day[-1].ref), "; work that day may have come first"
    elif _later_good(facts, reading):
        because = "; good readings since do not clear it"
    return not_met(
        f"{_split(reading)}, limit {tolerance} ft{because}",
        highest_level=BELOW_RVSM,
        remedy=(
            "Report the altimetry as defective, have the cause found, and record the work with "
            "what it touched; or record the maintenance controller's accepting review of entry "
            f"#{reading.first}."
        ),
        values=_numbers(reading),
        limits={"tolerance_ft": tolerance},
        margin=Margin(value=_margin_ft(facts, reading), unit="ft"),
        evidence=evidence,
        sources=_sources(facts),
    )


def _later_good(facts: Facts, reading: Logged[CrossCheck]) -> bool:
    return any(
        later.record.taken_at > reading.record.taken_at and _margin_ft(facts, later) >= 0
        for later in newest_flight_readings(facts)
    )


def _agreement(
    facts: Facts, readings: tuple[Logged[CrossCheck], ...], cleared: Mapping[Ref, Ref]
) -> Result:
    """Give the worst difference of the newest flight, apart from readings that were cleared."""
    good = [reading for reading in readings if reading.ref not in cleared]
    worst = min(good or readings, key=lambda reading: _margin_ft(facts, reading))
    tolerance = _tolerance_ft(facts, worst)
    clearing = cleared.get(worst.ref)
    because = "" if clearing is None else f", cleared by entry #{clearing.entry}"
    return met(
        f"{_split(worst)}, limit {tolerance} ft{because}",
        values=_numbers(worst),
        limits={"tolerance_ft": tolerance},
        margin=Margin(value=_margin_ft(facts, worst), unit="ft"),
        evidence=(worst.ref,) if clearing is None else (worst.ref, clearing),
        sources=_sources(facts),
    )


def _sources(facts: Facts) -> tuple[str, ...]:
    return (authority(facts.particulars.authority).crosscheck_tolerance_ft.source.key,)


@rule("spa-rvsm-105-pre-flight")
def ground_check_out_of_limit(facts: Facts) -> Iterator[Result]:
    """Altimeter too far from the known elevation at the newest check on the ground.

    Checks: The newest check on the ground that does not come before work on the altimetry: each
    primary altimeter on the QNH against the elevation of the place, within the published tolerance
    or the airframe's own where it is tighter; and the two primaries against each other, within the
    75 ft that Europe's text sets for both checks together, or the lowest row of the airframe's own
    table where that is tighter. The United States leave the second to the manual: there that row
    alone is a limit, and more than 75 ft apart is advice. A difference of exactly the tolerance
    passes.

    Why: The ground is the one place where the true height is known. An altimeter that is wrong
    there is wrong at altitude.

    Remedy: Check the QNH and the elevation of the spot, and compare again: the newest check counts.
    When it fails again, report the altimetry as defective and have it put right. Record each check.

    Known problems: That the circular of the United States gives 75 ft for the elevation alone is
    from memory. In Australia and New Zealand the European figures stand in. A table whose lowest
    row is for a level high above the ground says little of the ground. A wrong QNH or elevation
    looks like a wrong altimeter. The check before this very flight stands among the checks still to
    make.
    """
    readings = on_ground(facts)
    work = newest_after(facts, PRIMARIES, readings[-1]) if readings else None
    if not readings or work is not None:
        since = "" if work is None else f" since the altimetry work of {work.day}"
        yield advice(
            f"no check against a known elevation on record{since}",
            remedy="Compare both altimeters with the elevation before flight; record it with "
            "`rvsmlog crosscheck log`.",
            evidence=(facts.airframe.ref if work is None else work.ref,),
        )
        return
    yield _ground(facts, readings[-1])


def _ground(facts: Facts, reading: Logged[CrossCheck]) -> Result:
    """Judge one check on the ground: by the elevation first, then of one altimeter by the other."""
    check, airframe = reading.record, facts.particulars
    errors = _elevation_errors_ft(check)
    number, error = max(enumerate(errors, start=1), key=lambda item: abs(item[1]))
    tolerance, between = ground_tolerance_ft(airframe), between_on_ground_ft(airframe)
    apart, limits = abs(check.difference_ft), {"tolerance_ft": tolerance}
    left = tolerance - abs(error)
    says = f"altimeter {number} {error:+d} ft from elevation, limit {tolerance} ft"
    if between is not None:
        limits["difference_tolerance_ft"] = between
        if left >= 0 and apart > between:
            left, says = between - apart, f"altimeters {apart} ft apart, limit {between} ft"
    base = by_margin(
        f"{says}, on {show_instant(check.taken_at)}",
        Margin(value=left, unit="ft"),
        remedy="Check QNH and elevation, compare again and record it with `rvsmlog crosscheck "
        "log`; when it fails again, have the altimetry put right and record the work.",
        values={
            "error_1_ft": errors[0],
            "error_2_ft": errors[1],
            "difference_ft": check.difference_ft,
            "taken_at": show_instant(check.taken_at),
        },
        limits=limits,
        evidence=(reading.ref,),
        sources=_ground_sources(facts),
    )
    if base.outcome is Outcome.NOT_MET or apart <= GROUND_BETWEEN_TOLERANCE_FT.value:
        return base
    return _left_to_manual(base, apart, between)


def _left_to_manual(base: Result, apart: int, own: int | None) -> Result:
    """Say that only the manual tells whether two altimeters so far apart on the ground agree."""
    known = "none on record" if own is None else f"{own} ft by the lowest row on record"
    return replace(
        base,
        outcome=Outcome.ADVICE,
        says=f"{base.says}; altimeters {apart} ft apart, the manual's limit: {known}",
        remedy="Look up in the aeroplane's manual how far the two may be apart on the ground "
        f"({GROUND_BETWEEN_TOLERANCE_FT.value} ft in Europe), and enter it as the lowest row of "
        "--primary-tolerance. Where it is passed, have the altimetry put right.",
    )


def _ground_sources(facts: Facts) -> tuple[str, ...]:
    """Name where the limits on the ground stand."""
    home = authority(facts.particulars.authority)
    figures = (home.ground_check_tolerance_ft, home.ground_between_ft)
    return tuple(dict.fromkeys(figure.source.key for figure in figures if figure is not None))


def _elevation_errors_ft(check: CrossCheck) -> tuple[int, int]:
    """Give each primary minus the known elevation, which every check on the ground has."""
    elevation = check.field_elevation_ft or 0
    return (check.primary_1_ft - elevation, check.primary_2_ft - elevation)
