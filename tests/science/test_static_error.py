"""One flight's residual: its sign, the two kinds of height, and what is refused."""

import math
from dataclasses import FrozenInstanceError, fields, replace
from datetime import UTC, datetime, timedelta

import pytest

from rvsmlog import geoid_grid
from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.science import atmosphere
from rvsmlog.science.static_error import (
    NOT_HEIGHT_MONITORING,
    FlightResidual,
    HeightKind,
    PressureSurface,
    Sample,
    Segment,
    SignConvention,
    flight_residual,
    kind_on_ground,
)
from rvsmlog.science.weather_field import Place
from rvsmlog.science.weather_worth import WORTH, WeatherSource
from rvsmlog.standards.source import Status

NOON = datetime(2027, 3, 14, 12, tzinfo=UTC)
FT = 0.3048
# Nodes of the published 15' EGM96 grid: latitude, longitude, undulation in feet.
GULF_OF_GUINEA = (0.0, 0.0, 17.162 / FT)
SOUTH_OF_INDIA = (5.0, 79.0, -106.594 / FT)
NEAR_NEW_GUINEA = (-8.0, 147.0, 84.229 / FT)


def surface_of(lift_ft: float) -> PressureSurface:
    """Give an atmosphere that is the standard one lifted by a height."""
    return lambda pressure, _: atmosphere.altitude_ft(pressure) + lift_ft


def geometric_ft(geopotential_ft: float, latitude: float) -> float:
    """Height above mean sea level, by the rounded formulae in use (WMO-No. 8, from memory)."""
    s = math.sin(math.radians(latitude)) ** 2
    weight = 9.780325 * (1 + 0.00193185 * s) / math.sqrt(1 - 0.00669435 * s) / 9.80665
    radius_ft = 6_378_137 / (1.006803 - 0.006706 * s) / FT
    return radius_ft * geopotential_ft / (weight * radius_ft - geopotential_ft)


def segment(
    place: tuple[float, float, float],
    higher_ft: float,
    *,
    stated: HeightKind = HeightKind.ELLIPSOID,
    really: HeightKind = HeightKind.ELLIPSOID,
    lift_ft: float = 0.0,
    source: WeatherSource = WeatherSource.ANALYSIS,
) -> Segment:
    """Fly level at FL310 as shown, in truth so many geopotential feet higher."""
    latitude, longitude, undulation = place
    height = geometric_ft(31_000 + lift_ft + higher_ft, latitude)
    if really is HeightKind.ELLIPSOID:
        height += undulation
    samples = tuple(
        Sample(
            place=Place(
                at=NOON + timedelta(minutes=minute), latitude_deg=latitude, longitude_deg=longitude
            ),
            satellite_height_ft=height,
            indicated_ft=31_000,
        )
        for minute in range(3)
    )
    return Segment(
        flight="flight 1", samples=samples, height_kind=stated, source=source, weather=("model",)
    )


def residual(flown: Segment, lift_ft: float = 0.0) -> FlightResidual:
    """Evaluate a segment in an atmosphere lifted by a height."""
    return flight_residual(flown, geoid_grid.load(), surface_of(lift_ft))


@pytest.mark.parametrize("place", [GULF_OF_GUINEA, SOUTH_OF_INDIA, NEAR_NEW_GUINEA])
@pytest.mark.parametrize("kind", HeightKind)
@pytest.mark.parametrize("higher", [-200.0, 0.0, 50.0, 200.0])
@pytest.mark.parametrize("lift", [-1_500.0, 0.0, 800.0])
def test_an_error_comes_back_with_its_sign(
    place: tuple[float, float, float], kind: HeightKind, higher: float, lift: float
) -> None:
    """An aircraft so much higher than it shows has that residual, positive, in any weather."""
    flown = segment(place, higher, stated=kind, really=kind, lift_ft=lift)
    found = residual(flown, lift)
    assert found.residual_ft == pytest.approx(higher, abs=0.5)
    assert found.sign is SignConvention.HIGHER_IS_POSITIVE
    assert found.sign == "positive when the aircraft is higher than it shows"
    assert found.samples == 3
    assert found.at == NOON + timedelta(minutes=1)
    assert found.undulation_ft == pytest.approx(place[2], abs=0.05)


