"""Oxygen in a cylinder as a real gas: density, pressure, litres of free gas.

At 1,850 psi oxygen is 6 % denser than an ideal gas at 20 degrees C and 19 % at -30, so a
gauge falls further in the cold than the ideal gas law says: 1,600 psi at 20 degrees reads about
1,236 psi at -30, where the ideal law says 1,325 and an Army handbook's chart about 1,250.

The equation is that of pure oxygen in GERG-2008 (ISO 20765-2), normal range 90 to 450 K and up
to 35 MPa (range from memory). Against the reference equation of Schmidt and Wagner (1985), which
ends at 300 K, it differs by less than 0.1 % in density over the range used here.
"""

import math
from functools import lru_cache

from rvsmlog.errors import OutOfRangeError
from rvsmlog.standards.oxygen_figures import NTPD_TEMPERATURE_C
from rvsmlog.units import HPA_PER_PSI

#: Molar gas constant with which the equation was fitted, J/(mol K).
MOLAR_GAS_CONSTANT = 8.314472
#: Reducing density, mol/l, and temperature, K, of the equation.
REDUCING_DENSITY = 13.63
REDUCING_TEMPERATURE_K = 154.595
# Coefficient, exponents of reduced density and of inverse reduced temperature, and exponent of
# density inside the exponential (0: none).
_TERMS = (
    (0.88878286369701, 1, 0.25, 0),
    (-2.4879433312148, 1, 1.125, 0),
    (0.59750190775886, 1, 1.5, 0),
    (9.6501817061881e-3, 2, 1.375, 0),
    (0.07197042871277, 3, 0.25, 0),
    (2.2337443000195e-4, 7, 0.875, 0),
    (0.18558686391474, 2, 0.625, 1),
    (-0.03812936803576, 5, 1.75, 1),
    (-0.15352245383006, 1, 3.625, 2),
    (-0.026726814910919, 4, 3.625, 2),
    (-0.025675298677127, 3, 14.5, 3),
    (9.5714302123668e-3, 4, 12.0, 3),
)

_ZERO_C_K = 273.15
_PA_PER_PSI = HPA_PER_PSI * 100.0
#: Pressure of the air that a gauge is open to, psi. A cabin's is up to 5 psi less in flight.
ATMOSPHERE_PSI = 1013.25 / HPA_PER_PSI
#: Range answered.
LOWEST_C, HIGHEST_C = -60.0, 70.0
HIGHEST_PSIG = 3_000.0
#: Greatest density answered, mol/l; 3,000 psi at -60 C are 16.2.
HIGHEST_DENSITY = 20.0
# Seven secants reach the precision anywhere in the range; the rest is a safeguard.
_MOST_STEPS = 50
_PRECISION = 1e-14


def _checked_c(temperature_c: float) -> float:
    """Give a cylinder's temperature back when it is in range."""
    if not LOWEST_C <= temperature_c <= HIGHEST_C:
        raise OutOfRangeError(
            f"cylinder temperature {temperature_c:g} C is out of range",
            f"the range is {LOWEST_C:g} to {HIGHEST_C:g} C",
        )
    return temperature_c


def checked_psig(pressure_psig: float) -> float:
    """Give a gauge pressure back when it is in range.

    Raises
    ------
    OutOfRangeError
        When it is out of range or no finite number.
    """
    if not 0.0 <= pressure_psig <= HIGHEST_PSIG:
        raise OutOfRangeError(
            f"oxygen pressure {pressure_psig:g} psi is out of range",
            f"the range is 0 to {HIGHEST_PSIG:,.0f} psi",
        )
    return pressure_psig


def compressibility(density_mol_per_l: float, temperature_c: float) -> float:
    """Give the compressibility factor of oxygen, pressure over that of an ideal gas.

    Parameters
    ----------
    density_mol_per_l : float
        Density, mol/l, from 0 to 20.
    temperature_c : float
        Temperature, degrees Celsius, from -60 to 70.

    Returns
    -------
    float
        Compressibility factor; 1 at no density.

    Raises
    ------
    OutOfRangeError
        When either is out of range or no finite number.
    """
    if not 0.0 <= density_mol_per_l <= HIGHEST_DENSITY:
        raise OutOfRangeError(
            f"oxygen density {density_mol_per_l:g} mol/l is out of range",
            f"the range is 0 to {HIGHEST_DENSITY:g} mol/l",
        )
    delta = density_mol_per_l / REDUCING_DENSITY
    tau = REDUCING_TEMPERATURE_K / (_checked_c(temperature_c) + _ZERO_C_K)
    total = 1.0
    for factor, power, root, inside in _TERMS:
        inner = math.pow(delta, inside) if inside else 0.0
        weight = power - inside * inner
        total += factor * math.pow(delta, power) * math.pow(tau, root) * math.exp(-inner) * weight
    return total


def pressure_psig(density_mol_per_l: float, temperature_c: float) -> float:
    """Give the gauge pressure of oxygen of a density.

    Parameters
    ----------
    density_mol_per_l : float
        Density, mol/l.
    temperature_c : float
        Temperature, degrees Celsius.

    Returns
    -------
    float
        Psi above the atmosphere; negative in a cylinder nearly empty.

    Raises
    ------
    OutOfRangeError
        When either is out of range or no finite number.
    """
    factor = compressibility(density_mol_per_l, temperature_c)
    kelvins = temperature_c + _ZERO_C_K
    pressure_pa = density_mol_per_l * 1_000.0 * MOLAR_GAS_CONSTANT * kelvins * factor
    return pressure_pa / _PA_PER_PSI - ATMOSPHERE_PSI


def density_mol_per_l(pressure: float, temperature_c: float) -> float:
    """Give the density of oxygen at a gauge pressure.

    Parameters
    ----------
    pressure : float
        Gauge pressure, psi, from 0 to 3,000.
    temperature_c : float
        Temperature of the gas, degrees Celsius, from -60 to 70.

    Returns
    -------
    float
        Density, mol/l.

    Raises
    ------
    OutOfRangeError
        When either is out of range or no finite number.
    """
    checked_psig(pressure)
    return _density(pressure, _checked_c(temperature_c))


# The rules ask for the same reading at one level and on one day after another.
@lru_cache(maxsize=1024)
def _density(pressure: float, temperature_c: float) -> float:
    """Find the density by secants; pressure rises with it throughout the range."""
    before, off_before = 0.0, -ATMOSPHERE_PSI - pressure
    density = ideal_density_mol_per_l(pressure, temperature_c)
    for _ in range(_MOST_STEPS):
        off = pressure_psig(density, temperature_c) - pressure
        if off == off_before:
            break
        step = off * (density - before) / (off - off_before)
        before, off_before = density, off
        density = min(density - step, HIGHEST_DENSITY)
        if abs(step) <= _PRECISION * density:
            break
    return density


def ideal_density_mol_per_l(pressure: float, temperature_c: float) -> float:
    """Give the density that the ideal gas law would say, for comparison only.

    Raises
    ------
    OutOfRangeError
        When either is out of range or no finite number.
    """
    absolute_pa = (checked_psig(pressure) + ATMOSPHERE_PSI) * _PA_PER_PSI
    return absolute_pa / (MOLAR_GAS_CONSTANT * (_checked_c(temperature_c) + _ZERO_C_K)) / 1_000.0


#: Litres NTPD that a mole of oxygen fills (70 F, 760 mmHg).
LITRES_PER_MOL = 1.0 / density_mol_per_l(0.0, NTPD_TEMPERATURE_C.value)
