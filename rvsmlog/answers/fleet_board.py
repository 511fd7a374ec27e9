"""The fleet at a glance: the highest level of each airframe, what sets it, and what comes next."""

from collections.abc import Iterable
from datetime import date

from rvsmlog.answers.due import DueItem, upcoming
from rvsmlog.dates import local_day
from rvsmlog.facts import Facts
from rvsmlog.findings import NO_FLIGHT
from rvsmlog.frozen import dataclass
from rvsmlog.rules import RULES
from rvsmlog.rules.crosschecks import newest_in_flight
from rvsmlog.rules.dated import rules_for
from rvsmlog.science.drift import WARM_UP
from rvsmlog.science.drift_log import settled
from rvsmlog.verdict import judge


@dataclass(frozen=True, slots=True, kw_only=True)
class LastCrossCheck:
    """The newest altimeter cross-check in flight.

    Parameters
    ----------
    day : date
        In the operator's time zone.
    age_days : int
        Since then.
    difference_ft : int
        Altimeter 1 minus altimeter 2, feet.
    """

    day: date
    age_days: int
    difference_ft: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardRow:
    """One airframe.

    Parameters
    ----------
    airframe : str
        Registration.
    highest_level : int or None
        Highest flight level today; None when it may not fly.
    set_by : tuple of str
        Slugs of the rules that set it.
    pilot_judged : bool
        Whether the pilot is judged too: not where several are on record.
    next_due : DueItem or None
        What falls due next, of what no ordinary flight renews; what is overdue comes first.
    crosscheck : LastCrossCheck or None
        None when none in flight is on record.
    drift : str or None
        ``alarm``, ``none``, or the flights on record of those wanted, such as ``12/20``; None
        where no cross-check in flight came since the altimetry was disturbed.
    """

    airframe: str
    highest_level: int | None
    set_by: tuple[str, ...]
    pilot_judged: bool
    next_due: DueItem | None
    crosscheck: LastCrossCheck | None
    drift: str | None


def board_rows(fleet: Iterable[Facts]) -> tuple[BoardRow, ...]:
    """Give one row for each airframe, in the order given.

    Parameters
    ----------
    fleet : iterable of Facts
        As of today, without a planned level or a pilot.
    """
    return tuple(_row(facts) for facts in fleet)


def _row(facts: Facts) -> BoardRow:
    """Judge one airframe."""
    rules = rules_for(facts)
    judged = len(rules) == len(RULES)
    verdict = judge(facts, rules)
    due = upcoming(facts, 1, pilots=judged, found=verdict.findings)
    lowest = NO_FLIGHT if verdict.highest_level is None else verdict.highest_level
    set_by = [each.rule for each in verdict.findings if each.highest_level == lowest]
    return BoardRow(
        airframe=verdict.airframe,
        highest_level=verdict.highest_level,
        set_by=tuple(dict.fromkeys(set_by)),
        pilot_judged=judged,
        next_due=next(iter(due), None),
        crosscheck=_crosscheck(facts),
        drift=_drift(facts),
    )


def _drift(facts: Facts) -> str | None:
    """Say how the altimetry drifts."""
    bands = () if facts.drift is None else settled(facts.drift).bands
    if not bands:
        return None
    if any(band.state.alarm_at is not None for band in bands):
        return "alarm"
    if any(band.state.ready for band in bands):
        return "none"
    return f"{max(band.state.count for band in bands)}/{WARM_UP}"


def _crosscheck(facts: Facts) -> LastCrossCheck | None:
    """Give the newest cross-check in flight with its age."""
    newest = newest_in_flight(facts)
    if newest is None:
        return None
    day = local_day(newest.record.taken_at, facts.time_zone)
    return LastCrossCheck(
        day=day,
        age_days=(facts.today - day).days,
        difference_ft=newest.record.difference_ft,
    )
