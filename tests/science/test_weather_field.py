"""The height of a pressure surface between soundings, against planes and scipy."""

import math
import random
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.science.soundings import Sounding, SoundingLevel
from rvsmlog.science.weather_field import Place, distance_km, nearest_sounding, plane_height_ft

NOON = datetime(2027, 3, 14, 12, tzinfo=UTC)
PLACE = Place(at=NOON, latitude_deg=-40.0, longitude_deg=179.5)


def column(latitude: float, longitude: float, height_ft: float, hours: float = 0.0) -> Sounding:
    """Make a profile whose 250 hPa surface has the height given."""
    return Sounding(
        station=f"{latitude} {longitude}",
        valid_at=NOON + timedelta(hours=hours),
        latitude_deg=latitude,
        longitude_deg=longitude,
        levels=(SoundingLevel(pressure_hpa=250.0, height_ft=height_ft),),
    )


def test_distance() -> None:
    """A degree of latitude is 60 nautical miles, and so is one of longitude at the equator."""
    equator = Place(at=NOON, latitude_deg=0.0, longitude_deg=179.5)
    for sounding in (column(1, 179.5, 0), column(0, -179.5, 0)):
        assert distance_km(equator, sounding) == pytest.approx(60 * 1.852, rel=0.002)
    assert distance_km(equator, column(0, -0.5, 0)) == pytest.approx(math.pi * 6371, rel=1e-9)


def test_the_nearest_sounding() -> None:
    """The nearest one in reach is chosen, across the date line too."""
    near, far = column(-40.2, -179.8, 1), column(-40.9, 179.5, 2)
    assert nearest_sounding((far, near), PLACE) is near


@pytest.mark.parametrize(
    "sounding",
    [column(-41.5, 179.5, 1), column(-40, 179.5, 1, hours=3.1), column(-40, 179.5, 1, hours=-4)],
)
def test_a_sounding_too_far_is_refused(sounding: Sounding) -> None:
    """A sounding past 150 km or 3 hours is not used, nor one of unknown time."""
    with pytest.raises(OutOfRangeError, match="no sounding lies near enough"):
        nearest_sounding((sounding,), PLACE)
    timeless = Sounding(
        station="x", valid_at=None, latitude_deg=-40.0, longitude_deg=179.5, levels=()
    )
    with pytest.raises(OutOfRangeError, match="no sounding lies near enough"):
        nearest_sounding((timeless,), PLACE)


def sloping(hours: tuple[float, ...]) -> tuple[Sounding, ...]:
    """Six profiles about the place on a plane: 20 ft a degree north, 7 ft an hour later."""
    points = ((-38, 178), (-38, 181), (-42, 178), (-42, 181), (-39, 179), (-40.5, 180))
    return tuple(
        column(lat, lon, 34_000 + 20 * (lat + 40) + 7 * hour, hour)
        for hour in hours
        for lat, lon in points
    )


def test_a_plane_is_read_exactly() -> None:
    """Heights on a plane in place and time give the plane's height at the place."""
    assert plane_height_ft(sloping((0,)), 250.0, PLACE) == pytest.approx(34_000, abs=1e-6)
    assert plane_height_ft(sloping((-1, 5)), 250.0, PLACE) == pytest.approx(34_000, abs=1e-6)


def test_one_common_time_may_be_near() -> None:
    """Profiles all of one time serve up to three hours before and after it, unchanged."""
    for hours in (-3, 3):
        place = Place(at=NOON + timedelta(hours=hours), latitude_deg=-40.0, longitude_deg=179.5)
        assert plane_height_ft(sloping((0,)), 250.0, place) == pytest.approx(34_000, abs=1e-6)


def test_agrees_with_scipy() -> None:
    """A plane through scattered heights is the one that scipy's least squares finds."""
    from scipy import linalg

    rng = random.Random(9)
    points = [(rng.uniform(-43, -37), rng.uniform(176, 183)) for _ in range(8)]
    heights = [34_000 + rng.gauss(0, 80) for _ in points]
    east = [(lon - 179.5) * math.cos(math.radians(40)) for _, lon in points]
    north = [lat + 40 for lat, _ in points]
    solution = linalg.lstsq(np.column_stack([np.ones(8), east, north]), np.array(heights))[0]
    columns = [
        column(lat, (lon + 180) % 360 - 180, height)
        for (lat, lon), height in zip(points, heights, strict=True)
    ]
    assert plane_height_ft(columns, 250.0, PLACE) == pytest.approx(solution[0], abs=1e-6)


def test_outside_the_profiles_is_refused() -> None:
    """The plane is not carried past its profiles in any direction, nor past them in time."""
    around = sloping((0,))
    with pytest.raises(OutOfRangeError, match="outside the profiles in north and south"):
        plane_height_ft(around[:2] + around[4:5] + around[:1], 250.0, PLACE)
    east = Place(at=NOON, latitude_deg=-40.0, longitude_deg=-178.0)
    with pytest.raises(OutOfRangeError, match="outside the profiles in east and west"):
        plane_height_ft(around, 250.0, east)
    later = Place(at=NOON + timedelta(hours=4), latitude_deg=-40.0, longitude_deg=179.5)
    with pytest.raises(OutOfRangeError, match="outside the profiles in time"):
        plane_height_ft(around, 250.0, later)


def test_too_few_or_in_one_line() -> None:
    """Three profiles, profiles in one line, and profiles of unknown time make no plane."""
    with pytest.raises(InputError, match="3 profiles are too few"):
        plane_height_ft(sloping((0,))[:3], 250.0, PLACE)
    row = [column(-40, lon, 34_000) for lon in (178, 179, 180, 181)]
    with pytest.raises(InputError, match="in one line"):
        plane_height_ft(row, 250.0, PLACE)
    timeless = Sounding(
        station="x", valid_at=None, latitude_deg=-40.0, longitude_deg=179.5, levels=()
    )
    with pytest.raises(InputError, match="its time is not known"):
        plane_height_ft((*sloping((0,)), timeless), 250.0, PLACE)
