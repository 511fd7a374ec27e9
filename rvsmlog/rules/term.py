"""How long something on record counts: rules and due list go by the same terms."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from rvsmlog.dates import local_day, start_of_day
from rvsmlog.facts import Facts
from rvsmlog.frozen import dataclass, replace
from rvsmlog.records.base import Ref

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """How long one thing on record counts.

    Parameters
    ----------
    rule : str
        Slug of the rule that asks for it.
    subject : str
        Which of the rule's things it is: a position, an entry, a pilot's code; ``""`` where the
        rule asks for one thing only. It stays the same when a newer entry takes its place.
    what : str
        What ends, in running text.
    last_day : date or None
        The last day on which it counts; None where only more flying hours end it.
    evidence : tuple of Ref
        The entries it rests on.
    remedy : str
        What puts it right in good time; a rule that then finds a fault says it better.
    last_hours : float or None
        Airframe hours up to which it counts, where hours carry it beyond a day.
    hours_left : float or None
        Hours from the newest flight to those.
    not_before : date or None
        With hours: the day up to which it counts however much is flown.
    pilot : str or None
        The pilot whose it is; None for the airframe's.
    routine : bool
        Whether any ordinary flight renews it.
    limits : bool
        Whether the level may hang on it; False for a duty that leaves the level as it is.
    """

    rule: str
    subject: str
    what: str
    last_day: date | None
    evidence: tuple[Ref, ...]
    remedy: str
    last_hours: float | None = None
    hours_left: float | None = None
    not_before: date | None = None
    pilot: str | None = None
    routine: bool = False
    limits: bool = True

    @property
    def key(self) -> str:
        """The term's own name among those of one airframe."""
        return f"{self.rule}.{self.subject}" if self.subject else self.rule


def on_day(facts: Facts, day: date) -> Facts:
    """Give the facts as they would be at the end of another day, with nothing more on record.

    Today stays at its instant.
    """
    if day == facts.today:
        return facts
    question = replace(facts.question, at=last_minute(day, facts.time_zone))
    return replace(facts, today=day, question=question)


def last_minute(day: date, zone_name: str) -> datetime:
    """Give the instant at which the last minute of a day begins in a time zone.

    What is looked ahead to is looked at then: a flight may go at any time of that day.
    """
    return start_of_day(day + _DAY, zone_name) - timedelta(minutes=1)


def landing_day(facts: Facts) -> date:
    """Give the earliest day on which the flight can end, by the minutes at the level if known."""
    minutes = facts.question.flight.cruise_minutes or 0
    if facts.question.whole_day:
        return facts.today
    begins, ends = (
        local_day(instant, facts.time_zone)
        for instant in (facts.now, facts.now + timedelta(minutes=minutes))
    )
    return facts.today + (ends - begins)


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """Days on which something counts, the first and the last included; no last day: for ever."""

    first: date
    last: date | None

    def covers(self, day: date) -> bool:
        """Whether a day is one of them."""
        return self.first <= day and (self.last is None or day <= self.last)


def covered_until(spans: Iterable[Span], today: date) -> Span | None:
    """Give the days without a gap that hold today, or the last such days before it.

    Returns
    -------
    Span or None
        None when nothing has begun by today.
    """
    begun = sorted(
        (span for span in spans if span.last is None or span.first <= span.last),
        key=lambda span: span.first,
    )
    found: Span | None = None
    for span in begun:
        if found is not None and (found.last is None or span.first <= found.last + _DAY):
            lasts = None if None in (span.last, found.last) else _later(span.last, found.last)
            found = Span(first=found.first, last=lasts)
        elif span.first <= today:
            found = span
    return found


def _later(one: date | None, other: date | None) -> date | None:
    """Give the later of two days."""
    return max(day for day in (one, other) if day is not None)
