"""Weather from the temperatures noted in the aeroplane's own climbs."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.frozen import dataclass
from rvsmlog.science.soundings import height_of_pressure_ft
from rvsmlog.science.weather_choice import Chooser, Weather
from rvsmlog.science.weather_csv import ClimbLevel, Ground, climb_sounding
from rvsmlog.science.weather_field import Place
from rvsmlog.science.weather_worth import WeatherSource

#: Rows of one climb lie no farther apart, and its ground check no longer before it; a climb serves
#: for its own flight only (common practice, no source).
SAME_CLIMB = timedelta(hours=3)
SERVES = timedelta(hours=4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Climb:
    """One climb.

    Parameters
    ----------
    begun_at, ended_at : datetime
        When its first and last temperature was noted.
    levels : tuple of ClimbLevel
        What was noted.
    """

    begun_at: datetime
    ended_at: datetime
    levels: tuple[ClimbLevel, ...]


def climbs(noted: Iterable[tuple[datetime, ClimbLevel]]) -> tuple[Climb, ...]:
    """Part noted temperatures into climbs.

    Parameters
    ----------
    noted : iterable of (datetime, ClimbLevel)
        In any order.
    """
    groups: list[list[tuple[datetime, ClimbLevel]]] = []
    for row in sorted(noted, key=lambda each: each[0]):
        if groups and row[0] - groups[-1][-1][0] <= SAME_CLIMB:
            groups[-1].append(row)
        else:
            groups.append([row])
    return tuple(
        Climb(
            begun_at=group[0][0],
            ended_at=group[-1][0],
            levels=tuple(level for _, level in group),
        )
        for group in groups
    )


def own_climbs(
    found: Sequence[Climb], grounds: Sequence[Ground], *, humidity_percent: float
) -> Chooser:
    """Give weather from own climbs, each from the ground check of its flight.

    Parameters
    ----------
    found : sequence of Climb
        The climbs.
    grounds : sequence of Ground
        Ground checks with pressure and temperature, in order of time.
    humidity_percent : float
        Relative humidity assumed.

    Returns
    -------
    callable
        Raises OutOfRangeError for a place without a climb before it.
    """

    def choose(place: Place, pressure_hpa: float) -> Weather:
        climb = _climb_of(found, place)
        before = [each for each in grounds if _begins(each, climb)]
        if not before:
            raise OutOfRangeError(
                "no ground check with QNH and static air temperature before the climb",
                "log the ground check with --static-air-temperature-c",
            )
        try:
            sounding = climb_sounding(
                f"own climb of {climb.begun_at:%Y-%m-%dT%H:%MZ}",
                before[-1],
                climb.levels,
                humidity_percent=humidity_percent,
            )
            height_of_pressure_ft(sounding, pressure_hpa)
        except InputError as error:
            raise OutOfRangeError(f"the climb does not serve: {error.message}", "") from None
        return Weather(source=WeatherSource.OWN_CLIMB, profiles=(sounding,))

    return choose


def _climb_of(found: Sequence[Climb], place: Place) -> Climb:
    near = [each for each in found if timedelta() <= place.at - each.ended_at <= SERVES]
    if not near:
        raise OutOfRangeError("no climb before it", "give the climb of each flight")
    return near[-1]


def _begins(ground: Ground, climb: Climb) -> bool:
    return timedelta() <= climb.begun_at - ground.valid_at <= SAME_CLIMB
