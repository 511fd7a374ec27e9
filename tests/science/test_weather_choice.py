"""Which weather stands for a place: nearby first, all around otherwise, none beyond that.

150 km and 3 hours for a sounding by itself, 700 km and 6 hours for a plane: common practice, no
source. One degree of latitude is 111.2 km (2 pi 6,371 km / 360).
"""

from datetime import UTC, datetime, timedelta

import pytest

from rvsmlog.errors import OutOfRangeError
from rvsmlog.science.climbs import Climb, climbs, own_climbs
from rvsmlog.science.soundings import Sounding, SoundingLevel
from rvsmlog.science.weather_choice import Profiles, worst
from rvsmlog.science.weather_csv import ClimbLevel, Ground
from rvsmlog.science.weather_field import Place
from rvsmlog.science.weather_worth import WeatherSource

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)
HERE = Place(at=NOON, latitude_deg=40.0, longitude_deg=-100.0)
AROUND = ((-3, -4), (-3, 4), (3, -4), (3, 4))


def profile(
    north: float,
    east: float,
    hours: float = 0.0,
    *,
    height_ft: float = 30_000.0,
    lowest: float = 350.0,
) -> Sounding:
    """Give a profile so many degrees and hours from here, of one height at 300 hPa."""
    levels = (
        SoundingLevel(pressure_hpa=lowest, height_ft=height_ft - 3_000.0),
        SoundingLevel(pressure_hpa=300.0, height_ft=height_ft),
        SoundingLevel(pressure_hpa=250.0, height_ft=height_ft + 4_000.0),
    )
    return Sounding(
        station=f"{north} {east}",
        valid_at=NOON + timedelta(hours=hours),
        latitude_deg=40.0 + north,
        longitude_deg=-100.0 + east,
        levels=levels,
    )


@pytest.mark.parametrize(
    ("north", "hours", "serves"),
    [(1.34, 0, True), (1.36, 0, False), (0, 3, True), (0, -3, True), (0, 3.1, False)],
)
def test_a_sounding_serves_within_150_km_and_3_hours(
    north: float, hours: float, serves: bool
) -> None:
    """Both sides of both limits: 1.349 degrees are 150 km."""
    choose = Profiles([profile(north, 0.0, hours)], WeatherSource.SOUNDING)
    if serves:
        assert choose(HERE, 300.0).height_ft(300.0, HERE) == 30_000.0
        assert choose(HERE, 300.0).source is WeatherSource.SOUNDING
    else:
        with pytest.raises(OutOfRangeError):
            choose(HERE, 300.0)


def test_the_nearest_that_gives_the_height_is_taken() -> None:
    """One that ended below the level flown is passed over for one farther off."""
    short = Sounding(
        station="short",
        valid_at=NOON,
        latitude_deg=40.0,
        longitude_deg=-100.0,
        levels=(SoundingLevel(pressure_hpa=500.0, height_ft=18_000.0),),
    )
    choose = Profiles([short, profile(1.0, 0.0)], WeatherSource.SOUNDING)
    assert choose(HERE, 300.0).keys == (profile(1.0, 0.0).key,)


def test_a_plane_is_laid_where_none_is_near() -> None:
    """Four around: 29,700, 30,300, 29,900 and 30,500 ft lie in a plane of 30,100 ft here."""
    heights = (29_700.0, 30_300.0, 29_900.0, 30_500.0)
    some = [profile(*at, height_ft=h) for at, h in zip(AROUND, heights, strict=True)]
    found = Profiles(some, WeatherSource.SOUNDING)(HERE, 300.0)
    assert found.source is WeatherSource.SOUNDING_PLANE
    assert found.height_ft(300.0, HERE) == pytest.approx(30_100.0)
    assert len(found.keys) == 4


