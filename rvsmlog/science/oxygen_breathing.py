"""Oxygen in what is breathed, and the least flow that certification asks.

All flows are litres NTPD (70 F, 760 mmHg, dry).
"""

from functools import lru_cache

from rvsmlog.errors import OutOfRangeError
from rvsmlog.frozen import replace
from rvsmlog.science.atmosphere import pressure_hpa
from rvsmlog.standards.oxygen_figures import (
    BODY_TEMPERATURE_C,
    MINIMUM_FLOWS,
    NTPD_TEMPERATURE_C,
    TRACHEAL_VAPOUR_MMHG,
    Group,
    MinimumFlow,
)
from rvsmlog.units import HPA_PER_MMHG

#: Share of oxygen in dry air (from memory: 20.95 per cent).
OXYGEN_SHARE = 0.2095
#: Highest cabin altitude for which the certification rules state a flow, feet.
HIGHEST_RULED_FT = 40_000
_ZERO_C_K = 273.15
_SEA_LEVEL_MMHG = 760.0
_BTPS_TO_STPD_K = _ZERO_C_K / (_ZERO_C_K + BODY_TEMPERATURE_C.value)
_STPD_TO_NTPD = (_ZERO_C_K + NTPD_TEMPERATURE_C.value) / _ZERO_C_K
#: The least that the rule lets anyone breathe, litres a minute BTPS.
_LEAST_BREATHED = min(need.litres_btps for need in MINIMUM_FLOWS)
_ANYONE = tuple(
    replace(need, litres_btps=_LEAST_BREATHED)
    for need in MINIMUM_FLOWS
    if need.group is Group.PASSENGERS
)
_CREW_LOWER = replace(
    next(need for need in MINIMUM_FLOWS if need.demand), litres_btps=_LEAST_BREATHED
)


def tracheal_mmhg(cabin_ft: float, oxygen_share: float = OXYGEN_SHARE) -> float:
    """Give the partial pressure of oxygen in the windpipe, millimetres of mercury.

    Parameters
    ----------
    cabin_ft : float
        Cabin pressure altitude, feet.
    oxygen_share : float
        Share of oxygen in the dry gas breathed in; air by default.

    Returns
    -------
    float
        Share times the pressure less 47 mmHg of water vapour.
    """
    return oxygen_share * _dry_mmhg(cabin_ft)


def _dry_mmhg(cabin_ft: float) -> float:
    """Give the pressure of what is breathed in, less its water vapour."""
    return pressure_hpa(cabin_ft) / HPA_PER_MMHG - TRACHEAL_VAPOUR_MMHG.value


def _ntpd_lpm(litres_btps: float, cabin_ft: float) -> float:
    """Give litres NTPD of dry gas in a minute volume BTPS."""
    stpd = litres_btps * _dry_mmhg(cabin_ft) / _SEA_LEVEL_MMHG * _BTPS_TO_STPD_K
    return stpd * _STPD_TO_NTPD


def undiluted_lpm(cabin_ft: float, litres_btps: float = 20.0) -> float:
    """Give the flow of undiluted oxygen at a minute volume BTPS, litres NTPD a minute."""
    return _ntpd_lpm(litres_btps, cabin_ft)


def minimum_lpm(need: MinimumFlow, cabin_ft: float) -> float:
    """Give the least flow of added oxygen that keeps what a rule asks.

    Of the dry gas breathed in, the share x is added oxygen and the rest air:
    x + 0.2095 (1 - x) = P / (ambient - 47), and the flow is x times the dry minute volume.
    Perfect mixing and no loss are assumed, so equipment takes more, never less.

    Parameters
    ----------
    need : MinimumFlow
        What the rule asks.
    cabin_ft : float
        Cabin pressure altitude, feet.

    Returns
    -------
    float
        Litres NTPD a minute; 0 where air alone does.

    Raises
    ------
    OutOfRangeError
        When even pure oxygen gives less than the rule asks.
    """
    if need.tracheal_mmhg is not None:
        wanted = need.tracheal_mmhg / _dry_mmhg(cabin_ft)
    else:
        wanted = (need.oxygen_percent or 0) / 100.0
    if wanted > 1.0:
        raise OutOfRangeError(
            f"pure oxygen does not give {need.tracheal_mmhg:g} mmHg at {cabin_ft:,.0f} ft",
            "use demand equipment, or a lower level",
        )
    added = max((wanted - OXYGEN_SHARE) / (1.0 - OXYGEN_SHARE), 0.0)
    return added * _ntpd_lpm(need.litres_btps, cabin_ft)


@lru_cache(maxsize=4096)
def least_supply_lpm(cabin_ft: float, *, undiluted: bool = False) -> float:
    """Give the flow below which the equipment's own table states no supply, whoever breathes it.

    That is what keeps the passengers' tracheal pressure of 25.1443(c), the lowest that the section
    asks of any mask, at the least minute volume that it states, 15 litres. More cannot be held
    against a table: a demand mask delivers what is breathed, handbooks count with a volume of their
    own, and the former 23.1443(b)(3) let a figure stand in, which was not read. Up to 10,000 ft
    only undiluted oxygen is held to anything, the crew's 122 mmHg at that volume; above 40,000 ft
    what is asked there counts on.

    Parameters
    ----------
    cabin_ft : float
        Cabin pressure altitude, feet.
    undiluted : bool
        Whether a regulator is to deliver oxygen undiluted with air.

    Returns
    -------
    float
        Litres NTPD a minute; 0 where nothing is asked.
    """
    height_ft = min(cabin_ft, float(HIGHEST_RULED_FT))
    need = next((row for row in _ANYONE if row.above_ft < height_ft <= row.to_ft), None)
    if need is None:
        return minimum_lpm(_CREW_LOWER, height_ft) if undiluted else 0.0
    return minimum_lpm(need, height_ft)
