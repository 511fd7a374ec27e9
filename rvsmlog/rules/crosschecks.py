"""Whether the altimeters were compared: at all, lately, and since they were worked on."""

from collections.abc import Iterator
from datetime import date

from rvsmlog.dates import ago, days_left, interval_due, local_day, show_instant
from rvsmlog.facts import Facts, Logged
from rvsmlog.findings import Margin
from rvsmlog.records.flights import CrossCheck
from rvsmlog.rules.altimetry_work import PRIMARIES, Disturbance, disturbances
from rvsmlog.rules.base import Result, met, not_applicable, not_on_record, rule
from rvsmlog.rules.margins import BELOW_RVSM, by_margin
from rvsmlog.rules.readings import in_flight
from rvsmlog.rules.reviews import accepting_review
from rvsmlog.rules.term import Term
from rvsmlog.standards.rvsm import CROSSCHECK_MAX_AGE_DAYS, CROSSCHECKS_WANTED

_COMPARE = "Compare the altimeters and record it with `rvsmlog crosscheck log`"


@rule("practice", "nat-doc-001-3-5-1f")
def crosschecks_missing(facts: Facts) -> Iterator[Result]:
    """Too few altimeter cross-checks in flight on record.

    Checks: Whether at least two cross-checks in flight are on record at all.

    Why: Agreement of the altimeters at altitude shows on records or not at all. One reading shows
    one moment; two show that it was no accident.

    Remedy: Below RVSM airspace, compare the altimeters in level flight and record the cross-checks;
    or enter those that stand in the paper log, with their times.

    Known problems: How many are wanted is common practice; no published figure exists.
    """
    readings, wanted = in_flight(facts), CROSSCHECKS_WANTED.value
    values, limits = {"crosschecks": len(readings)}, {"crosschecks_wanted": wanted}
    evidence = tuple(logged.ref for logged in readings[-wanted:]) or (facts.airframe.ref,)
    if len(readings) >= wanted:
        yield met(
            f"{len(readings)} cross-checks in flight among the newest on record",
            values=values,
            limits=limits,
            evidence=evidence,
        )
        return
    yield not_on_record(
        f"{len(readings) or 'no'} cross-check in flight on record, {wanted} wanted",
        highest_level=BELOW_RVSM,
        remedy=f"{_COMPARE} in level flight below RVSM airspace; or enter those of the paper log.",
        values=values,
        limits=limits,
        evidence=evidence,
    )


@rule("practice")
def crosschecks_too_old(facts: Facts) -> Iterator[Result]:
    """Newest altimeter cross-check in flight too old.

    Checks: The age in days of the newest cross-check in flight, against the greatest age that is
    common practice or the operator's own where it is shorter. The last day counts.

    Why: Altimetry changes while an aeroplane stands: water and insects in static lines, work
    nearby. What was compared long ago says little about today.

    Remedy: Compare the altimeters in level flight below RVSM airspace and record the cross-check.

    Known problems: The greatest age is common practice; no published figure exists.
    """
    newest = newest_in_flight(facts)
    if newest is None:
        yield not_applicable("no cross-check in flight on record")
        return
    day, longest = _day_of(facts, newest), longest_age_days(facts)
    age = (facts.today - day).days
    yield by_margin(
        f"newest cross-check in flight is of {day}, {ago(age)}, limit {longest} days",
        Margin(value=days_left(interval_due(day, longest), facts.today), unit="days"),
        remedy=f"{_COMPARE} in level flight below RVSM airspace.",
        values={"age_days": age, "taken_at": show_instant(newest.record.taken_at)},
        limits={"max_age_days": longest},
        evidence=(newest.ref,),
    )


def crosscheck_terms(facts: Facts) -> Iterator[Term]:
    """Give the last day on which the newest cross-check in flight is recent enough."""
    newest = newest_in_flight(facts)
    if newest is not None:
        yield Term(
            rule=crosschecks_too_old.name,
            subject="",
            what="newest altimeter cross-check in flight",
            last_day=interval_due(_day_of(facts, newest), longest_age_days(facts)),
            evidence=(newest.ref,),
            remedy=f"{_COMPARE} in level flight.",
            routine=True,
        )


