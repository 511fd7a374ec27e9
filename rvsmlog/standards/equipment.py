"""Functions of equipment, and which of them RVSM needs.

An altitude measurement system is one altimeter with its air data computer and static source, so
two systems are wanted of each of the three.
"""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

from rvsmlog.frozen import dataclass
from rvsmlog.standards.rvsm import ALTITUDE_SYSTEMS_REQUIRED
from rvsmlog.standards.source import Source
from rvsmlog.standards.sources import source


class Function(StrEnum):
    """What a piece of equipment does."""

    ALTIMETER = "altimeter"
    AIR_DATA_COMPUTER = "air-data-computer"
    STATIC_SOURCE = "static-source"
    ALTITUDE_ALERTER = "altitude-alerter"
    ALTITUDE_CONTROL = "altitude-control"
    TRANSPONDER = "transponder"
    STANDBY_ALTIMETER = "standby-altimeter"
    ACAS = "acas"
    ADS_B_OUT = "ads-b-out"
    STATIC_HEAT = "static-heat"
    PITOT_HEAT = "pitot-heat"
    OXYGEN_CYLINDER = "oxygen-cylinder"
    OXYGEN_REGULATOR = "oxygen-regulator"
    OXYGEN_MASK = "oxygen-mask"
    CABIN_PRESSURE_CONTROL = "cabin-pressure-control"
    CABIN_ALTITUDE_WARNING = "cabin-altitude-warning"
    OTHER = "other"


class RvsmEffect(StrEnum):
    """What the loss of a function does to flight in RVSM airspace."""

    #: RVSM is lost when fewer work than the minimum set wants.
    LOST = "lost"
    #: Often restricted: the item in the aeroplane's own minimum equipment list decides.
    SEE_LIST = "see the item in the minimum equipment list"
    #: RVSM is lost for an aeroplane that flies there under section 9 of appendix G.
    LOST_ON_ADSB_ROUTE = "lost under the ads-b basis"
    #: RVSM is not touched.
    NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class FunctionFacts:
    """What is known of one function.

    Parameters
    ----------
    function : Function
        The function.
    title : str
        Its name in running text.
    rvsm_effect : RvsmEffect
        What its loss does to flight in RVSM airspace.
    source : Source
        Where that stands.
    positions : tuple of str
        Positions that an aeroplane is expected to have, empty where they are free.
    note : str
        What a reader must know.
    """

    function: Function
    title: str
    rvsm_effect: RvsmEffect
    source: Source
    positions: tuple[str, ...] = ()
    note: str = ""


_PAIR = ("1", "2")
_SEATS = ("pilot", "co-pilot", "passenger")
_PART_OF_SYSTEM = "part of an altitude measurement system, of which two independent ones must work"


def _facts(
    function: Function,
    title: str,
    effect: RvsmEffect,
    key: str,
    positions: tuple[str, ...] = (),
    note: str = "",
) -> FunctionFacts:
    """State one row of the table below."""
    return FunctionFacts(
        function=function,
        title=title,
        rvsm_effect=effect,
        source=source(key),
        positions=positions,
        note=note,
    )


