"""A picture as data: axes, lines, areas and marks, each with its words, in page and file alike.

One quiet style: black on white, hairlines, limits labelled where they stand. What differs, differs
by shape or stroke and by its words, never by colour alone.
"""

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from math import floor, log10

from rvsmlog.dates import months_later
from rvsmlog.frozen import dataclass
from rvsmlog.records.slips import SLIP_FT

_SECONDS_A_DAY = 86400.0
#: About so many ticks on an axis.
_TICKS = 6
_MONTHS = (1, 2, 3, 6, 12, 24, 60, 120)
_DAYS = (1, 2, 7, 14)
_MONTH_DAYS = 30.4
#: Time is drawn beyond both ends by this part of it, so that no mark is cut.
_SPARE = 60

#: So many points beyond the scale are named one by one.
_NAMED = 3

Points = tuple[tuple[float, float], ...]


class Shape(StrEnum):
    """Marks that are told apart without colour."""

    RING = "ring"
    DOT = "dot"
    SQUARE = "square"
    TRIANGLE = "triangle"
    CROSS = "cross"
    UP = "up"
    DOWN = "down"


class Stroke(StrEnum):
    """Lines that are told apart without colour."""

    SOLID = "solid"
    DASHED = "dashed"
    DOTTED = "dotted"
    FAINT = "faint"


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """One axis.

    Parameters
    ----------
    label : str
        What it shows, with its unit.
    low, high : float
        Its ends.
    ticks : tuple of (float, str)
        Where it is marked, and with what.
    """

    label: str
    low: float
    high: float
    ticks: tuple[tuple[float, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """Points of one sort; ``label`` says which, in the key above the picture."""

    points: Points
    shape: Shape
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A line through points; with ``at_end`` its words stand at its end, else in the key."""

    points: Points
    stroke: Stroke
    label: str = ""
    at_end: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """What lies between two lines, faintly filled; ``label`` stands in the key."""

    lower: Points
    upper: Points
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Upright:
    """An instant or place on the horizontal axis, with its words along it."""

    x: float
    label: str
    stroke: Stroke
    at_top: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """A picture.

    Parameters
    ----------
    title : str
        What it shows and of which airframe.
    says : str
        What is to be seen in it, for a reader who does not see it.
    x, y : Axis
        Its axes.
    areas, lines, marks, uprights
        What is drawn, in this order.
    note : str
        What stands below it.
    """

    title: str
    says: str
    x: Axis
    y: Axis
    areas: tuple[Area, ...] = ()
    lines: tuple[Stretch, ...] = ()
    marks: tuple[Marks, ...] = ()
    uprights: tuple[Upright, ...] = ()
    note: str = ""


def days(at: datetime) -> float:
    """Give an instant as a place on an axis of time: days since 1970 in UTC."""
    return at.timestamp() / _SECONDS_A_DAY


def value_axis(label: str, low: float, high: float, *, sign: bool = False) -> Axis:
    """Give an axis of numbers with round ticks.

    Parameters
    ----------
    label : str
        With the unit.
    low, high : float
        What it must reach.
    sign : bool
        Whether its ticks carry a plus.
    """
    step = _round_step((high - low) / _TICKS)
    first, last = floor(low / step + 1e-9), floor(high / step + 1e-9)
    shape = "+,.0f" if sign else ",.0f"
    ticks = [step * number for number in range(first, last + 1)]
    shown = tuple(
        (tick, "0" if tick == 0 else f"{tick:{shape}}") for tick in ticks if low <= tick <= high
    )
    return Axis(label=label, low=low, high=high, ticks=shown)


def _round_step(least: float) -> float:
    """Give 1, 2 or 5 times a power of ten that is no less."""
    power = 10.0 ** floor(log10(max(least, 1e-6)))
    return next(power * factor for factor in (1, 2, 5, 10) if power * factor >= least - 1e-9)


def time_axis(label: str, first: datetime, last: datetime) -> Axis:
    """Give an axis of time whose ticks begin days, months or years."""
    if last - first < timedelta(days=1):
        first, last = first - timedelta(days=1), last + timedelta(days=1)
    spare = (last - first) / _SPARE
    first, last = first - spare, last + spare
    length = days(last) - days(first)
    step = next((each for each in _DAYS if length / each <= _TICKS + 1), None)
    tick = first.astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    ticks = []
    if step is not None:
        while tick <= last:
            ticks.append((days(tick), f"{tick:%d %b %Y}"))
            tick += timedelta(days=step)
    else:
        months = next(
            (each for each in _MONTHS if length / (each * _MONTH_DAYS) <= _TICKS + 1), _MONTHS[-1]
        )
        tick = tick.replace(month=1, day=1)
        while tick <= last:
            ticks.append((days(tick), f"{tick:%b %Y}"))
            tick = months_later(tick, months)
    shown = tuple(each for each in ticks if days(first) <= each[0] <= days(last))
    return Axis(label=label, low=days(first), high=days(last), ticks=shown)


def level(y: float, x: Axis) -> Points:
    """Give a horizontal line across a picture."""
    return ((x.low, y), (x.high, y))


def either_way(limits: Points, stroke: Stroke, label: str) -> tuple[Stretch, ...]:
    """Draw a limit on both sides of zero; its words stand at the upper one. Nothing of none."""
    if not limits:
        return ()
    lower = tuple((at, -value) for at, value in limits)
    return (
        Stretch(points=limits, stroke=stroke, label=label),
        Stretch(points=lower, stroke=stroke),
    )


def marked(*sorts: tuple[Points, Shape, str]) -> tuple[Marks, ...]:
    """Give each sort of points its mark and its words; a sort without points has none."""
    return tuple(
        Marks(points=points, shape=shape, label=label) for points, shape, label in sorts if points
    )


def reach(values: Iterable[float], *least: float, spare: float = 1.15) -> float:
    """Give how far an axis about zero must go, with room to spare."""
    return max((abs(each) for each in (*values, *least)), default=1.0) * spare


def usual(values: Iterable[float]) -> list[float]:
    """Give the differences, feet, that set a scale: a slip of the pen would flatten the rest."""
    return [each for each in values if abs(each) <= SLIP_FT]


def within_scale(marks: Iterable[Marks], y: Axis) -> tuple[Marks, ...]:
    """Draw points beyond the scale at its edge, with a mark of their own that says how many."""
    kept: list[Marks] = []
    above: list[tuple[float, float]] = []
    below: list[tuple[float, float]] = []
    for each in marks:
        inside = tuple(point for point in each.points if y.low <= point[1] <= y.high)
        above += [(at, y.high) for at, value in each.points if value > y.high]
        below += [(at, y.low) for at, value in each.points if value < y.low]
        if inside:
            kept.append(Marks(points=inside, shape=each.shape, label=each.label))
    for shape, found, where in ((Shape.UP, above, "above"), (Shape.DOWN, below, "below")):
        if found:
            label = f"{len(found)} beyond the scale, {where}"
            kept.append(Marks(points=tuple(found), shape=shape, label=label))
    return tuple(kept)


def beyond_said(values: Iterable[tuple[datetime, float]], y: Axis) -> str:
    """Say which differences, feet, lie beyond the scale; nothing when none does."""
    found = [(at, value) for at, value in values if not y.low <= value <= y.high]
    if not found:
        return ""
    named = ", ".join(f"{at:%Y-%m-%d} {value:+,.0f} ft" for at, value in found[:_NAMED])
    more = f" and {len(found) - _NAMED} more" if len(found) > _NAMED else ""
    return f"Beyond the scale: {named}{more}."


def thinned(points: Sequence[tuple[float, float]], x: Axis, y: Axis, cells: int) -> Points:
    """Leave out marks that would cover each other: one for each cell of a fine grid."""
    wide, high = (x.high - x.low) / cells, (y.high - y.low) / cells
    kept = {(round(a / wide), round(b / high)): (a, b) for a, b in points}
    return tuple(kept.values())
