"""What each authority asks: when oxygen must be used, and how much must be carried.

Every threshold is read "above, up to and including": at 12,500 ft exactly a rule that begins
above 12,500 ft asks nothing. Cabin pressure altitudes are in feet.
"""

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.standards.oxygen_figures import OXYGEN_SOURCES, Group
from rvsmlog.standards.source import Figure, Source

__all__ = [
    "LOW_CEILING_FT",
    "OXYGEN_RULES",
    "OXYGEN_SOURCES",
    "QUICK_DESCENT_MINUTES",
    "RESERVE_DESCENT_MINUTES",
    "Group",
    "MaskRule",
    "OxygenBand",
    "OxygenReserve",
    "OxygenRule",
    "oxygen_rule",
]


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
    """

    group: Group
    above_ft: int
    to_ft: int | None
    percent: int
    free_minutes: int
    source: Source

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
    slow_owes_below : bool
        Whether planned altitudes not above ``above_ft`` owe it too where no quick descent is.
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
    slow_owes_below: bool = False
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
            return self.minutes if slow and self.slow_owes_below else 0
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
    worn_without_quick_donning_ft : int or None
        Altitude above which one pilot wears a mask unless every pilot has a quick-donning one.
    cabin_trigger_ft : int or None
        Cabin altitude above which a worn mask must by itself supply oxygen.
    """

    quick_donning: Figure[int] | None
    worn: Figure[int] | None
    two_pilots_exempt_to_ft: int | None = None
    worn_without_quick_donning_ft: int | None = None
    cabin_trigger_ft: int | None = None

    def must_be_worn(self, altitude_ft: float, *, pilots: int, quick_donning: bool) -> bool:
        """Tell whether one pilot must wear a mask at a planned altitude."""
        without = self.worn_without_quick_donning_ft
        if not quick_donning and without is not None and altitude_ft > without:
            return True
        if self.worn is None or altitude_ft <= self.worn.value:
            return False
        exempt = self.two_pilots_exempt_to_ft
        exempted = exempt is not None and altitude_ft <= exempt
        return not (exempted and pilots > 1 and quick_donning)


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
        mine = (band for band in self.bands if band.group is group)
        return tuple(sorted(mine, key=lambda band: band.above_ft))

    def lowest_ft(self, group: Group) -> int:
        """Give the cabin altitude above which a group first needs oxygen."""
        return self.bands_of(group)[0].above_ft

    def asks_nothing_to_ft(self, group: Group) -> int:
        """Give the pressure altitude up to which a group needs none, the cabin unpressurised."""
        owed = (reserve.above_ft for reserve in self.reserves if reserve.group is group)
        return min(self.lowest_ft(group), *owed)

    @property
    def sources(self) -> tuple[Source, ...]:
        """Every source of the bands, reserves and masks, each once."""
        places = [item.source for item in self.bands] + [item.source for item in self.reserves]
        places += [mask.source for mask in (self.masks.quick_donning, self.masks.worn) if mask]
        return tuple(dict.fromkeys(places))


def _bands(
    group: Group, key: str, *rows: tuple[int, int | None, int, int]
) -> tuple[OxygenBand, ...]:
    """Make the bands of a group from rows of above, up to, per cent, free minutes."""
    place = OXYGEN_SOURCES[key]
    return tuple(
        OxygenBand(
            group=group, above_ft=low, to_ft=high, percent=share, free_minutes=free, source=place
        )
        for low, high, share, free in rows
    )


def _altitude(value: int, key: str, note: str = "") -> Figure[int]:
    """Give an altitude in feet with its source."""
    return Figure(value=value, unit="ft", source=OXYGEN_SOURCES[key], note=note)


def _ten_minutes(key: str) -> tuple[OxygenReserve, ...]:
    """Give the ten-minute supply of each occupant above 25,000 ft."""
    place = OXYGEN_SOURCES[key]
    return tuple(
        OxygenReserve(group=group, above_ft=25_000, minutes=10, source=place) for group in Group
    )


