"""How much an airframe flies lately, and when it will have flown so many hours more."""

from datetime import date, timedelta

from rvsmlog.dates import local_day
from rvsmlog.facts import Facts
from rvsmlog.frozen import dataclass
from rvsmlog.rules.term import Term

#: Flights over fewer days tell no rate.
SHORTEST_DAYS = 3
_DAY = timedelta(days=1)
#: A forecast beyond ten years is none.
_LONGEST_DAYS = 3653


@dataclass(frozen=True, slots=True, kw_only=True)
class FlyingRate:
    """The recent rate of flying.

    Parameters
    ----------
    hours_a_day : float
        Airframe hours flown since the first of the flights, over the days from then to now: days
        on the ground count too.
    flights : int
        How many flights on record it rests on.
    since : date
        The day of the first.
    """

    hours_a_day: float
    flights: int
    since: date

    def __str__(self) -> str:
        return (
            f"at {self.hours_a_day:.2f} h a day, as since {self.since} "
            f"(the newest {self.flights} flights)"
        )


def flying_rate(facts: Facts) -> FlyingRate | None:
    """Give the rate of flying over the newest flights on record.

    Returns
    -------
    FlyingRate or None
        None where fewer than two flights with airframe hours are on record, they lie within
        :data:`SHORTEST_DAYS`, or the hours run backwards.
    """
    flown = [
        (logged.record.on_at, logged.record.airframe_hours)
        for logged in facts.flights
        if logged.record.airframe_hours is not None
    ]
    if not flown:
        return None
    (since, before), (_, now) = flown[0], flown[-1]
    days = (facts.now - since) / _DAY
    if len(flown) < 2 or days < SHORTEST_DAYS or now < before:  # noqa: PLR2004  # two make a span
        return None
    return FlyingRate(
        hours_a_day=(now - before) / days,
        flights=len(flown),
        since=local_day(since, facts.time_zone),
    )


def forecast_on(facts: Facts, term: Term | None, rate: FlyingRate | None) -> date | None:
    """Give the day by which the hours of a term will have been flown; never before its own day.

    Returns
    -------
    date or None
        None where no hours carry the term, and where it cannot be told.
    """
    if term is None or term.hours_left is None:
        return None
    flown = reached_on(facts, rate, term.hours_left)
    return None if flown is None else max(flown, term.not_before or flown)


def reached_on(facts: Facts, rate: FlyingRate | None, hours: float) -> date | None:
    """Give the last day before so many more hours will have been flown.

    Parameters
    ----------
    facts : Facts
        As of today.
    rate : FlyingRate or None
        The rate at which the flying goes on.
    hours : float
        Hours from the newest flight.

    Returns
    -------
    date or None
        None without a rate, and where ten years will not do.
    """
    if rate is None or rate.hours_a_day <= 0 or hours > rate.hours_a_day * _LONGEST_DAYS:
        return None
    return facts.today + timedelta(days=max(0, int(hours / rate.hours_a_day)))
