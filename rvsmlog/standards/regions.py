"""Regions of airspace for which an RVSM approval can be held or a flight planned."""

from collections.abc import Mapping
from types import MappingProxyType

from rvsmlog.errors import InputError, did_you_mean
from rvsmlog.standards.source import Figure
from rvsmlog.standards.sources import source

#: Approval for every region.
ALL = "ALL"

#: Region codes and what they stand for. US lies inside NAM: appendix G section 9 ends at its edge.
REGIONS: Mapping[str, str] = MappingProxyType(
    {
        "AFI": "Africa and Indian Ocean",
        "ASIA": "Asia",
        "CAR": "Caribbean",
        "EUR": "Europe",
        "MID": "Middle East",
        "NAM": "North America",
        "NAT": "North Atlantic",
        "PAC": "Pacific",
        "SAM": "South America",
        "US": "domestic airspace of the United States",
        ALL: "all regions",
    }
)

#: The region where, from the first of these levels to the second, navigation asks for an
#: authorization of its own beside that for RVSM.
HIGH_LEVEL_REGION = "NAT"
HIGH_LEVELS = Figure(value=(285, 420), unit="FL", source=source("nat-hla"))

_PARENTS: Mapping[str, str] = MappingProxyType({"US": "NAM"})


def parse_region(text: str) -> str:
    """Read a region code, in either case.

    Raises
    ------
    InputError
        When there is no such region.

    Examples
    --------
    >>> parse_region("pac")
    'PAC'
    """
    code = text.strip().upper()
    if code not in REGIONS:
        near = did_you_mean(code, REGIONS)
        says = f"{near}regions are {', '.join(REGIONS)}"
        raise InputError(f"{text.strip()!r} is no region", says)
    return code


def covers(approved: tuple[str, ...], planned: str) -> bool:
    """Say whether an approval for some regions is good for flight in another.

    Parameters
    ----------
    approved : tuple of str
        Region codes of the approval; ``ALL`` covers every region.
    planned : str
        Region code of the flight. ``ALL`` as a plan is covered by an approval for ``ALL`` only.

    Returns
    -------
    bool
        Whether the planned region, or the one it lies in, is approved.

    Raises
    ------
    InputError
        When a code is unknown.

    Examples
    --------
    >>> covers(("NAM",), "US"), covers(("US",), "NAM")
    (True, False)
    """
    held = {parse_region(code) for code in approved}
    wanted = parse_region(planned)
    return ALL in held or wanted in held or _PARENTS.get(wanted) in held
