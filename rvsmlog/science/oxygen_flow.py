"""Litres of oxygen a minute that one person takes, by cabin altitude and mode.

Flows come from the equipment's own table where there is one: read between its points, refused
outside them. A flow of 0 in it is no supply: up to its last such point, and between that and the
next, the table states no flow to breathe, as nobody knows where between them it begins. Nor is one
that is less than certification asks of any mask (:func:`least_supply_lpm`): a token, or a figure in
another unit. Where there is no table, certification rules give a figure, and each says how far it
may be trusted (:class:`FlowBasis`). All flows are litres NTPD (70 F, 760 mmHg, dry).

A diluter-demand regulator takes more than the rule's least: at 20,000 ft an Army handbook shows
3.6 litres a minute where the least is 1.9, at 10,000 ft 6.9 against 0.7. So without a table the
normal position is counted as undiluted. Undiluted flow is 20 litres a minute BTPS, which the
same handbook's 100 % rows agree with to within one per cent.
"""

import math
from bisect import bisect_left
from collections.abc import Iterable
from enum import StrEnum
from functools import lru_cache
from itertools import pairwise

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.frozen import dataclass
from rvsmlog.science.oxygen_breathing import (
    HIGHEST_RULED_FT,
    least_supply_lpm,
    minimum_lpm,
    undiluted_lpm,
)
from rvsmlog.standards.oxygen_figures import MINIMUM_FLOWS, Group

_RULED = "14 CFR 25.1443"
# Steps in which a formula is laid down as points: a chord is above the curve, by 0.01 % at most.
_STEP_FT = 500


class NoSupplyError(OutOfRangeError):
    """Oxygen is to be breathed where the equipment's table says 0."""


class TooLittleError(OutOfRangeError):
    """Oxygen is to be breathed where the equipment's table states less than any mask delivers."""


class Mode(StrEnum):
    """How a mask is fed."""

    NORMAL = "normal"
    UNDILUTED = "100 %"
    EMERGENCY = "emergency"
    CONTINUOUS = "continuous flow"