def newest_in_flight(facts: Facts) -> Logged[CrossCheck] | None:
    """Give the newest cross-check in flight, None without any."""
    readings = in_flight(facts)
    return readings[-1] if readings else None


def longest_age_days(facts: Facts) -> int:
    """Give the days after which a cross-check is too old: the operator's own where shorter."""
    published = CROSSCHECK_MAX_AGE_DAYS.value
    own = None if facts.operator is None else facts.operator.record.crosscheck_max_age_days
    return min(published, own or published)


def _day_of(facts: Facts, reading: Logged[CrossCheck]) -> date:
    return local_day(reading.record.taken_at, facts.time_zone)


@rule("practice", "rvsm-maintenance-guidance")
def altimeters_not_compared_since_work(facts: Facts) -> Iterator[Result]:
    """Altimeters not compared since the altimetry was worked on.

    Checks: Whether a cross-check, in flight or on the ground, certainly came after all work on the
    altimetry: recorded work, a rectification that touched it, or a unit fitted or removed. Where
    work and comparison carry the same day and no time, the maintenance controller's review that
    accepts the entry of each such work serves.

    Why: Work on the altimetry makes every earlier comparison worthless. A crossed line or a leak
    shows at the first comparison, which should not be the one at FL290.

    Remedy: Compare the altimeters with the known elevation before flight, and record the check. On
    the day of the work itself, have the maintenance controller record a review that accepts the
    work's entry.

    Known problems: Work recorded by its day alone may have come after a comparison of that day, so
    such a comparison does not count by itself.
    """
    work = disturbances(facts, PRIMARIES)
    if not work:
        yield not_applicable("no work on the altimetry on record")
        return
    newest_first = reversed(facts.crosschecks)
    since = next((each for each in newest_first if not _undecided(facts, work, each)), None)
    if since is not None:
        yield met(
            f"altimeters compared on {show_instant(since.record.taken_at)}, after work of "
            f"{work[-1].day}",
            evidence=(work[-1].ref, since.ref),
        )
        return
    yield _not_compared(facts, work)


def _undecided(
    facts: Facts, work: tuple[Disturbance, ...], reading: Logged[CrossCheck]
) -> tuple[Disturbance, ...]:
    """Give the work that did not certainly come before a reading and that no review accepts."""
    zone = facts.time_zone
    return tuple(
        item
        for item in work
        if not item.before(reading.record.taken_at, zone)
        and (
            item.after(reading.record.taken_at, zone)
            or accepting_review(facts, item, item.order(zone)) is None
        )
    )


def _not_compared(facts: Facts, work: tuple[Disturbance, ...]) -> Result:
    """Say that no comparison certainly came after the work, and whether one is of the same day."""
    last = work[-1]
    same_day = [
        logged
        for logged in facts.crosschecks
        if not any(item.after(logged.record.taken_at, facts.time_zone) for item in work)
    ]
    if same_day:
        blocking = _undecided(facts, work, same_day[-1])
        entries = ", ".join(f"#{item.first}" for item in blocking)
        return not_on_record(
            f"altimeters compared on the day of the work, {blocking[-1].day}: which was first is "
            "not known",
            highest_level=BELOW_RVSM,
            remedy="Have the maintenance controller record a review that accepts each entry of "
            f"that work ({entries}) with `rvsmlog defect review`, or compare again on a later day.",
            evidence=(*(item.ref for item in blocking), same_day[-1].ref),
        )
    return not_on_record(
        f"no altimeter cross-check on record since the altimetry work of {last.day}",
        highest_level=BELOW_RVSM,
        remedy=f"{_COMPARE}, on the ground at a known elevation or in flight below RVSM airspace.",
        evidence=(last.ref,),
    )
