"""A year of invented flights: two to four a week, between invented aerodromes."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from random import Random

FIRST_DAY = date(2025, 11, 24)
LAST_DAY = date(2026, 11, 20)

_GROUND_SPEED_KT = 258.0
_CLIMB_AND_APPROACH = timedelta(minutes=19)
_LOWEST_RVSM_LEVEL = 290
_NAUTICAL_MILES_PER_DEGREE = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Aerodrome:
    """An aerodrome that does not exist."""

    code: str
    elevation_ft: int
    latitude_deg: float
    longitude_deg: float


AERODROMES = (
    Aerodrome(code="QXAR", elevation_ft=5310, latitude_deg=39.1, longitude_deg=-103.2),
    Aerodrome(code="QXBO", elevation_ft=690, latitude_deg=36.4, longitude_deg=-94.7),
    Aerodrome(code="QXCE", elevation_ft=4620, latitude_deg=43.4, longitude_deg=-107.3),
    Aerodrome(code="QXDU", elevation_ft=2240, latitude_deg=33.2, longitude_deg=-99.4),
    Aerodrome(code="QXEL", elevation_ft=130, latitude_deg=31.3, longitude_deg=-88.6),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trip:
    """One flight: its times in UTC, its level, and the part of it in RVSM airspace."""

    departure: Aerodrome
    destination: Aerodrome
    off_at: datetime
    on_at: datetime
    level: int
    pilot: str
    airframe_hours: float
    rvsm_from: datetime | None = None
    rvsm_to: datetime | None = None

    @property
    def day(self) -> date:
        """The day of the take-off."""
        return self.off_at.date()

    @property
    def at_level(self) -> tuple[datetime, datetime]:
        """From when to when the cruising level was held."""
        return self.off_at + timedelta(minutes=28), self.on_at - timedelta(minutes=26)

    def position(self, instant: datetime) -> tuple[float, float]:
        """Give latitude and longitude at an instant, degrees to one decimal."""
        part = (instant - self.off_at) / (self.on_at - self.off_at)
        start, end = self.departure, self.destination
        return (
            round(start.latitude_deg + part * (end.latitude_deg - start.latitude_deg), 1),
            round(start.longitude_deg + part * (end.longitude_deg - start.longitude_deg), 1),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Flying:
    """How an aeroplane is flown.

    Parameters
    ----------
    hours : float
        Airframe hours before its first flight here.
    pilots : tuple of str
        Who flies it.
    first, last : date
        The days between which it flies.
    level_from : dict of date to int
        From a day on it goes no higher than a level.
    """

    hours: float
    pilots: tuple[str, ...]
    first: date = FIRST_DAY
    last: date = LAST_DAY
    level_from: dict[date, int] = field(default_factory=dict)

    def highest(self, day: date) -> int:
        """Give the highest level flown on a day."""
        return min([310, *(level for start, level in self.level_from.items() if day >= start)])


def trips(rng: Random, flying: Flying) -> Iterator[Trip]:
    """Make an aeroplane's flights, one after the other."""
    here, hours = AERODROMES[0], flying.hours
    for day in _days(rng, flying):
        there = rng.choice([place for place in AERODROMES if place is not here])
        off_at = datetime.combine(day, time(13), UTC) + timedelta(minutes=rng.randrange(0, 300))
        seconds = _distance_nm(here, there) / (_GROUND_SPEED_KT + rng.gauss(0.0, 14.0)) * 3600.0
        minutes = round(seconds / 60.0)
        on_at = off_at + timedelta(minutes=minutes) + _CLIMB_AND_APPROACH
        hours = round(hours + (on_at - off_at) / timedelta(hours=1), 1)
        level = _level(rng, here, there, flying.highest(day))
        rvsm = level >= _LOWEST_RVSM_LEVEL
        yield Trip(
            departure=here,
            destination=there,
            off_at=off_at,
            on_at=on_at,
            level=level,
            pilot=rng.choice(flying.pilots),
            airframe_hours=hours,
            rvsm_from=off_at + timedelta(minutes=25) if rvsm else None,
            rvsm_to=on_at - timedelta(minutes=23) if rvsm else None,
        )
        here = there


def _days(rng: Random, flying: Flying) -> Iterator[date]:
    """Choose two to four days of each week."""
    monday = FIRST_DAY
    while monday <= LAST_DAY:
        for number in sorted(rng.sample(range(7), rng.choice((2, 3, 3, 4)))):
            day = monday + timedelta(days=number)
            if flying.first <= day <= min(flying.last, LAST_DAY):
                yield day
        monday += timedelta(days=7)


def _level(rng: Random, here: Aerodrome, there: Aerodrome, highest: int) -> int:
    """Choose a cruising level that fits the direction: odd to the east, even to the west."""
    eastward = there.longitude_deg > here.longitude_deg
    levels, weights = ((310, 290), (3, 1)) if eastward else ((300, 280), (4, 1))
    level = rng.choices(levels, weights)[0]
    while level > highest:
        level -= 20
    return level


def _distance_nm(here: Aerodrome, there: Aerodrome) -> float:
    """Give the distance, near enough for an invented flight."""
    middle = math.radians((here.latitude_deg + there.latitude_deg) / 2.0)
    north = there.latitude_deg - here.latitude_deg
    east = (there.longitude_deg - here.longitude_deg) * math.cos(middle)
    return math.hypot(north, east) * _NAUTICAL_MILES_PER_DEGREE
