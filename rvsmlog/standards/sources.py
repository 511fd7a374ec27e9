"""Every place that a figure or a rule cites, by its key.

The places themselves stand in lists by country and subject; here they are one read-only mapping.
A rule that names an unknown key is refused when it is declared.
"""

from collections.abc import Mapping
from types import MappingProxyType

from rvsmlog.errors import InputError
from rvsmlog.standards._sources_abroad import ABROAD_SOURCES
from rvsmlog.standards._sources_oxygen import OXYGEN_ONLY_SOURCES
from rvsmlog.standards._sources_us import US_SOURCES
from rvsmlog.standards.source import Source

#: Every source, by key.
SOURCES: Mapping[str, Source] = MappingProxyType(
    {place.key: place for place in (*US_SOURCES, *ABROAD_SOURCES, *OXYGEN_ONLY_SOURCES)}
)


def source(key: str) -> Source:
    """Give the source of a key.

    Raises
    ------
    InputError
        When no source has that key.

    Examples
    --------
    >>> source("91-411-d").section
    '91.411(d) (highest tested altitude)'
    """
    place = SOURCES.get(key)
    if place is None:
        stem = key.split("-", maxsplit=1)[0]
        near = ", ".join(sorted(name for name in SOURCES if name.startswith(stem)))
        raise InputError(
            f"{key!r} is no source", f"did you mean one of: {near}" if near else "see SOURCES"
        )
    return place
