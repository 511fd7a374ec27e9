"""Tables of cruising levels, and the tracks by which they are split."""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.frozen import dataclass
from rvsmlog.standards.source import Figure, Source
from rvsmlog.standards.sources import source


class Split(StrEnum):
    """Tracks that take the odd levels; the other half circle takes the even ones.

    Tracks are magnetic; true or grid tracks are used in polar areas.
    """

    EASTERLY = "000-179"
    NORTHERLY = "270-089"
    SOUTHERLY = "090-269"


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelTable:
    """Cruising levels of the two half circles.

    Parameters
    ----------
    odd : tuple of int
        Levels of the half circle that the split names; easterly tracks by ICAO's default.
    even : tuple of int
        Levels of the other half circle.
    source : Source
        Where the table stands.
    note : str
        What a reader must know.
    """

    odd: tuple[int, ...]
    even: tuple[int, ...]
    source: Source
    note: str = ""


#: Below RVSM airspace. Low entries are flight levels only where the transition level allows it.
BELOW = LevelTable(
    odd=(10, 30, 50, 70, 90, 110, 130, 150, 170, 190, 210, 230, 250, 270),
    even=(20, 40, 60, 80, 100, 120, 140, 160, 180, 200, 220, 240, 260, 280),
    source=source("annex-2-app-3"),
    note="flight levels from the transition level up only; 91.179 agrees from FL180 up",
)
#: Where the vertical minimum is 1,000 ft up to FL410.
RVSM = LevelTable(
    odd=(290, 310, 330, 350, 370, 390, 410, 450, 490),
    even=(300, 320, 340, 360, 380, 400, 430, 470, 510),
    source=source("91-179"),
    note="levels above FL410 as FAA Order JO 7110.65, table 4-5-1",
)
#: Where the vertical minimum from FL290 up is 2,000 ft.
NON_RVSM = LevelTable(
    odd=(290, 330, 370, 410, 450, 490),
    even=(310, 350, 390, 430, 470, 510),
    source=source("91-179"),
    note="in controlled airspace, as assigned",
)

#: First degree of the half circle of each split, and its source.
SPLITS: Mapping[Split, Figure[int]] = MappingProxyType(
    {
        Split.EASTERLY: Figure(
            value=0,
            unit="degrees",
            source=source("91-179"),
            note="ICAO's default; United States, Australia",
        ),
        Split.NORTHERLY: Figure(
            value=270,
            unit="degrees",
            source=source("nz-91-313"),
            note="New Zealand FIR; Auckland Oceanic has its own table",
        ),
        Split.SOUTHERLY: Figure(
            value=90,
            unit="degrees",
            source=source("national-cruising-levels"),
            note="Italy, France, Portugal, Spain and others",
        ),
    }
)

_HALF_CIRCLE = 180
_CIRCLE = 360


def parse_split(text: str) -> Split:
    """Read a split.

    Raises
    ------
    InputError
        When there is no such split.
    """
    try:
        return Split(text.strip())
    except ValueError:
        raise InputError(
            f"{text.strip()!r} is no split of tracks", "splits are " + ", ".join(Split)
        ) from None


def takes_odd_levels(track_deg: float, split: str) -> bool:
    """Say whether a track takes the odd levels (FL290, FL310 in RVSM airspace).

    Parameters
    ----------
    track_deg : float
        Degrees, 0 to 360; 360 is north as 0 is. A track of 179.5 still belongs to 000-179.
    split : str
        Half circle with the odd levels.

    Raises
    ------
    OutOfRangeError
        When the track is not between 0 and 360 degrees.
    InputError
        When there is no such split.
    """
    if not 0 <= track_deg <= _CIRCLE:
        raise OutOfRangeError(f"track {track_deg} is out of range", "tracks run from 0 to 360")
    first = SPLITS[parse_split(split)].value
    return (track_deg - first) % _CIRCLE < _HALF_CIRCLE


def cruising_levels(track_deg: float, split: str, rvsm: bool) -> tuple[int, ...]:
    """Give the cruising levels of a track, lowest first.

    Parameters
    ----------
    track_deg : float
        Degrees, 0 to 360.
    split : str
        Half circle with the odd levels, for example ``000-179``.
    rvsm : bool
        Whether the airspace applies 1,000 ft from FL290 to FL410.

    Returns
    -------
    tuple of int
        Flight levels from FL010 or FL020 up. Those below the transition level are altitudes.
        Air traffic control may assign others.

    Raises
    ------
    InputError
        When the track is out of range or there is no such split.
    """
    upper = RVSM if rvsm else NON_RVSM
    if takes_odd_levels(track_deg, split):
        return BELOW.odd + upper.odd
    return BELOW.even + upper.even