class FlowBasis(StrEnum):
    """What a flow rests on, the surest first."""

    TABLE = "the equipment's table"
    UNDILUTED = "undiluted oxygen at the certification rule's minute volume"
    MINIMUM = "the certification rule's least flow; the equipment may take more"


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowCurve:
    """Flow for one person by cabin altitude.

    Parameters
    ----------
    group : Group
        Who.
    mode : Mode
        Position of the regulator, or continuous flow.
    points : tuple of tuple
        Cabin altitude in feet, ascending, and litres NTPD a minute; at least two.
    reference : str
        Where the points stand.
    basis : FlowBasis
        What they rest on.

    Raises
    ------
    InputError
        When a point is no flow, the altitudes do not ascend, or there are fewer than two.
    """

    group: Group
    mode: Mode
    points: tuple[tuple[float, float], ...]
    reference: str
    basis: FlowBasis = FlowBasis.TABLE

    def __post_init__(self) -> None:
        """Refuse points that cannot be read between."""
        heights = [height for height, _ in self.points]
        if not heights[1:]:
            raise InputError(
                f"the oxygen flow of {self.mode} has fewer than two points",
                "give the flow at two cabin altitudes or more",
            )
        if not all(a < b for a, b in pairwise(heights)):
            raise InputError(
                f"the cabin altitudes of {self.mode} do not ascend", "sort them, each once"
            )
        for height, flow in self.points:
            if not (math.isfinite(height) and math.isfinite(flow) and flow >= 0.0):
                raise InputError(f"{flow:g} l/min at {height:g} ft is no flow", "check the table")

    @property
    def zero_to_ft(self) -> float:
        """Highest point of the equipment's table with a flow of 0; minus infinity without one."""
        if self.basis is not FlowBasis.TABLE:
            return -math.inf  # a rule that asks for nothing
        return max((height for height, flow in self.points if not flow), default=-math.inf)

    @property
    def highest_ft(self) -> float:
        """Highest cabin altitude answered."""
        return self.points[-1][0]

    def lpm(self, cabin_ft: float) -> float:
        """Give the flow at a cabin altitude, as a supply to breathe.

        Raises
        ------
        OutOfRangeError
            When the points do not reach it; NoSupplyError where they say 0, TooLittleError where
            less than any mask delivers.
        """
        return self._enough(cabin_ft, self.drawn_lpm(cabin_ft))

    def _enough(self, cabin_ft: float, flow: float) -> float:
        """Give a flow at a cabin altitude, unless it is too little to be a supply."""
        if self.basis is not FlowBasis.TABLE:
            return flow
        undiluted = self.mode in (Mode.UNDILUTED, Mode.EMERGENCY)
        least = least_supply_lpm(cabin_ft, undiluted=undiluted)
        if flow < least:
            raise TooLittleError(
                f"{flow:.3f} l/min at {cabin_ft:,.0f} ft for {self.group}, {self.mode}, is less "
                f"than the {least:.3f} l/min that certification asks of any mask",
                "give the flow of the handbook, in millilitres a minute",
            )
        return flow

    def drawn_lpm(self, cabin_ft: float) -> float:
        """Give what is drawn at a cabin altitude, enough to breathe or not.

        Raises
        ------
        OutOfRangeError
            When the points do not reach it; NoSupplyError where they say 0.
        """
        lowest_ft, says = self.points[0][0], f"for {self.group}, {self.mode}"
        if not lowest_ft <= cabin_ft <= self.highest_ft:
            raise OutOfRangeError(
                f"no oxygen flow at {cabin_ft:,.0f} ft {says}",
                f"{self.reference} runs from {lowest_ft:,.0f} to {self.highest_ft:,.0f} ft",
            )
        index = bisect_left(self.points, cabin_ft, key=lambda point: point[0])
        height, flow = self.points[index]
        if self.zero_to_ft >= (cabin_ft if height == cabin_ft else self.points[index - 1][0]):
            raise NoSupplyError(
                f"no oxygen flow at {cabin_ft:,.0f} ft {says}: 0 up to {self.zero_to_ft:,.0f} ft "
                "is no supply",
                "record the flow that the mask delivers there",
            )
        if height == cabin_ft:
            return flow
        below_ft, below = self.points[index - 1]
        return below + (flow - below) * (cabin_ft - below_ft) / (height - below_ft)

    def _between(self, low_ft: float, high_ft: float) -> list[tuple[float, float]]:
        """Give the points of a stretch with its two ends, as supplies to breathe."""
        return [
            (height, self._enough(height, flow)) for height, flow in self._drawn(low_ft, high_ft)
        ]

    def _drawn(self, low_ft: float, high_ft: float) -> list[tuple[float, float]]:
        """Give the points of a stretch with its two ends."""
        inner = [point for point in self.points if low_ft < point[0] < high_ft]
        return [(low_ft, self.drawn_lpm(low_ft)), *inner, (high_ft, self.drawn_lpm(high_ft))]

    def mean_lpm(self, low_ft: float, high_ft: float) -> float:
        """Give the mean flow of a steady descent between two cabin altitudes.

        Raises
        ------
        OutOfRangeError
            When the points do not reach them.
        """
        if low_ft == high_ft:
            return self.lpm(low_ft)
        stretch = self._between(low_ft, high_ft)
        area = sum((b[0] - a[0]) * (a[1] + b[1]) / 2.0 for a, b in pairwise(stretch))
        return area / (high_ft - low_ft)

    def greatest_lpm(self, low_ft: float, high_ft: float) -> float:
        """Give the greatest flow between two cabin altitudes, as a supply to breathe.

        Raises
        ------
        OutOfRangeError
            When the points do not reach them.
        """
        return max(flow for _, flow in self._between(low_ft, high_ft))

    def greatest_drawn_lpm(self, low_ft: float, high_ft: float) -> float:
        """Give the greatest flow drawn between two cabin altitudes, enough to breathe or not.

        Raises
        ------
        OutOfRangeError
            When the points do not reach them.
        """
        return max(flow for _, flow in self._drawn(low_ft, high_ft))


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowTable:
    """The equipment's own flows.

    Parameters
    ----------
    reference : str
        Handbook, table, edition.
    curves : tuple of FlowCurve
        One for each group and mode at most.

    Raises
    ------
    InputError
        When two curves are for the same group and mode.
    """

    reference: str
    curves: tuple[FlowCurve, ...]

    def __post_init__(self) -> None:
        """Refuse two answers to one question."""
        keys = [(curve.group, curve.mode) for curve in self.curves]
        if len(set(keys)) < len(keys):
            raise InputError(
                f"{self.reference} has two flows for one group and mode", "keep one of them"
            )

    def curve(self, group: Group, mode: Mode) -> FlowCurve | None:
        """Give the curve of a group and mode; None where the table has none."""
        found = (curve for curve in self.curves if (curve.group, curve.mode) == (group, mode))
        return next(found, None)


