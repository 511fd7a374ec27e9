"""Which weather, of all that a file holds, stands for an aeroplane's place and hour.

A profile nearby serves by itself; otherwise a plane is laid through the fewest near profiles that
lie all around, in place and, where the hours differ, in time. Where neither is there, there is no
weather, and the flight is left out: nothing is carried beyond what was observed.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, timedelta

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.frozen import dataclass
from rvsmlog.science.soundings import Sounding, height_of_pressure_ft
from rvsmlog.science.weather_field import (
    FEWEST_FOR_PLANE,
    NEAREST_TIME,
    Place,
    distance_km,
    nearest_sounding,
    plane_height_ft,
)
from rvsmlog.science.weather_worth import WORTH, WeatherSource

#: How far from the aeroplane the profiles of a plane may lie, in place and time (common practice,
#: no source): soundings are made every 12 hours, some 300 to 400 km apart.
PLANE_KM = 700.0
PLANE_TIME = timedelta(hours=6)
#: How many of the nearest profiles are tried, at each hour, until they lie all around.
_TRIED = (4, 6, 9)


@dataclass(frozen=True, slots=True, kw_only=True)
class Weather:
    """The weather chosen for a place.

    Parameters
    ----------
    source : WeatherSource
        What kind it is.
    profiles : tuple of Sounding
        One, or those through which a plane is laid.
    """

    source: WeatherSource
    profiles: tuple[Sounding, ...]

    @property
    def keys(self) -> tuple[str, ...]:
        """Names of the profiles."""
        return tuple(profile.key for profile in self.profiles)

    def height_ft(self, pressure_hpa: float, place: Place) -> float:
        """Give the geopotential height of a pressure surface over a place, feet."""
        if len(self.profiles) == 1:
            return height_of_pressure_ft(self.profiles[0], pressure_hpa)
        return plane_height_ft(self.profiles, pressure_hpa, place)


#: Gives the weather of a place for a pressure in hectopascals, or raises OutOfRangeError.
Chooser = Callable[[Place, float], Weather]


def worst(sources: Iterable[WeatherSource]) -> WeatherSource:
    """Give the kind of weather that is worth least."""
    return max(sources, key=lambda source: WORTH[source].sigma_ft)


class Profiles:
    """Profiles sorted by time, out of which the weather of a place is chosen.

    Parameters
    ----------
    profiles : iterable of Sounding
        In any order. Those without a time are left out.
    source : WeatherSource
        :attr:`~WeatherSource.SOUNDING`, or what the columns of an analysis or forecast are.
    """

    def __init__(self, profiles: Iterable[Sounding], source: WeatherSource) -> None:
        self.source = source
        self._by_time: dict[datetime, list[Sounding]] = {}
        for profile in profiles:
            if profile.valid_at is not None:
                self._by_time.setdefault(profile.valid_at, []).append(profile)
        self._times = sorted(self._by_time)

    def __call__(self, place: Place, pressure_hpa: float) -> Weather:
        """Choose the weather of a place.

        Raises
        ------
        OutOfRangeError
            When there is none for it.
        """
        alone, plane = self._alone, self._plane
        ways = (alone, plane) if self.source is WeatherSource.SOUNDING else (plane, alone)
        for way in ways:
            found = way(place, pressure_hpa)
            if found is not None:
                return found
        raise OutOfRangeError(
            "no weather near enough in place and time",
            "give a sounding within 150 km and 3 hours, or profiles all around the flight",
        )

    def _near(self, at: datetime, within: timedelta) -> list[datetime]:
        """Give the hours of profiles within some time."""
        first = bisect_left(self._times, at - within)
        return self._times[first : bisect_right(self._times, at + within)]

    def _alone(self, place: Place, pressure_hpa: float) -> Weather | None:
        """Take the nearest profile that gives the height wanted."""
        hours = self._near(place.at, NEAREST_TIME)
        near = [
            profile
            for hour in hours
            for profile in self._by_time[hour]
            if _gives(profile, pressure_hpa)
        ]
        try:
            return Weather(source=self.source, profiles=(nearest_sounding(near, place),))
        except OutOfRangeError:
            return None

    def _plane(self, place: Place, pressure_hpa: float) -> Weather | None:
        """Take the fewest near profiles that lie all around."""
        source = self.source
        if source is WeatherSource.SOUNDING:
            source = WeatherSource.SOUNDING_PLANE
        ranked = [
            _ranked(self._by_time[hour], place, pressure_hpa)
            for hour in _around(self._near(place.at, PLANE_TIME), place.at)
        ]
        for count in _TRIED:
            chosen = Weather(
                source=source, profiles=tuple(each for some in ranked for each in some[:count])
            )
            if len(chosen.profiles) < FEWEST_FOR_PLANE:
                continue
            try:
                chosen.height_ft(pressure_hpa, place)
            except InputError:  # not all around, or in one line: try more
                continue
            return chosen
        return None


def _around(hours: Sequence[datetime], at: datetime) -> tuple[datetime, ...]:
    """Give the last hour before an instant and the first after it; one where it is that hour."""
    before = [hour for hour in hours if hour <= at][-1:]
    after = [hour for hour in hours if hour >= at][:1]
    return tuple(sorted({*before, *after}))


def _ranked(profiles: Sequence[Sounding], place: Place, pressure_hpa: float) -> list[Sounding]:
    """Give the profiles that serve, the nearest first."""
    far = [(distance_km(place, each), number) for number, each in enumerate(profiles)]
    near = sorted(pair for pair in far if pair[0] <= PLANE_KM)
    return [profiles[number] for _, number in near if _gives(profiles[number], pressure_hpa)]


def _gives(profile: Sounding, pressure_hpa: float) -> bool:
    """Say whether a profile gives the height of a pressure surface."""
    try:
        height_of_pressure_ft(profile, pressure_hpa)
    except OutOfRangeError:
        return False
    return True