_TABLE: tuple[FunctionFacts, ...] = (
    _facts(
        Function.ALTIMETER,
        "altimeter",
        RvsmEffect.LOST,
        "appendix-g-2c-1",
        _PAIR,
        _PART_OF_SYSTEM,
    ),
    _facts(
        Function.AIR_DATA_COMPUTER,
        "air data computer",
        RvsmEffect.LOST,
        "appendix-g-2c-1",
        _PAIR,
        _PART_OF_SYSTEM,
    ),
    _facts(
        Function.STATIC_SOURCE,
        "static source",
        RvsmEffect.LOST,
        "appendix-g-2c-1",
        _PAIR,
        _PART_OF_SYSTEM,
    ),
    _facts(Function.ALTITUDE_ALERTER, "altitude alerter", RvsmEffect.LOST, "appendix-g-2c-3"),
    _facts(
        Function.ALTITUDE_CONTROL,
        "automatic altitude control",
        RvsmEffect.LOST,
        "appendix-g-2c-2",
    ),
    _facts(
        Function.TRANSPONDER,
        "altitude-reporting transponder",
        RvsmEffect.LOST,
        "spa-rvsm-110",
        (),
        "appendix G does not list it; 91.215 requires it for the airspace",
    ),
    _facts(
        Function.STANDBY_ALTIMETER,
        "standby altimeter",
        RvsmEffect.SEE_LIST,
        "practice",
        (),
        "restricted in some minimum equipment lists",
    ),
    _facts(
        Function.ACAS,
        "airborne collision avoidance system",
        RvsmEffect.NONE,
        "aim-4-6-3",
        (),
        "appendix G does not require it; if TCAS II is fitted it is version 7.0 or later",
    ),
    _facts(
        Function.ADS_B_OUT,
        "ADS-B Out",
        RvsmEffect.LOST_ON_ADSB_ROUTE,
        "appendix-g-9a",
        (),
        "unless air traffic control or the foreign state authorises otherwise; 91.225 requires it "
        "for airspace of the United States",
    ),
    _facts(Function.STATIC_HEAT, "static port heat", RvsmEffect.SEE_LIST, "practice", _PAIR),
    _facts(Function.PITOT_HEAT, "pitot heat", RvsmEffect.SEE_LIST, "practice", _PAIR),
    _facts(Function.OXYGEN_CYLINDER, "oxygen cylinder", RvsmEffect.NONE, "practice"),
    _facts(Function.OXYGEN_REGULATOR, "oxygen regulator", RvsmEffect.NONE, "practice", _SEATS[:2]),
    _facts(Function.OXYGEN_MASK, "oxygen mask", RvsmEffect.NONE, "practice", _SEATS),
    _facts(
        Function.CABIN_PRESSURE_CONTROL,
        "cabin pressure control",
        RvsmEffect.NONE,
        "practice",
        (),
        "limits the level by the cabin altitude, not by RVSM",
    ),
    _facts(
        Function.CABIN_ALTITUDE_WARNING,
        "cabin altitude warning",
        RvsmEffect.NONE,
        "practice",
        (),
        "limits the level by the cabin altitude, not by RVSM",
    ),
    _facts(
        Function.OTHER,
        "other equipment",
        RvsmEffect.SEE_LIST,
        "practice",
        (),
        "not known to this table: the aeroplane's own minimum equipment list decides",
    ),
)

#: Functions of which several units may stand at one position: ports on either side of the fuselage,
#: their heaters, the cylinders of one bay, the masks of one row of seats.
SEVERAL_AT_A_POSITION = frozenset(
    {
        Function.STATIC_SOURCE,
        Function.STATIC_HEAT,
        Function.PITOT_HEAT,
        Function.OXYGEN_CYLINDER,
        Function.OXYGEN_MASK,
        Function.OTHER,
    }
)

#: What is known of each function.
EQUIPMENT: Mapping[Function, FunctionFacts] = MappingProxyType(
    {facts.function: facts for facts in _TABLE}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class MinimumItem:
    """One item of the equipment that must work for flight in RVSM airspace.

    Parameters
    ----------
    name : str
        Slug of the item.
    title : str
        Its name in running text.
    functions : tuple of Function
        Each of these is wanted ``number`` times.
    number : int
        How many must work.
    sources : Mapping
        Source by state: ``us``, ``eu``, ``uk``, ``au``, ``nz``.
    """

    name: str
    title: str
    functions: tuple[Function, ...]
    number: int
    sources: Mapping[str, Source]

    def source_for(self, authority_code: str) -> Source:
        """Give the source for an authority code such as ``eu-nco``."""
        return self.sources[authority_code.partition("-")[0]]


def _by_state(us_key: str) -> Mapping[str, Source]:
    """Cite the US paragraph at home, SPA.RVSM.110 in Europe, and ICAO's standard in the south."""
    europe, icao = source("spa-rvsm-110"), source("annex-6-2-2-5-2")
    return MappingProxyType(
        {"us": source(us_key), "eu": europe, "uk": europe, "au": icao, "nz": icao}
    )


#: The equipment that RVSM needs. The US appendix does not list the transponder; 91.215 does.
MINIMUM_SET: tuple[MinimumItem, ...] = (
    MinimumItem(
        name="altitude-systems",
        title="altitude measurement systems",
        functions=(Function.ALTIMETER, Function.AIR_DATA_COMPUTER, Function.STATIC_SOURCE),
        number=ALTITUDE_SYSTEMS_REQUIRED.value,
        sources=_by_state("appendix-g-2c-1"),
    ),
    MinimumItem(
        name="altitude-control",
        title="automatic altitude control",
        functions=(Function.ALTITUDE_CONTROL,),
        number=1,
        sources=_by_state("appendix-g-2c-2"),
    ),
    MinimumItem(
        name="altitude-alerter",
        title="altitude alerter",
        functions=(Function.ALTITUDE_ALERTER,),
        number=1,
        sources=_by_state("appendix-g-2c-3"),
    ),
    MinimumItem(
        name="transponder",
        title="altitude-reporting transponder",
        functions=(Function.TRANSPONDER,),
        number=1,
        sources=_by_state("91-215"),
    ),
)
