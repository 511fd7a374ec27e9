"""What each authority asks: when oxygen must be used, and how much must be carried.

Every threshold is read "above, up to and including": at 12,500 ft exactly a rule that begins
above 12,500 ft asks nothing. Cabin pressure altitudes are in feet.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import lru_cache
from types import MappingProxyType

from rvsmlog.errors import InputError
from rvsmlog.standards.oxygen_figures import Group
from rvsmlog.standards.oxygen_rule import (
    LOW_CEILING_FT,
    QUICK_DESCENT_MINUTES,
    RESERVE_DESCENT_MINUTES,
    MaskRule,
    OxygenBand,
    OxygenReserve,
    OxygenRule,
)
from rvsmlog.standards.source import Figure, Source
from rvsmlog.standards.sources import source

__all__ = [
    "LOW_CEILING_FT",
    "OXYGEN_RULES",
    "QUICK_DESCENT_MINUTES",
    "QUICK_DONNING_KEYS",
    "RESERVE_DESCENT_MINUTES",
    "SUPPLY_KEYS",
    "WORN_KEYS",
    "Group",
    "MaskRule",
    "OxygenBand",
    "OxygenReserve",
    "OxygenRule",
    "oxygen_rule",
]


def _bands(
    group: Group, key: str, *rows: tuple[int, int | None, int, int]
) -> tuple[OxygenBand, ...]:
    """Make the bands of a group from rows of above, up to, per cent, free minutes."""
    place = source(key)
    return tuple(
        OxygenBand(
            group=group, above_ft=low, to_ft=high, percent=share, free_minutes=free, source=place
        )
        for low, high, share, free in rows
    )


def _altitude(value: int, key: str, note: str = "") -> Figure[int]:
    """Give an altitude in feet with its source."""
    return Figure(value=value, unit="ft", source=source(key), note=note)


def _ten_minutes(key: str) -> tuple[OxygenReserve, ...]:
    """Give the ten-minute supply of each occupant above 25,000 ft."""
    place = source(key)
    return tuple(
        OxygenReserve(group=group, above_ft=25_000, minutes=10, source=place) for group in Group
    )


_CERTIFICATION = (
    "a certification rule, not an operating one; take the type's certification basis. A mask that "
    "presents itself before 15,000 ft cabin altitude meets it too"
)
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
            source=source("135-157"),
        ),
        OxygenReserve(
            group=Group.PASSENGERS,
            above_ft=15_000,
            minutes=30,
            slow_minutes=60,
            quick_to_ft=15_000,
            descent_to_ft=15_000,
            source=source("135-157"),
        ),
    ),
    masks=MaskRule(
        quick_donning=None,
        worn=_altitude(35_000, "135-89"),
        worn_without_quick_donning=_altitude(25_000, "135-89"),
        cabin_trigger_ft=12_000,
    ),
    notes=(
        "Part 135 does not say what a two-hour supply is: it is read as 121.331(b), of "
        "reciprocating engines, defines it: ten minutes of descent, then 110 minutes at 10,000 ft",
        "the passengers' ten minutes above 25,000 ft lie within their thirty",
    ),
)


def _nco_reserve(group: Group) -> OxygenReserve:
    """Give the ten minutes of NCO.IDE.A.150(b)(1)(i), which those of (b)(2) never exceed."""
    place = source("nco-ide-a-150")
    return OxygenReserve(group=group, above_ft=10_000, minutes=10, source=place)


#: (b)(1)(iii) runs to 14,000 ft; above 13,000 ft NCO.OP.190 counts everyone.
_NCO_TENTH = tuple(
    replace(band, free_to_ft=14_000)
    for band in _bands(Group.PASSENGERS, "nco-ide-a-150", (10_000, 13_000, 10, 30))
)
_EU_NCO = OxygenRule(
    key="eu-nco",
    title="European Union, non-commercial",
    bands=(
        *_bands(Group.CREW, "nco-op-190", (10_000, 13_000, 100, 30), (13_000, None, 100, 0)),
        *_NCO_TENTH,
        *_bands(Group.PASSENGERS, "nco-op-190", (13_000, None, 100, 0)),
    ),
    reserves=(_nco_reserve(Group.CREW), _nco_reserve(Group.PASSENGERS)),
    masks=MaskRule(quick_donning=None, worn=None),
    notes=(
        "the pilot in command may judge the need for oxygen otherwise (NCO.OP.190(a)); the "
        "figures are those for one who cannot judge it",
        "above 13,000 ft every occupant is counted (NCO.OP.190(b)(2)), which is stricter than the "
        "shares that NCO.IDE.A.150 asks to be carried",
        "ten minutes for everyone are the least at any level above FL100, where the cabin is above "
        "10,000 ft once its pressure is lost (NCO.IDE.A.150(b)(1)(i), read to the letter); (b)(2) "
        "asks no more, however slow the descent",
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
            source=source("cat-ide-a-235"),
        ),
        OxygenReserve(
            group=Group.PASSENGERS,
            above_ft=10_000,
            minutes=10,
            descent_to_ft=15_000,
            from_ceiling=True,
            source=source("cat-ide-a-235"),
        ),
    ),
    masks=MaskRule(quick_donning=_altitude(25_000, "cat-ide-a-235"), worn=None),
    notes=(
        "the rows of Table 1 are from memory; that it begins above 10,000 ft, and its descents (f) "
        "to (h), were read",
        "the passengers' ten minutes are the least at any level above FL100",
        "what (e) lets aeroplanes certificated to FL250 or lower leave out is counted",
        "cabin crew are counted as passengers; their half hour, row 2 of Table 1, is not",
    ),
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


def _keys(places: Iterable[Source]) -> tuple[str, ...]:
    """Give the keys of places, each once."""
    return tuple(dict.fromkeys(place.key for place in places))


def _keys_of(*figures: Figure[int] | None) -> tuple[str, ...]:
    """Give the keys of the places where figures stand."""
    return _keys(figure.source for figure in figures if figure is not None)


_MASKS = [rule.masks for rule in OXYGEN_RULES.values()]
#: Where the authorities say what is used and carried, when masks must be quick to don, and when one
#: is worn: the pages of the rules that ask so name every place.
SUPPLY_KEYS = _keys(place for rule in OXYGEN_RULES.values() for place in rule.supply_sources)
QUICK_DONNING_KEYS = _keys_of(
    *(figure for each in _MASKS for figure in (each.quick_donning, each.worn_without_quick_donning))
)
WORN_KEYS = _keys_of(*(each.worn for each in _MASKS))


@lru_cache(maxsize=64)
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
