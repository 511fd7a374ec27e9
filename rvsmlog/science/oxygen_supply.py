"""Oxygen on board: what a gauge reading is worth in litres, and the reading that a need asks.

Litres are NTPD (70 F, 760 mmHg, dry). The gas is a real one (:mod:`rvsmlog.science.oxygen_gas`).
A cold gauge reads low although nothing has been used; what stays behind below the unusable
pressure is more the colder the cylinder is in flight.
"""

import math
from collections.abc import Iterator
from operator import add

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.frozen import dataclass
from rvsmlog.once import once
from rvsmlog.science.oxygen_case import CaseNeed, OxygenNeed
from rvsmlog.science.oxygen_gas import (
    HIGHEST_PSIG,
    LITRES_PER_MOL,
    checked_psig,
    density_mol_per_l,
    ideal_density_mol_per_l,
    pressure_psig,
)
from rvsmlog.standards.oxygen_figures import NTPD_TEMPERATURE_C, Group
from rvsmlog.standards.source import Source
from rvsmlog.standards.sources import source

_MOST_LITRES = 100_000.0
_OVER_FULL = "the reading is above that of a full cylinder; no more than a full one is counted"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder:
    """Oxygen cylinders that feed one system.

    Parameters
    ----------
    service_psig : float
        Pressure of a full cylinder at 70 F, psi.
    unusable_psig : float
        Pressure below which the regulator no longer delivers, psi.
    water_litres : float or None
        Inner volume of one cylinder.
    rated_litres : float or None
        All the free gas in one full cylinder, litres NTPD.
    usable_litres : float or None
        What one full cylinder delivers, litres NTPD; exactly one of the three is given.
    count : int
        Cylinders alike, joined.

    Raises
    ------
    InputError
        When not exactly one volume is given, or the unusable pressure is not below the service
        pressure; OutOfRangeError when a figure is out of range.
    """

    service_psig: float
    unusable_psig: float
    water_litres: float | None = None
    rated_litres: float | None = None
    usable_litres: float | None = None
    count: int = 1

    def __post_init__(self) -> None:
        """Refuse a cylinder that cannot be."""
        given = [value for value in self._volumes if value is not None]
        if len(given) != 1:
            raise InputError(
                "a cylinder needs its inner volume, its rated or its usable litres, one of them",
                "take it from the cylinder's data plate or the handbook",
            )
        if not 0.0 < given[0] <= _MOST_LITRES:
            raise OutOfRangeError(
                f"a cylinder of {given[0]:g} litres is out of range", "write litres, above 0"
            )
        if self.count < 1:
            raise OutOfRangeError(f"{self.count} cylinders are none", "write 1 or more")
        checked_psig(self.service_psig)
        if not 0.0 <= self.unusable_psig < self.service_psig:
            raise InputError(
                f"unusable pressure {self.unusable_psig:g} psi is not below the service pressure",
                "write the pressure below which the regulator no longer delivers",
            )

    @property
    def _volumes(self) -> tuple[float | None, ...]:
        """The three ways to say how large a cylinder is."""
        return self.water_litres, self.rated_litres, self.usable_litres

    @property
    def inner_litres(self) -> float:
        """Inner volume of all cylinders, litres."""
        if self.water_litres is not None:
            return self.water_litres * self.count
        density = self.full_density
        if self.rated_litres is None:
            density -= density_mol_per_l(self.unusable_psig, NTPD_TEMPERATURE_C.value)
        free = self.usable_litres if self.rated_litres is None else self.rated_litres
        return (free or 0.0) * self.count / (density * LITRES_PER_MOL)

    @property
    def full_density(self) -> float:
        """Density of the gas in a full cylinder, mol/l."""
        return density_mol_per_l(self.service_psig, NTPD_TEMPERATURE_C.value)

    def litres(self, density: float) -> float:
        """Give the free gas, litres NTPD, at a density in mol/l."""
        return self.inner_litres * density * LITRES_PER_MOL


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeReading:
    """A reading of the oxygen gauge.

    Parameters
    ----------
    psig : float
        Pressure read, psi.
    temperature_c : float
        Temperature of the cylinder when read, degrees Celsius.
    tolerance_psi : float
        By how much the gauge may read high; taken off.
    """

    psig: float
    temperature_c: float
    tolerance_psi: float = 0.0

    def __post_init__(self) -> None:
        """Refuse a reading that cannot be."""
        checked_psig(self.psig)
        checked_psig(self.tolerance_psi)

    @property
    def least_psig(self) -> float:
        """Pressure that is there for certain, psi."""
        return max(self.psig - self.tolerance_psi, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenSupply:
    """What the cylinders hold.

    Parameters
    ----------
    total_litres, unusable_litres : float
        All that is inside, and what the regulator cannot deliver, litres NTPD.
    full_litres : float
        What a full cylinder delivers at the same temperature in use.
    crew_reserve_litres : float
        What the system's own means keep back for the crew.
    ideal_litres : float
        What the ideal gas law would make of the total, for comparison.
    serves : tuple of Group
        Who draws on it.
    assumptions : tuple of str
        What was assumed, in words.
    sources : tuple of Source
        Where the figures stand.
    """

    total_litres: float
    unusable_litres: float
    full_litres: float
    crew_reserve_litres: float
    ideal_litres: float
    serves: tuple[Group, ...]
    assumptions: tuple[str, ...]
    sources: tuple[Source, ...]

    @property
    def usable_litres(self) -> float:
        """Litres that can be breathed."""
        return max(self.total_litres - self.unusable_litres, 0.0)

    @property
    def passenger_litres(self) -> float:
        """Litres that passengers can draw, the crew's reserve kept back."""
        return max(self.usable_litres - self.crew_reserve_litres, 0.0)

    @property
    def full_percent(self) -> float:
        """Usable litres as a share of those of a full cylinder."""
        return 100.0 * self.usable_litres / self.full_litres if self.full_litres else 0.0

    def litres_of(self, case: CaseNeed) -> float:
        """Give the litres of a case that are drawn from it."""
        crew = case.crew_litres if Group.CREW in self.serves else 0.0
        passengers = case.passenger_litres if Group.PASSENGERS in self.serves else 0.0
        return crew + passengers

    def margin_litres(self, case: CaseNeed) -> float:
        """Give the litres that are left over from a case; negative when some are missing."""
        crew = case.crew_litres if Group.CREW in self.serves else 0.0
        passengers = case.passenger_litres if Group.PASSENGERS in self.serves else 0.0
        left = self.usable_litres - (crew + passengers)
        return min(left, self.passenger_litres - passengers) if passengers else left

    def shortfall_litres(self, case: CaseNeed) -> float:
        """Give the litres that are missing for a case; 0 when it is covered."""
        return max(-self.margin_litres(case), 0.0)

    def covers(self, need: OxygenNeed) -> bool:
        """Tell whether every case of a need is covered."""
        drawn, passengers = _most_drawn(
            need, Group.CREW in self.serves, Group.PASSENGERS in self.serves
        )
        return drawn <= self.usable_litres and passengers <= self.passenger_litres


# A search for the highest level asks the same needs of each airframe of a fleet.
@once
def _most_drawn(need: OxygenNeed, crew: bool, passengers: bool) -> tuple[float, float]:
    """Give the most litres drawn in a case, and the most that passengers draw in one.

    Parameters
    ----------
    need : OxygenNeed
        What the flight needs.
    crew, passengers : bool
        Who draws.
    """
    of_passengers = [case.passenger_litres if passengers else 0.0 for case in need.cases]
    of_crew = [case.crew_litres if crew else 0.0 for case in need.cases]
    return max(map(add, of_crew, of_passengers), default=0.0), max(of_passengers, default=0.0)


def oxygen_on_board(
    cylinder: Cylinder,
    reading: GaugeReading,
    *,
    in_use_temperature_c: float | None = None,
    crew_reserve_litres: float = 0.0,
    serves: tuple[Group, ...] = (Group.CREW, Group.PASSENGERS),
) -> OxygenSupply:
    """Give the litres that a gauge reading is worth.

    Parameters
    ----------
    cylinder : Cylinder
        The cylinders.
    reading : GaugeReading
        Pressure and temperature of the same moment.
    in_use_temperature_c : float or None
        Temperature of the cylinder when the oxygen is breathed; None: that of the reading.
    crew_reserve_litres : float
        What the system's own means keep back for the crew on a shared source (23.1445(c)).
    serves : tuple of Group
        Who draws on it.

    Returns
    -------
    OxygenSupply
        Litres NTPD.

    Raises
    ------
    OutOfRangeError
        When a pressure or temperature is out of range.
    InputError
        When the crew's reserve is negative or no finite number.
    """
    if not 0.0 <= crew_reserve_litres < math.inf:
        raise InputError(
            f"a crew reserve of {crew_reserve_litres:g} litres is none", "write litres, 0 or more"
        )
    use_c = reading.temperature_c if in_use_temperature_c is None else in_use_temperature_c
    least = reading.least_psig
    full = cylinder.litres(cylinder.full_density)
    unusable = cylinder.litres(density_mol_per_l(cylinder.unusable_psig, use_c))
    total = cylinder.litres(density_mol_per_l(least, reading.temperature_c))
    return OxygenSupply(
        total_litres=min(total, full),
        unusable_litres=unusable,
        full_litres=max(full - unusable, 0.0),
        crew_reserve_litres=crew_reserve_litres,
        ideal_litres=cylinder.litres(ideal_density_mol_per_l(least, reading.temperature_c)),
        serves=serves,
        assumptions=(
            *_assumptions(cylinder, reading, use_c),
            *_sharing(serves, crew_reserve_litres),
            *(() if total <= full else (_OVER_FULL,)),
        ),
        sources=(source("gerg-2008-oxygen"), source("free-gas-70-f")),
    )


def _assumptions(cylinder: Cylinder, reading: GaugeReading, use_c: float) -> Iterator[str]:
    """Say what was assumed of the cylinder and its gauge."""
    read_c, cold_c = round(reading.temperature_c, 1), round(use_c, 1)
    yield f"the cylinder was at {read_c:g} C when read and is at {cold_c:g} C in use"
    yield "the gauge was read after the cylinder had settled at that temperature"
    yield f"below {cylinder.unusable_psig:g} psi nothing is delivered"
    yield "oxygen is counted as a real gas (GERG-2008)"
    if reading.tolerance_psi:
        yield f"{reading.tolerance_psi:g} psi are taken off for the gauge's error"


def _sharing(serves: tuple[Group, ...], crew_reserve_litres: float) -> Iterator[str]:
    """Say whether passengers can use up the crew's oxygen."""
    if len(serves) > 1 and not crew_reserve_litres:
        yield "crew and passengers share it and nothing keeps the crew's part back"


def gauge_needed_psig(
    cylinder: Cylinder,
    litres: float,
    *,
    temperature_c: float,
    in_use_temperature_c: float | None = None,
    tolerance_psi: float = 0.0,
) -> float:
    """Give the gauge reading at which a quantity is usable.

    Parameters
    ----------
    cylinder : Cylinder
        The cylinders.
    litres : float
        Litres NTPD that must be usable.
    temperature_c : float
        Temperature of the cylinder when read, degrees Celsius.
    in_use_temperature_c : float or None
        Temperature of the cylinder when the oxygen is breathed; None: that of the reading.
    tolerance_psi : float
        By how much the gauge may read high; added.

    Returns
    -------
    float
        Psi.

    Raises
    ------
    InputError
        When the cylinders do not hold that much when full, or the quantity is negative.
    OutOfRangeError
        When a pressure or temperature is out of range.
    """
    if not 0.0 <= litres < math.inf:
        raise InputError(f"{litres:g} is no quantity of oxygen", "write litres, 0 or more")
    checked_psig(tolerance_psi)
    use_c = temperature_c if in_use_temperature_c is None else in_use_temperature_c
    left_over = density_mol_per_l(cylinder.unusable_psig, use_c)
    density = left_over + litres / (cylinder.inner_litres * LITRES_PER_MOL)
    if density > cylinder.full_density:
        most = cylinder.litres(cylinder.full_density - left_over)
        raise InputError(
            f"{litres:,.0f} litres are more than the {most:,.0f} that the full cylinder delivers",
            "fewer people, a lower level, a shorter hold or a larger cylinder",
        )
    needed = max(pressure_psig(density, temperature_c), 0.0) + tolerance_psi
    if needed > HIGHEST_PSIG:
        raise OutOfRangeError(
            f"{needed:,.0f} psi is out of range", f"the range is 0 to {HIGHEST_PSIG:,.0f} psi"
        )
    return needed
