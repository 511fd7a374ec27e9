"""The fleet at a glance: the highest level of each airframe, what sets it, and what comes next."""

from collections.abc import Iterable
from datetime import date

from rvsmlog.answers.due import DueItem, FallingDue, next_due, upcoming
from rvsmlog.dates import local_day
from rvsmlog.errors import RvsmlogError
from rvsmlog.facts import Facts, NotJudged, Seal
from rvsmlog.findings import NO_FLIGHT
from rvsmlog.frozen import dataclass
from rvsmlog.resting import resting_collector
from rvsmlog.rules import RULES
from rvsmlog.rules.crosschecks import newest_in_flight
from rvsmlog.rules.dated import rules_for
from rvsmlog.science.drift import WARM_UP
from rvsmlog.science.drift_log import settled
from rvsmlog.verdict import judged

#: How many things that fall due a page has room for beside an airframe.
MOST_DUE = 3


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
        Highest flight level today; None when it may not fly, or is not judged.
    set_by : tuple of str
        Slugs of the rules that set it.
    pilot_judged : bool
        Whether the pilot is judged too: not where several are on record.
    next_due : FallingDue or None
        What falls due next, of what no ordinary flight renews; what is overdue comes first.
    due : tuple of DueItem
        The same and what follows it, with what each will cost, as far as that was asked.
    crosscheck : LastCrossCheck or None
        None when none in flight is on record.
    drift : str or None
        ``alarm``, ``none``, or the flights on record of those wanted, such as ``12/20``; None
        where no cross-check in flight came since the altimetry was disturbed.
    certificated : int or None
        Its highest certificated level; None when it is not judged.
    time_zone : str
        The operator's.
    seals : tuple of Seal
        The newest entries known of the logbooks that were read.
    not_judged : NotJudged or None
        Why nothing can be said of it; None where all the rest holds.
    """

    airframe: str
    highest_level: int | None = None
    set_by: tuple[str, ...] = ()
    pilot_judged: bool = True
    next_due: FallingDue | None = None
    due: tuple[DueItem, ...] = ()
    crosscheck: LastCrossCheck | None = None
    drift: str | None = None
    certificated: int | None = None
    time_zone: str = "UTC"
    seals: tuple[Seal, ...] = ()
    not_judged: NotJudged | None = None


def board_rows(fleet: Iterable[Facts | NotJudged], most_due: int = 1) -> tuple[BoardRow, ...]:
    """Give one row for each airframe, in the order given.

    Parameters
    ----------
    fleet : iterable of Facts or NotJudged
        As of today, without a planned level or a pilot; each is let go once its row is made.
    most_due : int
        How many of the things that fall due next each row has with what they will cost; none for a
        glance, which takes an eighth less time.
    """
    with resting_collector():
        return tuple(_row(each, most_due) for each in fleet)


def _row(found: Facts | NotJudged, most_due: int) -> BoardRow:
    """Judge one airframe, or say why it cannot be judged."""
    if isinstance(found, NotJudged):
        return BoardRow(airframe=found.airframe, not_judged=found)
    try:
        return _judged(found, most_due)
    except RvsmlogError as fault:
        why = found.not_judged(fault)
        return BoardRow(airframe=why.airframe, seals=found.seals, not_judged=why)


def _judged(facts: Facts, most_due: int) -> BoardRow:
    """Judge one airframe."""
    rules = rules_for(facts)
    pilot = len(rules) == len(RULES)
    findings, highest = judged(facts, rules, limits_only=True)
    due = upcoming(facts, most_due, pilots=pilot, found=findings) if most_due else ()
    lowest = NO_FLIGHT if highest is None else highest
    set_by = [each.rule for each in findings if each.highest_level == lowest]
    return BoardRow(
        airframe=facts.particulars.registration,
        highest_level=highest,
        set_by=tuple(dict.fromkeys(set_by)),
        pilot_judged=pilot,
        next_due=due[0] if due else next_due(facts, pilots=pilot),
        due=due,
        crosscheck=_crosscheck(facts),
        drift=_drift(facts),
        certificated=facts.particulars.highest_level,
        time_zone=facts.time_zone,
        seals=facts.seals,
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
