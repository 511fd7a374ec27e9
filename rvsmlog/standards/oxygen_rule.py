"""The shape of what an authority asks of oxygen: bands, reserves, masks, and the rule of them all.

Every threshold is read "above, up to and including". Cabin pressure altitudes are in feet.
"""

from rvsmlog.frozen import dataclass
from rvsmlog.once import once
from rvsmlog.standards.oxygen_figures import Group
from rvsmlog.standards.source import Figure, Source


@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenBand:
    """Cabin altitudes between which a share of a group needs oxygen.

    Parameters
    ----------
    group : Group
        Who.
    above_ft, to_ft : int
        The band lies above the first, up to and including the second; None: no upper end.
    percent : int
        Share of the group.
    free_minutes : int
        Minutes in the band that need none.
    source : Source
        Where it stands.
    free_to_ft : int or None
        Up to here time counts against the free minutes, where a stricter rule has cut the band
        short; None: within the band alone.
    """

    group: Group
    above_ft: int
    to_ft: int | None
    percent: int
    free_minutes: int
    source: Source
    free_to_ft: int | None = None

    def covers(self, cabin_ft: float) -> bool:
        """Tell whether a cabin altitude lies in the band."""
        return self.above_ft < cabin_ft and (self.to_ft is None or cabin_ft <= self.to_ft)

    def people(self, of: int) -> int:
        """Count the people that the share stands for, rounded up."""
        return -(-of * self.percent // 100)


@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenReserve:
    """A supply for a stated time, carried against loss of pressure.

    Parameters
    ----------
    group : Group
        For whom.
    above_ft : int
        Planned altitudes above this owe it.
    minutes : int
        For how long.
    slow_minutes : int or None
        For how long where no quick descent is possible; None: the same.
    low_ceiling_minutes : int or None
        For how long where the aeroplane is certificated to 25,000 ft or lower; None: the same.
    quick_to_ft : int or None
        A descent to this altitude within 4 minutes is a quick one.
    descent_to_ft : int
        Lowest altitude of the descent that the first ten minutes are for.
    then_at_ft : int or None
        Altitude at which the rest of the time is spent; None: anywhere in the descent.
    from_ceiling : bool
        Whether the descent begins, at a constant rate, at the greatest certificated altitude.
    source : Source
        Where it stands.
    """

    group: Group
    above_ft: int
    minutes: int
    source: Source
    slow_minutes: int | None = None
    low_ceiling_minutes: int | None = None
    quick_to_ft: int | None = None
    descent_to_ft: int = 10_000
    then_at_ft: int | None = None
    from_ceiling: bool = False

    def minutes_owed(self, *, planned_ft: float, ceiling_ft: float, slow: bool) -> int:
        """Give the minutes owed at a planned altitude.

        Parameters
        ----------
        planned_ft, ceiling_ft : float
            Planned and greatest certificated altitude, feet.
        slow : bool
            Whether ``quick_to_ft`` cannot be reached within 4 minutes.

        Returns
        -------
        int
            Minutes; 0 when none are owed.
        """
        if planned_ft <= self.above_ft:
            return 0
        if slow and self.slow_minutes is not None:
            return self.slow_minutes
        if ceiling_ft <= LOW_CEILING_FT and self.low_ceiling_minutes is not None:
            return self.low_ceiling_minutes
        return self.minutes


#: Certificated altitude up to which the European commercial rule asks the shorter supply.
LOW_CEILING_FT = 25_000
#: Minutes within which a descent counts as quick (135.157, NCO.IDE.A.150).
QUICK_DESCENT_MINUTES = 4
#: Minutes of a reserve that are a descent (CAT.IDE.A.235(f) to (h), 121.331(b)).
RESERVE_DESCENT_MINUTES = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class MaskRule:
    """When a pilot's mask must be of the quick-donning kind, and when it must be worn.

    Parameters
    ----------
    quick_donning : Figure of int or None
        Altitude above which pilots have quick-donning masks; None: the rule read states none.
    worn : Figure of int or None
        Altitude above which one pilot at the controls wears a mask; None: none stated.
    two_pilots_exempt_to_ft : int or None
        With two pilots who both have quick-donning masks, nobody need wear one up to here.
    worn_without_quick_donning : Figure of int or None
        Altitude above which one pilot wears a mask unless every pilot has a quick-donning one.
    cabin_trigger_ft : int or None
        Cabin altitude above which a worn mask must by itself supply oxygen.
    """

    quick_donning: Figure[int] | None
    worn: Figure[int] | None
    two_pilots_exempt_to_ft: int | None = None
    worn_without_quick_donning: Figure[int] | None = None
    cabin_trigger_ft: int | None = None

    def must_be_worn(self, altitude_ft: float, *, pilots: int, quick_donning: bool) -> bool:
        """Tell whether one pilot must wear a mask at a planned altitude."""
        without = self.worn_without_quick_donning
        if not quick_donning and without is not None and altitude_ft > without.value:
            return True
        if self.worn is None or altitude_ft <= self.worn.value:
            return False
        exempt = self.two_pilots_exempt_to_ft
        exempted = exempt is not None and altitude_ft <= exempt
        return not (exempted and pilots > 1 and quick_donning)


@once
def _bands_of(bands: tuple[OxygenBand, ...], group: Group) -> tuple[OxygenBand, ...]:
    """Give the bands of a group, lowest first."""
    mine = (band for band in bands if band.group is group)
    return tuple(sorted(mine, key=lambda band: band.above_ft))


@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenRule:
    """What one authority asks of a pressurised aeroplane.

    Parameters
    ----------
    key, title : str
        Key, and name in running text.
    bands : tuple of OxygenBand
        Use and carriage by cabin altitude; the bands of one group do not overlap.
    reserves : tuple of OxygenReserve
        Supplies against loss of pressure.
    masks : MaskRule
        Pilots' masks.
    falls_back_on : str
        Key of the rule whose figures stand in for those not read; empty when none do.
    notes : tuple of str
        What a reader must know.
    """

    key: str
    title: str
    bands: tuple[OxygenBand, ...]
    reserves: tuple[OxygenReserve, ...]
    masks: MaskRule
    falls_back_on: str = ""
    notes: tuple[str, ...] = ()

    def bands_of(self, group: Group) -> tuple[OxygenBand, ...]:
        """Give the bands of a group, lowest first."""
        return _bands_of(self.bands, group)

    def lowest_ft(self, group: Group) -> int:
        """Give the cabin altitude above which a group first needs oxygen."""
        return self.bands_of(group)[0].above_ft

    def asks_nothing_to_ft(self, group: Group) -> int:
        """Give the pressure altitude up to which a group needs none, the cabin unpressurised."""
        owed = (reserve.above_ft for reserve in self.reserves if reserve.group is group)
        return min(self.lowest_ft(group), *owed)

    @property
    def supply_sources(self) -> tuple[Source, ...]:
        """Every source of the bands and reserves, each once."""
        places = [item.source for item in self.bands] + [item.source for item in self.reserves]
        return tuple(dict.fromkeys(places))

    @property
    def sources(self) -> tuple[Source, ...]:
        """Every source of the bands, reserves and masks, each once."""
        masks = self.masks
        figures = (masks.quick_donning, masks.worn_without_quick_donning, masks.worn)
        places = (figure.source for figure in figures if figure is not None)
        return tuple(dict.fromkeys((*self.supply_sources, *places)))
