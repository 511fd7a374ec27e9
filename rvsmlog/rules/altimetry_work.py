"""Work on the altimetry, and what it says about readings taken before it."""

from collections.abc import Iterator
from datetime import date, datetime

from rvsmlog.dates import local_day, start_of_day
from rvsmlog.facts import Facts, Logged
from rvsmlog.frozen import dataclass
from rvsmlog.once import once
from rvsmlog.records.base import Ref
from rvsmlog.records.flights import CrossCheck
from rvsmlog.rules.places import swapped
from rvsmlog.rules.reviews import accepting_review
from rvsmlog.standards.equipment import Function


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """Which work counts for one question.

    Parameters
    ----------
    words : frozenset of str
        Words of :data:`rvsmlog.records.airframe.ALTIMETRY_WORK`.
    functions : frozenset of str
        Functions whose fitting or removal counts.
    standby : bool
        Whether work on the standby altimeter counts.
    """

    words: frozenset[str]
    functions: frozenset[str]
    standby: bool = False


_SYSTEM_WORDS = frozenset(
    {"static-system-opened", "altimeter", "air-data-computer", "static-port-area"}
)
_SYSTEM_UNITS = frozenset({Function.ALTIMETER, Function.AIR_DATA_COMPUTER, Function.STATIC_SOURCE})
#: What may change the readings of the two primary altimeters. Altitude reporting is not among it.
PRIMARIES = Scope(words=_SYSTEM_WORDS, functions=_SYSTEM_UNITS)
#: The same with the standby altimeter.
STANDBY = Scope(
    words=_SYSTEM_WORDS, functions=_SYSTEM_UNITS | {Function.STANDBY_ALTIMETER}, standby=True
)
#: The same as for the primaries, with altitude reporting and the transponder.
REPORTING = Scope(
    words=_SYSTEM_WORDS | {"altitude-reporting"}, functions=_SYSTEM_UNITS | {Function.TRANSPONDER}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Disturbance:
    """Work after which earlier readings no longer tell how the altimetry is.

    Parameters
    ----------
    ref : Ref
        Its entry.
    first : int
        The number under which it was first made.
    day : date
        Calendar day in the operator's zone.
    instant : datetime or None
        None where the record says the day only.
    mends : bool
        Whether a fault may be gone after it. Swapped units bring their faults along.
    """

    ref: Ref
    first: int
    day: date
    instant: datetime | None = None
    mends: bool = True

    def after(self, taken_at: datetime, zone: str) -> bool:
        """Whether it certainly came after a reading: work of the same day may have come before."""
        if self.instant is not None:
            return self.instant > taken_at
        return self.day > local_day(taken_at, zone)

    def before(self, taken_at: datetime, zone: str) -> bool:
        """Whether it certainly came before a reading."""
        if self.instant is not None:
            return self.instant < taken_at
        return self.day < local_day(taken_at, zone)

    def order(self, zone: str) -> datetime:
        """Give the earliest instant at which it can have been."""
        return self.instant or start_of_day(self.day, zone)


@once
def disturbances(facts: Facts, scope: Scope) -> tuple[Disturbance, ...]:
    """Give all work of a scope, from the earliest to the latest."""
    found = [
        *_worked(facts, scope),
        *_rectified(facts, scope),
        *_exchanged(facts, scope),
        *_swapped(facts, scope),
    ]
    return tuple(sorted(found, key=lambda item: (item.order(facts.time_zone), item.ref.entry)))


@once
def mending(facts: Facts, scope: Scope) -> tuple[Disturbance, ...]:
    """Give the work of a scope after which a fault may be gone, from the earliest to the latest."""
    return tuple(item for item in disturbances(facts, scope) if item.mends)


def newest_after(facts: Facts, scope: Scope, reading: Logged[CrossCheck]) -> Disturbance | None:
    """Give the newest mending work that certainly came after a reading, None without any."""
    taken_at = reading.record.taken_at
    later = [item for item in mending(facts, scope) if item.after(taken_at, facts.time_zone)]
    return later[-1] if later else None


def cleared_by(facts: Facts, scope: Scope, reading: Logged[CrossCheck]) -> Ref | None:
    """Give the entry by which a reading no longer counts against the altimetry.

    That is work that certainly came after it, or the controller's review that accepts it. A later
    good reading is none: a fault may be intermittent.
    """
    work = newest_after(facts, scope, reading)
    review = accepting_review(facts, reading, reading.record.taken_at)
    if work is not None:
        return work.ref
    return None if review is None else review.ref


def _worked(facts: Facts, scope: Scope) -> Iterator[Disturbance]:
    for logged in facts.work:
        work = logged.record
        of_standby = (work.position or "").casefold().startswith("standby")
        if scope.words.intersection(work.work) and (scope.standby or not of_standby):
            yield Disturbance(ref=logged.ref, first=logged.first, day=work.done_on)


def _rectified(facts: Facts, scope: Scope) -> Iterator[Disturbance]:
    for case in facts.defects:
        logged = case.rectification
        if logged is not None and scope.words.intersection(logged.record.touched or ()):
            instant = logged.record.done_at
            yield Disturbance(
                ref=logged.ref,
                first=logged.first,
                day=local_day(instant, facts.time_zone),
                instant=instant,
            )


def _exchanged(facts: Facts, scope: Scope) -> Iterator[Disturbance]:
    for case in facts.equipment:
        fitted, removed = case.equipment, case.removal
        if fitted.record.function not in scope.functions:
            continue
        yield Disturbance(ref=fitted.ref, first=fitted.first, day=fitted.record.fitted_on)
        if removed is not None:
            yield Disturbance(ref=removed.ref, first=removed.first, day=removed.record.removed_on)


def _swapped(facts: Facts, scope: Scope) -> Iterator[Disturbance]:
    for item in swapped(facts, scope.functions):
        instant = item.swap.record.swapped_at
        yield Disturbance(
            ref=item.swap.ref,
            first=item.swap.first,
            day=local_day(instant, facts.time_zone),
            instant=instant,
            mends=False,
        )
