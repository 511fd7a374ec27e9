"""Oxygen and the body: the flow a person needs, time of useful consciousness."""

from enum import StrEnum

from rvsmlog.frozen import dataclass
from rvsmlog.standards.source import Figure, Source
from rvsmlog.standards.sources import source


class Group(StrEnum):
    """Who breathes."""

    CREW = "crew"
    PASSENGERS = "passengers"


@dataclass(frozen=True, slots=True, kw_only=True)
class MinimumFlow:
    """Least oxygen that equipment must deliver between two cabin altitudes.

    Parameters
    ----------
    group : Group
        Whose equipment.
    demand : bool
        Demand equipment; else continuous flow.
    above_ft, to_ft : int
        Cabin altitudes, above the first, up to and including the second.
    tracheal_mmhg : float or None
        Mean tracheal partial pressure of oxygen to be kept; None where a share is stated.
    oxygen_percent : int or None
        Share of oxygen in what is breathed; None where a pressure is stated.
    litres_btps : float
        Litres breathed a minute at body temperature and pressure, saturated.
    source : Source
        Where it stands.
    """

    group: Group
    demand: bool
    above_ft: int
    to_ft: int
    tracheal_mmhg: float | None
    oxygen_percent: int | None
    litres_btps: float
    source: Source


def _flow(
    group: Group, ends: tuple[int, int], need: float | int, litres: float, *, demand: bool = False
) -> MinimumFlow:
    """Make a row; a whole number is a share in per cent, a float a pressure in mmHg."""
    share = isinstance(need, int)
    return MinimumFlow(
        group=group,
        demand=demand,
        above_ft=ends[0],
        to_ft=ends[1],
        tracheal_mmhg=None if share else float(need),
        oxygen_percent=int(need) if share else None,
        litres_btps=litres,
        source=source("25-1443"),
    )


#: 14 CFR 25.1443(a) to (c); the former 23.1443(b) and (c) has the same figures. The crew's
#: continuous flow states no altitudes: it ends where pure oxygen no longer gives 149 mmHg.
MINIMUM_FLOWS: tuple[MinimumFlow, ...] = (
    _flow(Group.CREW, (0, 40_000), 149.0, 15.0),
    _flow(Group.CREW, (0, 35_000), 122.0, 20.0, demand=True),
    _flow(Group.CREW, (35_000, 40_000), 95, 20.0, demand=True),
    _flow(Group.PASSENGERS, (10_000, 18_500), 100.0, 15.0),
    _flow(Group.PASSENGERS, (18_500, 40_000), 83.8, 30.0),
)
#: Water vapour in the windpipe, millimetres of mercury.
TRACHEAL_VAPOUR_MMHG = Figure(value=47.0, unit="mmHg", source=source("25-1443"))
#: Body temperature of litres BTPS, degrees Celsius.
BODY_TEMPERATURE_C = Figure(value=37.0, unit="C", source=source("25-1443"))
#: Temperature of litres NTPD. 25.1439(b)(5) measures free oxygen at 70 F and 760 mmHg too.
NTPD_TEMPERATURE_C = Figure(
    value=(70.0 - 32.0) * 5.0 / 9.0, unit="C", source=source("free-gas-70-f")
)
#: Cabin altitude at which protective breathing equipment is measured, feet.
CONTAMINATED_AIR_FT = Figure(value=8_000, unit="ft", source=source("25-1439"))
#: Cabin altitude at which the crew, once on oxygen after a loss of pressure, leave it.
CREW_LEAVES_OXYGEN_FT = Figure(value=10_000, unit="ft", source=source("mask-to-10000"))
#: Seconds in which a quick-donning mask goes on with one hand.
QUICK_DONNING_SECONDS = Figure(value=5, unit="s", source=source("91-211"))
#: Seconds for recognition, donning and configuring before an emergency descent begins.
RECOGNITION_SECONDS = Figure(value=17, unit="s", source=source("amc1-cat-ide-a-235-e"))
#: Seconds that most unpractised pilots took to react to a loss of pressure.
SLOW_REACTION_SECONDS = Figure(
    value=15, unit="s", source=source("slow-reaction"), note="8 of 10 took up to this long"
)

#: Cabin altitudes that mean something to a pilot.
CABIN_LIMITS: tuple[Figure[int], ...] = tuple(
    Figure(value=value, unit="ft", source=source(key), note=note)
    for value, key, note in (
        (8_000, "25-841", "normal operation"),
        (10_000, "25-841", "cabin altitude warning"),
        (12_500, "91-211", "crew after 30 minutes (91.211)"),
        (14_000, "91-211", "crew throughout (91.211)"),
        (15_000, "91-211", "every occupant (91.211)"),
    )
)


@dataclass(frozen=True, slots=True, kw_only=True)
class UsefulConsciousness:
    """One row of the table of useful consciousness.

    Parameters
    ----------
    altitude_ft : int
        Cabin altitude.
    normal_s, rapid_s : tuple of float
        Shortest and longest time, seconds, without and after rapid decompression.
    """

    altitude_ft: int
    normal_s: tuple[float, float]
    rapid_s: tuple[float, float]


def _row(
    altitude_ft: int, normal_s: tuple[float, float], rapid_s: tuple[float, float]
) -> UsefulConsciousness:
    """Make a row."""
    return UsefulConsciousness(altitude_ft=altitude_ft, normal_s=normal_s, rapid_s=rapid_s)


#: Times of useful consciousness. Read in a reprint of the circular's table, not in the circular.
USEFUL_CONSCIOUSNESS: Figure[tuple[UsefulConsciousness, ...]] = Figure(
    value=(
        _row(18_000, (1_200.0, 1_800.0), (600.0, 900.0)),
        _row(22_000, (600.0, 600.0), (300.0, 300.0)),
        _row(25_000, (180.0, 300.0), (90.0, 210.0)),
        _row(28_000, (150.0, 180.0), (75.0, 90.0)),
        _row(30_000, (60.0, 120.0), (30.0, 60.0)),
        _row(35_000, (30.0, 60.0), (15.0, 30.0)),
        _row(40_000, (15.0, 20.0), (7.0, 10.0)),
        _row(43_000, (9.0, 12.0), (5.0, 5.0)),
        _row(50_000, (9.0, 12.0), (5.0, 5.0)),
    ),
    unit="s",
    source=source("ac-61-107"),
    note="healthy people at rest; smoking, tiredness and illness shorten it",
)