def _heights(low_ft: int, high_ft: int) -> Iterable[int]:
    """Give heights in steps from one to another, both included."""
    yield from range(low_ft, high_ft, _STEP_FT)
    yield high_ft


def certification_curve(group: Group, mode: Mode, top_ft: int) -> FlowCurve:
    """Give the flow that certification rules let one count where the equipment has no table.

    Demand masks, normal and 100 %, are counted as undiluted. A continuous flow is counted at
    every altitude with the least that the rule asks anywhere up to the highest one: equipment
    without altitude compensation delivers the same everywhere.

    Parameters
    ----------
    group : Group
        Who.
    mode : Mode
        Position of the regulator, or continuous flow.
    top_ft : int
        Highest cabin altitude of the flight, pressure lost, feet.

    Returns
    -------
    FlowCurve
        Points from 0 ft up.

    Raises
    ------
    OutOfRangeError
        When no rule states a flow at the highest altitude.
    InputError
        When no rule states one for the mode.
    """
    if top_ft > HIGHEST_RULED_FT:
        raise OutOfRangeError(
            f"no rule states an oxygen flow at {top_ft:,} ft",
            f"give the equipment's table; the rules end at {HIGHEST_RULED_FT:,} ft",
        )
    if mode is Mode.EMERGENCY:
        raise InputError(
            "no rule states the oxygen flow of the emergency position", "give the equipment's table"
        )
    return _constant_curve(group, top_ft) if mode is Mode.CONTINUOUS else _undiluted(group, mode)


# One flight's question asks for the same few curves at one level after another.
@lru_cache(maxsize=16)
def _undiluted(group: Group, mode: Mode) -> FlowCurve:
    """Give the flow of undiluted oxygen at every height that the rules reach."""
    points = tuple((float(h), undiluted_lpm(h)) for h in _heights(0, HIGHEST_RULED_FT))
    return FlowCurve(
        group=group, mode=mode, points=points, reference=_RULED, basis=FlowBasis.UNDILUTED
    )


@lru_cache(maxsize=1024)
def _constant_curve(group: Group, top_ft: int) -> FlowCurve:
    """Give the greatest of the least continuous flows up to the top, the same at every height."""
    flow = max(_least_flows(group, top_ft), default=0.0)
    return FlowCurve(
        group=group,
        mode=Mode.CONTINUOUS,
        points=((0.0, flow), (float(HIGHEST_RULED_FT), flow)),
        reference=_RULED,
        basis=FlowBasis.MINIMUM,
    )


def _least_flows(group: Group, top_ft: int) -> Iterable[float]:
    """Give the least continuous flows of a group at heights up to the top."""
    for number, need in enumerate(MINIMUM_FLOWS):
        if need.group is group and not need.demand:
            for height in _heights(need.above_ft, max(min(need.to_ft, top_ft), need.above_ft)):
                if height <= top_ft:
                    yield _least_flow(number, height)


@lru_cache(maxsize=4096)
def _least_flow(number: int, height: int) -> float:
    """Give the least flow of one of the rules at a height."""
    return minimum_lpm(MINIMUM_FLOWS[number], height)


def flow_curve(table: FlowTable | None, group: Group, mode: Mode, top_ft: int) -> FlowCurve:
    """Give a flow: the equipment's where its table has one, else the certification rules'.

    Raises
    ------
    OutOfRangeError, InputError
        When neither states one.
    """
    own = table.curve(group, mode) if table is not None else None
    return own if own is not None else certification_curve(group, mode, top_ft)


def lasting_minutes(litres: float, litres_per_minute: float) -> float:
    """Give the minutes for which a quantity lasts; infinite at no flow.

    Raises
    ------
    InputError
        When either is negative or no finite number.
    """
    for value in (litres, litres_per_minute):
        if not 0.0 <= value < math.inf:
            raise InputError(f"{value:g} is no quantity of oxygen", "write litres, 0 or more")
    return litres / litres_per_minute if litres_per_minute else math.inf


def shown_minutes(minutes: float) -> float:
    """Cut minutes to tenths, as handbooks print them: rounding would promise oxygen not there."""
    return math.floor(minutes * 10.0) / 10.0 if math.isfinite(minutes) else minutes