_CERTIFICATION = "a certification rule, not an operating one; take the type's certification basis"
_US_91 = OxygenRule(
    key="us-91",
    title="United States, general operations",
    bands=(
        *_bands(Group.CREW, "91-211", (12_500, 14_000, 100, 30), (14_000, None, 100, 0)),
        *_bands(Group.PASSENGERS, "91-211", (15_000, None, 100, 0)),
    ),
    reserves=_ten_minutes("91-211"),
    masks=MaskRule(
        quick_donning=_altitude(25_000, "23-1447-legacy", _CERTIFICATION),
        worn=_altitude(35_000, "91-211"),
        two_pilots_exempt_to_ft=41_000,
        cabin_trigger_ft=14_000,
    ),
    notes=("a single pilot has no exception above FL350",),
)
_US_135 = OxygenRule(
    key="us-135",
    title="United States, commuter and on-demand operations",
    bands=(
        *_bands(Group.CREW, "135-89", (10_000, 12_000, 100, 30), (12_000, None, 100, 0)),
        *_bands(Group.PASSENGERS, "135-157", (10_000, 15_000, 10, 30), (15_000, None, 100, 0)),
    ),
    reserves=(
        OxygenReserve(
            group=Group.CREW,
            above_ft=10_000,
            minutes=120,
            then_at_ft=10_000,
            source=OXYGEN_SOURCES["135-157"],
        ),
        OxygenReserve(
            group=Group.PASSENGERS,
            above_ft=15_000,
            minutes=30,
            slow_minutes=60,
            quick_to_ft=15_000,
            descent_to_ft=15_000,
            source=OXYGEN_SOURCES["135-157"],
        ),
    ),
    masks=MaskRule(
        quick_donning=None,
        worn=_altitude(35_000, "135-89"),
        worn_without_quick_donning_ft=25_000,
        cabin_trigger_ft=12_000,
    ),
    notes=(
        "the two-hour supply is read as 121.331(b) defines it: ten minutes of descent, then 110 "
        "minutes at 10,000 ft",
        "the passengers' ten minutes above 25,000 ft lie within their thirty",
    ),
)


def _nco_reserve(group: Group) -> OxygenReserve:
    """Give the ten minutes of NCO.IDE.A.150(b)(2)."""
    return OxygenReserve(
        group=group,
        above_ft=25_000,
        minutes=10,
        quick_to_ft=13_000,
        slow_owes_below=True,
        source=OXYGEN_SOURCES["nco-ide-a-150"],
    )


