"""Oxygen in whole litres as it is shown: figures that add up, rounded to the safe side.

What is decided rests on the exact figures. Rounded each for itself, 1284.6 less 237.3 would read
1285 less 237 and leave 1047. Here what is on board is cut, what is needed is rounded up, and what
is left over is the difference of the two: never more than there is, and at most three litres less.
"""

import math

from rvsmlog.frozen import dataclass
from rvsmlog.science.oxygen_case import CaseNeed
from rvsmlog.science.oxygen_supply import OxygenSupply
from rvsmlog.standards.oxygen_figures import Group

#: Decimals beyond which a difference is an error of reckoning.
_DECIMALS = 6
_TENTHS = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class WholeLitres:
    """A case against what is on board, litres NTPD.

    Parameters
    ----------
    on_board : int
        What can be breathed.
    kept_back : int
        What of it is the crew's reserve, where that and not the crew's need leaves the passengers
        short first; else 0.
    needed : int
        What the case draws, of the passengers alone where the reserve counts. Where the case is
        covered, no more than there is.
    """

    on_board: int
    kept_back: int
    needed: int

    @property
    def left(self) -> int:
        """What is left over; negative where and only where the case is not covered."""
        return self.on_board - self.kept_back - self.needed


def cut(litres: float) -> int:
    """Cut to whole litres.

    Examples
    --------
    >>> cut(1284.6)
    1284
    """
    return math.floor(round(litres, _DECIMALS))


def tenths_up(litres: float) -> float:
    """Round up to a tenth of a litre.

    Examples
    --------
    >>> tenths_up(237.31), tenths_up(237.3)
    (237.4, 237.3)
    """
    return _tenths(litres) / _TENTHS


def whole_litres(supply: OxygenSupply, case: CaseNeed) -> WholeLitres:
    """Hold a case against what is on board, in figures to be shown."""
    crew = case.crew_litres if Group.CREW in supply.serves else 0.0
    passengers = case.passenger_litres if Group.PASSENGERS in supply.serves else 0.0
    reserved = passengers > 0 and min(supply.crew_reserve_litres, supply.usable_litres) > crew
    on_board = cut(supply.usable_litres)
    kept_back = min(_up(supply.crew_reserve_litres), on_board) if reserved else 0
    drawn = _tenths(passengers) + (0 if reserved else _tenths(crew))
    needed = math.ceil(drawn / _TENTHS)
    if round(supply.margin_litres(case), _DECIMALS) >= 0:
        needed = min(needed, on_board - kept_back)
    return WholeLitres(on_board=on_board, kept_back=kept_back, needed=needed)


def _up(litres: float) -> int:
    return math.ceil(round(litres, _DECIMALS))


def _tenths(litres: float) -> int:
    return _up(litres * _TENTHS)