@pytest.mark.parametrize("place", [SOUTH_OF_INDIA, NEAR_NEW_GUINEA])
@pytest.mark.parametrize("stated", HeightKind)
def test_the_wrong_kind_of_height_is_noticed(
    place: tuple[float, float, float], stated: HeightKind
) -> None:
    """A height of the other kind than stated is off by the undulation, and is called doubtful."""
    other = next(kind for kind in HeightKind if kind is not stated)
    found = residual(segment(place, 0.0, stated=stated, really=other))
    off = -place[2] if stated is HeightKind.ELLIPSOID else place[2]
    # Above mean sea level and above the ellipsoid a geopotential foot is 0.5 per cent shorter.
    assert found.residual_ft == pytest.approx(off, rel=0.01)
    assert found.kind_doubtful
    assert not residual(segment(place, 0.0, stated=stated, really=stated)).kind_doubtful


def test_a_confirmed_kind_raises_no_doubt() -> None:
    """A static error of the undulation's size is taken at its word once the kind is confirmed."""
    flown = segment(SOUTH_OF_INDIA, -SOUTH_OF_INDIA[2])
    assert residual(flown).kind_doubtful
    confirmed = residual(replace(flown, kind_confirmed=True))
    assert not confirmed.kind_doubtful
    assert confirmed.residual_ft == residual(flown).residual_ft


@pytest.mark.parametrize(
    ("shown", "elevation", "undulation", "kind"),
    [
        (540.0, 500.0, -350.0, HeightKind.MEAN_SEA_LEVEL),
        (180.0, 500.0, -350.0, HeightKind.ELLIPSOID),
        (-330.0, 10.0, -350.0, HeightKind.ELLIPSOID),
        (286.0, 10.0, 276.0, HeightKind.ELLIPSOID),
        (60.0, 10.0, 276.0, HeightKind.MEAN_SEA_LEVEL),
        (30.0, 10.0, 40.0, None),
        (150.0, 10.0, 276.0, None),
        (math.nan, 10.0, 276.0, None),
    ],
)
def test_the_ground_tells_the_kind(
    shown: float, elevation: float, undulation: float, kind: HeightKind | None
) -> None:
    """Read at a known elevation, the height is of the kind that fits when the other does not."""
    assert kind_on_ground(shown, elevation, undulation) is kind


def test_a_doubt_needs_a_telling_undulation() -> None:
    """Where the undulation is smaller than the weather's scatter, no doubt is raised."""
    flown = segment(
        GULF_OF_GUINEA,
        0.0,
        really=HeightKind.MEAN_SEA_LEVEL,
        source=WeatherSource.FORECAST,
    )
    found = residual(flown)
    assert found.residual_ft == pytest.approx(-GULF_OF_GUINEA[2], rel=0.01)
    assert not found.kind_doubtful


def test_an_error_unlike_the_undulation_raises_no_doubt() -> None:
    """A static error of 150 ft where the undulation is 276 ft is taken for a static error."""
    assert not residual(segment(NEAR_NEW_GUINEA, 150.0)).kind_doubtful
    assert not residual(segment(NEAR_NEW_GUINEA, -150.0)).kind_doubtful


def test_one_wild_sample_does_not_count() -> None:
    """The median of the samples stands for the segment."""
    flown = segment(GULF_OF_GUINEA, 40.0)
    wild = Sample(
        place=flown.samples[0].place,
        satellite_height_ft=flown.samples[0].satellite_height_ft + 900,
        indicated_ft=31_000,
    )
    spoilt = Segment(
        flight="flight 1",
        samples=(wild, *flown.samples[1:]),
        height_kind=flown.height_kind,
        source=flown.source,
        weather=flown.weather,
    )
    assert residual(spoilt).residual_ft == pytest.approx(40, abs=0.5)


