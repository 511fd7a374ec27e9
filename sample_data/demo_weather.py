"""Invented weather: one air mass a day, warmer or colder than standard, with its QNH.

The same temperature deviation holds at every level of a day, so that heights of pressure levels
follow from it in closed form. Soundings or level heights for the same days can be made from it.
"""

import math
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from rvsmlog.science.atmosphere import (
    GAS_CONSTANT,
    SEA_LEVEL_PRESSURE_HPA,
    STANDARD_GRAVITY,
    altitude_ft,
    pressure_hpa,
    temperature_k,
)
from rvsmlog.units import level_to_feet, metres_to_feet

_KELVIN_AT_0_C = 273.15
# From one day to the next the air mass keeps this part of its deviation.
_PERSISTENCE = 0.8
_TEMPERATURE_SIGMA_K = 5.0
_QNH_SIGMA_HPA = 6.0
# Close to sea level one hectopascal is about this many feet (standard atmosphere).
_FEET_PER_HPA = 27.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Weather:
    """The air mass of one day."""

    deviation_k: float
    qnh_hpa: float

    def temperature_c(self, level: int) -> float:
        """Give the static air temperature at a flight level."""
        return temperature_k(level_to_feet(level)) + self.deviation_k - _KELVIN_AT_0_C

    def height_ft(self, pressure: float) -> float:
        """Give the geopotential height of a pressure in hectopascals."""
        thickness_m = GAS_CONSTANT / STANDARD_GRAVITY * self.deviation_k
        warmer_ft = metres_to_feet(thickness_m * math.log(SEA_LEVEL_PRESSURE_HPA / pressure))
        higher_ft = (self.qnh_hpa - SEA_LEVEL_PRESSURE_HPA) * _FEET_PER_HPA
        return altitude_ft(pressure) + warmer_ft + higher_ft

    def geopotential_ft(self, level: int) -> float:
        """Give the geopotential height of a flight level's pressure."""
        return self.height_ft(pressure_hpa(level_to_feet(level)))


def weather(rng: Random, first: date, last: date) -> dict[date, Weather]:
    """Make the weather of a period, each day like the one before it to a degree."""
    kept = math.sqrt(1.0 - _PERSISTENCE**2)
    deviation, qnh, days = 0.0, 0.0, {}
    for number in range((last - first).days + 1):
        deviation = _PERSISTENCE * deviation + kept * rng.gauss(0.0, _TEMPERATURE_SIGMA_K)
        qnh = _PERSISTENCE * qnh + kept * rng.gauss(0.0, _QNH_SIGMA_HPA)
        days[first + timedelta(days=number)] = Weather(
            deviation_k=deviation, qnh_hpa=SEA_LEVEL_PRESSURE_HPA + qnh
        )
    return days