def test_two_hours_are_joined_in_time() -> None:
    """4 hours after one and 6 before the other: 30,000 and 30,500 ft give 30,200 ft."""
    some = [profile(*at, -4.0, height_ft=30_000.0) for at in AROUND]
    some += [profile(*at, 6.0, height_ft=30_500.0) for at in AROUND]
    found = Profiles(some, WeatherSource.ANALYSIS)(HERE, 300.0)
    assert found.height_ft(300.0, HERE) == pytest.approx(30_200.0)


@pytest.mark.parametrize(
    "some",
    [
        [],
        [profile(*at) for at in AROUND[:3]],
        [profile(2.0 + north, east) for north, east in ((0, -4), (0, 4), (3, -4), (3, 4))],
        [profile(north * 3, east * 3) for north, east in AROUND],
        [profile(*at, 4.0) for at in AROUND],
        [profile(*at, hours) for at in AROUND for hours in (-7.0, 7.0)],
        [profile(3.0, east) for east in (-4, -2, 2, 4)],
    ],
    ids=["none", "three", "one side", "far", "one hour far off", "hours far off", "in line"],
)
def test_nothing_is_carried_beyond_what_was_observed(some: list[Sounding]) -> None:
    """Then there is no weather, and that is said."""
    for source in (WeatherSource.SOUNDING, WeatherSource.FORECAST):
        with pytest.raises(OutOfRangeError, match="no weather near enough"):
            Profiles(some, source)(HERE, 300.0)


def test_a_pressure_outside_the_profiles_has_no_weather() -> None:
    """200 hPa lies above all of them."""
    with pytest.raises(OutOfRangeError):
        Profiles([profile(*at) for at in AROUND], WeatherSource.ANALYSIS)(HERE, 200.0)


def test_the_worst_kind_counts() -> None:
    """A flight with both kinds is worth what the worse one is."""
    pair = (WeatherSource.ANALYSIS, WeatherSource.SOUNDING)
    assert worst(pair) is WeatherSource.SOUNDING


LEVELS = tuple(
    ClimbLevel(level=20 * step, temperature_c=15.0 - 3.96 * step) for step in range(1, 17)
)


def noted(start: datetime) -> list[tuple[datetime, ClimbLevel]]:
    """Give a climb's rows, two minutes apart."""
    return [(start + timedelta(minutes=2 * n), level) for n, level in enumerate(LEVELS)]


def test_rows_are_parted_into_climbs() -> None:
    """A gap of more than three hours is another flight, whatever the order of the rows."""
    later = NOON + timedelta(hours=6)
    found = climbs([*noted(later), *noted(NOON)])
    assert [each.begun_at for each in found] == [NOON, later]
    assert [len(each.levels) for each in found] == [16, 16]


@pytest.mark.parametrize(
    ("ground_minutes", "check_minutes", "serves"),
    [(-30, 60, True), (-30, -1, False), (-30, 300, False), (5, 60, False), (-181, 60, False)],
)
def test_a_climb_serves_for_its_own_flight(
    ground_minutes: int, check_minutes: int, serves: bool
) -> None:
    """The ground check comes before it, the cross-check after it, both soon."""
    ground = Ground(
        valid_at=NOON + timedelta(minutes=ground_minutes),
        latitude_deg=40.0,
        longitude_deg=-100.0,
        height_ft=0.0,
        pressure_hpa=1013.25,
        temperature_c=15.0,
    )
    found: tuple[Climb, ...] = climbs(noted(NOON))
    choose = own_climbs(found, [ground], humidity_percent=0.0)
    at = found[0].ended_at + timedelta(minutes=check_minutes)
    place = Place(at=at, latitude_deg=40.0, longitude_deg=-100.0)
    if not serves:
        with pytest.raises(OutOfRangeError):
            choose(place, 300.0)
        return
    # The standard temperatures give the standard height of 300 hPa, 30,065 ft (ICAO, from memory).
    assert choose(place, 300.0).height_ft(300.0, place) == pytest.approx(30_065, abs=15)