@pytest.mark.parametrize(("moved", "level"), [(200.0, True), (201.0, False)])
def test_only_level_flight(moved: float, level: bool) -> None:
    """A stretch in which indicated altitude moved more than 200 ft is refused."""
    flown = segment(GULF_OF_GUINEA, 0.0)
    higher = Sample(
        place=flown.samples[0].place,
        satellite_height_ft=flown.samples[0].satellite_height_ft + moved,
        indicated_ft=31_000 + moved,
    )
    climbing = Segment(
        flight="flight 1",
        samples=(*flown.samples, higher),
        height_kind=flown.height_kind,
        source=flown.source,
        weather=flown.weather,
    )
    if level:
        assert residual(climbing).samples == 4
    else:
        with pytest.raises(InputError, match="not level flight"):
            residual(climbing)


def test_nothing_to_go_by_is_refused() -> None:
    """A segment without samples, and weather without a name, are refused."""
    flown = segment(GULF_OF_GUINEA, 0.0)
    for samples, weather, message in (
        ((), flown.weather, "no sample"),
        (flown.samples, (), "the weather is not named"),
    ):
        bare = Segment(
            flight="flight 1",
            samples=samples,
            height_kind=flown.height_kind,
            source=flown.source,
            weather=weather,
        )
        with pytest.raises(InputError, match=message):
            residual(bare)


@pytest.mark.parametrize("bad", [math.nan, math.inf, 90_000.0])
def test_impossible_heights_are_refused(bad: float) -> None:
    """A satellite height or an indicated altitude that is no height of flight is refused."""
    flown = segment(GULF_OF_GUINEA, 0.0)
    place = flown.samples[0].place
    for sample in (
        Sample(place=place, satellite_height_ft=bad, indicated_ft=31_000),
        Sample(place=place, satellite_height_ft=31_000, indicated_ft=bad),
    ):
        single = Segment(
            flight="flight 1",
            samples=(sample,),
            height_kind=flown.height_kind,
            source=flown.source,
            weather=flown.weather,
        )
        with pytest.raises((OutOfRangeError, InputError), match=r"out of range|not level"):
            residual(single)


def test_results_cannot_be_altered() -> None:
    """Results are frozen, so that a value keeps the convention it was made with."""
    found = residual(segment(GULF_OF_GUINEA, 0.0))
    for field in fields(found):
        with pytest.raises(FrozenInstanceError):
            setattr(found, field.name, None)


def test_the_caution_is_plain() -> None:
    """The text that goes with results says that it is no approved height monitoring."""
    assert "not approved height monitoring" in NOT_HEIGHT_MONITORING
    assert "pilot in command" in NOT_HEIGHT_MONITORING


# Standard deviations of one flight: working figures, common practice, no source.
@pytest.mark.parametrize(
    ("source", "low_ft", "high_ft"),
    [
        (WeatherSource.ANALYSIS, 28, 28),
        (WeatherSource.SOUNDING, 50, 70),
        (WeatherSource.SOUNDING_PLANE, 90, 110),
        (WeatherSource.OWN_CLIMB, 90, 110),
        (WeatherSource.FORECAST, 90, 110),
    ],
)
def test_worth_of_the_weather(source: WeatherSource, low_ft: float, high_ft: float) -> None:
    """Each source of weather has its scatter and status; the worse figure is used."""
    worth = WORTH[source]
    assert (worth.low_ft, worth.high_ft, worth.sigma_ft) == (low_ft, high_ft, high_ft)
    assert worth.absolute is (source is not WeatherSource.OWN_CLIMB)
    assert worth.source.status is not Status.PUBLISHED
    assert residual(segment(GULF_OF_GUINEA, 0.0, source=source)).sigma_ft == high_ft
