"""What each source of weather is worth when height is compared with a satellite's."""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

from rvsmlog.frozen import dataclass
from rvsmlog.standards.source import Source, Status


class WeatherSource(StrEnum):
    """Where the height of the pressure surface was taken from."""

    ANALYSIS = "analysis"
    SOUNDING = "sounding nearby"
    SOUNDING_PLANE = "plane of soundings"
    OWN_CLIMB = "own climb"
    FORECAST = "forecast"


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """Scatter from flight to flight that a source of weather leaves in the residual.

    Parameters
    ----------
    low_ft, high_ft : float
        Standard deviation for one flight, feet: at best and at worst.
    absolute : bool
        Whether a residual says something by itself. From an own climb it does not: one degree of
        probe error is 139 ft at FL350, and only change from flight to flight is free of it.
    source : Source
        Where the figures come from.
    """

    low_ft: float
    high_ft: float
    absolute: bool
    source: Source

    @property
    def sigma_ft(self) -> float:
        """Give the figure that is used: the worse one."""
        return self.high_ft


_WORKING_FIGURE = Source(
    key="weather-worth",
    document="Working figures for static error from logs",
    section="standard deviation for one flight",
    edition="",
    status=Status.PRACTICE,
)
_FORECAST = Source(
    key="narayanan-osechas-2022",
    document="Narayanan and Osechas, Sensors 22(23)",
    section="forecast heights of pressure levels, about 100 ft",
    edition="2022",
    status=Status.SECOND_HAND,
)

#: Worth of each source of weather.
WORTH: Mapping[WeatherSource, Worth] = MappingProxyType(
    {
        # Analyses were 2 +- 9 ft from a trailing cone on one aircraft (Giez et al., Journal of
        # Aircraft 54(5), 2017, second-hand); the figure here allows for weather of any day.
        WeatherSource.ANALYSIS: Worth(low_ft=28, high_ft=28, absolute=True, source=_WORKING_FIGURE),
        # Within 150 km and 3 hours.
        WeatherSource.SOUNDING: Worth(low_ft=50, high_ft=70, absolute=True, source=_WORKING_FIGURE),
        WeatherSource.SOUNDING_PLANE: Worth(
            low_ft=90, high_ft=110, absolute=True, source=_WORKING_FIGURE
        ),
        WeatherSource.OWN_CLIMB: Worth(
            low_ft=90, high_ft=110, absolute=False, source=_WORKING_FIGURE
        ),
        WeatherSource.FORECAST: Worth(low_ft=90, high_ft=110, absolute=True, source=_FORECAST),
    }
)
