"""Real-gas oxygen against another reference equation, a handbook's formula and its limits."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import OutOfRangeError
from rvsmlog.science import oxygen_gas as gas

# Schmidt and Wagner, Fluid Phase Equilibria 19 (1985) 175, doi 10.1016/0378-3812(85)87016-3;
# Stewart, Jacobsen and Wagner, J. Phys. Chem. Ref. Data 20 (1991) 917: reference equation of
# oxygen, melting line to 300 K, density within 0.1 %. Coefficients read second-hand.
# Rows: coefficient, exponent of density, of inverse temperature, of density in the exponential.
REFERENCE = (
    (0.3983768749, 1, 0.0, 0),
    (-1.846157454, 1, 1.5, 0),
    (0.4183473197, 1, 2.5, 0),
    (0.02370620711, 2, -0.5, 0),
    (0.09771730573, 2, 1.5, 0),
    (0.03017891294, 2, 2.0, 0),
    (0.02273353212, 3, 0.0, 0),
    (0.01357254086, 3, 1.0, 0),
    (-0.04052698943, 3, 2.5, 0),
    (0.0005454628515, 6, 0.0, 0),
    (0.0005113182277, 7, 2.0, 0),
    (2.953466883e-07, 7, 5.0, 0),
    (-8.687645072e-05, 8, 2.0, 0),
    (-0.2127082589, 1, 5.0, 2),
    (0.08735941958, 1, 6.0, 2),
    (0.127550919, 2, 3.5, 2),
    (-0.09067701064, 2, 5.5, 2),
    (-0.03540084206, 3, 3.0, 2),
    (-0.03623278059, 3, 7.0, 2),
    (0.0132769929, 5, 6.0, 2),
    (-0.0003254111865, 6, 8.5, 2),
    (-0.008313582932, 7, 4.0, 2),
    (0.002124570559, 8, 6.5, 2),
    (-0.0008325206232, 10, 5.5, 2),
    (-2.626173276e-05, 2, 22.0, 4),
    (0.002599581482, 3, 11.0, 4),
    (0.009984649663, 3, 18.0, 4),
    (0.002199923153, 4, 11.0, 4),
    (-0.02591350486, 4, 23.0, 4),
    (-0.1259630848, 5, 17.0, 4),
    (0.1478355637, 5, 18.0, 4),
    (-0.01011251078, 5, 23.0, 4),
)
REFERENCE_GAS_CONSTANT = 8.31434
REFERENCE_DENSITY = 13.63
REFERENCE_TEMPERATURE_K = 154.581


def reference_psig(density: float, temperature_c: float) -> float:
    """Give the gauge pressure by the equation of Schmidt and Wagner."""
    delta = density / REFERENCE_DENSITY
    tau = REFERENCE_TEMPERATURE_K / (temperature_c + 273.15)
    factor = 1.0
    for n, d, t, c in REFERENCE:
        inner = delta**c if c else 0.0
        factor += n * delta**d * tau**t * math.exp(-inner) * (d - c * inner)
    pascals = factor * density * 1_000.0 * REFERENCE_GAS_CONSTANT * (temperature_c + 273.15)
    return pascals / 6_894.757293168 - 14.695949


@pytest.mark.parametrize("temperature_c", [-60.0, -45.0, -30.0, -15.0, 0.0, 15.0, 20.0, 26.85])
@pytest.mark.parametrize("psig", [50.0, 200.0, 500.0, 1_000.0, 1_600.0, 1_850.0, 2_200.0])
def test_density_against_the_reference_equation(temperature_c: float, psig: float) -> None:
    """Up to 300 K, where the reference equation ends, the density differs by less than 0.1 %.

    A pressure of the reference equation at our density must be ours, within what 0.1 % of
    density is worth.
    """
    density = gas.density_mol_per_l(psig, temperature_c)
    assert reference_psig(density * 0.999, temperature_c) < psig
    assert reference_psig(density * 1.001, temperature_c) > psig


@pytest.mark.parametrize("temperature_c", [-60.0, -30.0, 0.0, 20.0, 40.0, 60.0, 70.0])
def test_second_virial_coefficient(temperature_c: float) -> None:
    """At low density the gas departs from the ideal as Kaye and Laby's formula says.

    B = 152.8 - 117.0 exp(108.8 K / T) cm3/mol, 90 to 400 K (tables of physical and chemical
    constants, read second-hand); it covers temperatures above 300 K too. Such coefficients are
    sure to one or two cm3/mol (from memory): held within 1.5.
    """
    expected = 152.8 - 117.0 * math.exp(108.8 / (temperature_c + 273.15))
    density = 1e-4
    coefficient = (gas.compressibility(density, temperature_c) - 1.0) / density * 1_000.0
    assert coefficient == pytest.approx(expected, abs=1.5)


def test_a_mole_of_free_gas() -> None:
    """At 70 F and 760 mmHg a mole fills 24.13 l: 24.146 ideal (derived), less B of 17 cm3/mol."""
    assert pytest.approx(24.146 - 0.017, abs=0.002) == gas.LITRES_PER_MOL


def test_the_ideal_gas_promises_too_little_when_full() -> None:
    """A full cylinder holds more than the ideal gas law says, as its factor is below one."""
    assert gas.density_mol_per_l(1_850, 20) > gas.ideal_density_mol_per_l(1_850, 20)


@pytest.mark.parametrize(
    ("psig", "temperature_c"),
    [(-1, 20), (3_001, 20), (1_000, -60.1), (1_000, 70.1), (math.nan, 20), (1_000, math.nan)],
)
def test_outside_its_range_is_an_error(psig: float, temperature_c: float) -> None:
    """Pressures beyond 3,000 psi and temperatures beyond -60 to 70 C are refused."""
    with pytest.raises(OutOfRangeError):
        gas.density_mol_per_l(psig, temperature_c)
    with pytest.raises(OutOfRangeError):
        gas.ideal_density_mol_per_l(psig, temperature_c)


@pytest.mark.parametrize("density", [-0.1, 20.1, math.nan])
def test_a_density_out_of_range_is_an_error(density: float) -> None:
    """Densities beyond 20 mol/l are no gas of a cylinder."""
    with pytest.raises(OutOfRangeError):
        gas.compressibility(density, 20)


@settings(max_examples=60)
@given(psig=st.floats(0.0, 2_999.0), temperature_c=st.floats(-60.0, 69.0))
def test_more_pressure_or_more_cold_is_more_gas(psig: float, temperature_c: float) -> None:
    """Density grows with pressure, falls with temperature, and gives its pressure back."""
    density = gas.density_mol_per_l(psig, temperature_c)
    assert gas.density_mol_per_l(psig + 1.0, temperature_c) > density
    assert gas.density_mol_per_l(psig, temperature_c + 1.0) < density
    assert gas.pressure_psig(density, temperature_c) == pytest.approx(psig, abs=1e-6)