_EU_NCO = OxygenRule(
    key="eu-nco",
    title="European Union, non-commercial",
    bands=(
        *_bands(Group.CREW, "nco-op-190", (10_000, 13_000, 100, 30), (13_000, None, 100, 0)),
        *_bands(Group.PASSENGERS, "nco-ide-a-150", (10_000, 13_000, 10, 30)),
        *_bands(Group.PASSENGERS, "nco-op-190", (13_000, None, 100, 0)),
    ),
    reserves=(_nco_reserve(Group.CREW), _nco_reserve(Group.PASSENGERS)),
    masks=MaskRule(quick_donning=None, worn=None),
    notes=(
        "the pilot in command may judge the need for oxygen otherwise (NCO.OP.190(a)); the "
        "figures are those for one who cannot judge it",
        "above 13,000 ft every occupant is counted (NCO.OP.190(b)(2)), which is stricter than the "
        "shares that NCO.IDE.A.150 asks to be carried",
        "the ten minutes are counted for the crew too",
    ),
)
_EU_CAT = OxygenRule(
    key="eu-cat",
    title="European Union, commercial air transport",
    bands=(
        *_bands(Group.CREW, "cat-ide-a-235-table-1", (10_000, 13_000, 100, 30)),
        *_bands(Group.CREW, "cat-ide-a-235-table-1", (13_000, None, 100, 0)),
        *_bands(Group.PASSENGERS, "cat-ide-a-235-table-1", (10_000, 14_000, 10, 30)),
        *_bands(Group.PASSENGERS, "cat-ide-a-235-table-1", (14_000, 15_000, 30, 0)),
        *_bands(Group.PASSENGERS, "cat-ide-a-235-table-1", (15_000, None, 100, 0)),
    ),
    reserves=(
        OxygenReserve(
            group=Group.CREW,
            above_ft=10_000,
            minutes=120,
            low_ceiling_minutes=30,
            then_at_ft=10_000,
            from_ceiling=True,
            source=OXYGEN_SOURCES["cat-ide-a-235"],
        ),
        OxygenReserve(
            group=Group.PASSENGERS,
            above_ft=15_000,
            minutes=10,
            descent_to_ft=15_000,
            from_ceiling=True,
            source=OXYGEN_SOURCES["cat-ide-a-235"],
        ),
    ),
    masks=MaskRule(quick_donning=_altitude(25_000, "cat-ide-a-235"), worn=None),
    notes=("the rows of Table 1 are from memory; its descents (f) to (h) were read",),
)
_AU_91 = OxygenRule(
    key="au-91",
    title="Australia, general operations",
    bands=(
        *_bands(Group.CREW, "casa-91-mos-26-43", (12_500, 14_000, 100, 30)),
        *_bands(Group.CREW, "casa-91-mos-26-43", (14_000, None, 100, 0)),
        *_bands(Group.PASSENGERS, "casa-91-mos-26-43", (15_000, None, 100, 0)),
    ),
    reserves=_ten_minutes("casa-91-mos-26-43"),
    masks=MaskRule(quick_donning=None, worn=None),
    notes=(
        "that the table begins above FL125 was read in a guide; its rows are from memory and "
        "must be verified in the Manual of Standards",
        "no figure for wearing a mask was read; where FL350 matters, look it up",
    ),
)
_NZ_91 = replace(
    _AU_91,
    key="nz-91",
    title="New Zealand, general operations",
    bands=(
        *_bands(Group.CREW, "nz-91-209", (10_000, None, 100, 0)),
        *_bands(Group.PASSENGERS, "nz-91-209", (14_000, None, 100, 0)),
    ),
    masks=MaskRule(
        quick_donning=None,
        worn=_altitude(35_000, "nz-91-209"),
        two_pilots_exempt_to_ft=41_000,
        cabin_trigger_ft=13_000,
    ),
    falls_back_on="au-91",
    notes=(
        "use above 10,000 ft cabin altitude and masks above FL350 are New Zealand's (a summary of "
        "91.209); Australia's begin later and would be too lenient",
        "how much must be carried (91.533) was not read: Australia's ten minutes stand in",
    ),
)

#: Every rule, by key. The United Kingdom kept the European text.
OXYGEN_RULES: Mapping[str, OxygenRule] = MappingProxyType(
    {
        rule.key: rule
        for rule in (
            *(_US_91, _US_135, _EU_NCO, _EU_CAT),
            replace(_EU_NCO, key="uk-nco", title="United Kingdom, non-commercial"),
            replace(_EU_CAT, key="uk-cat", title="United Kingdom, commercial air transport"),
            *(_AU_91, _NZ_91),
        )
    }
)


def oxygen_rule(key: str) -> OxygenRule:
    """Give the oxygen rule of a key such as ``us-91``.

    Raises
    ------
    InputError
        When there is no such rule; the hint lists them.

    Examples
    --------
    >>> oxygen_rule("us-91").lowest_ft(Group.CREW)
    12500
    """
    rule = OXYGEN_RULES.get(key.strip().lower())
    if rule is None:
        raise InputError(f"{key!r} is no oxygen rule", "rules are " + ", ".join(OXYGEN_RULES))
    return rule
