"""The course of one band's difference as a chart of plain characters."""

from collections.abc import Iterator, Sequence

from rvsmlog.answers.drift_analysis import BandDrift
from rvsmlog.reports.text import Line
from rvsmlog.science.drift_readings import Point

_HEIGHT = 15
_WIDTH = 66
_LABEL = 6
_MARKS = " .:*#"


def chart_lines(band: BandDrift) -> Iterator[Line]:
    """Lay out differences over time, with the tolerance and the onset of an alarm.

    Parameters
    ----------
    band : BandDrift
        At least one point.
    """
    points = band.log.points
    top = max(band.tolerance_ft, *(abs(point.difference_ft) for point in points)) * 1.1
    grid = _counted(points, top)
    onset = None if band.shift is None else _column(points, band.shift.onset_at.timestamp())
    limit = {_row(sign * band.tolerance_ft, top) for sign in (1, -1)}
    zero = _row(0.0, top)
    for row in range(_HEIGHT):
        yield Line(
            _labelled(row, limit, zero, band.tolerance_ft)
            + _drawn(grid[row], row in limit, row == zero, onset)
        )
    first, last = points[0].at, points[-1].at
    yield Line(" " * (_LABEL + 1) + f"{first:%Y-%m-%d}".ljust(_WIDTH - 10) + f"{last:%Y-%m-%d}")
    legend = "altimeter 1 minus 2, feet; = tolerance; . : * # one, two, three, more flights"
    yield Line("  " + legend)
    if onset is not None and band.shift is not None:
        yield Line(f"  | onset of the change, {band.shift.onset_at:%Y-%m-%d}")


def _row(difference_ft: float, top: float) -> int:
    return round((1.0 - difference_ft / top) / 2.0 * (_HEIGHT - 1))


def _column(points: Sequence[Point], stamp: float) -> int:
    first, last = points[0].at.timestamp(), points[-1].at.timestamp()
    share = 0.0 if last == first else (stamp - first) / (last - first)
    return min(max(round(share * (_WIDTH - 1)), 0), _WIDTH - 1)


def _counted(points: Sequence[Point], top: float) -> list[list[int]]:
    """Count the flights that fall on each character."""
    grid = [[0] * _WIDTH for _ in range(_HEIGHT)]
    for point in points:
        column = _column(points, point.at.timestamp())
        grid[_row(point.difference_ft, top)][column] += 1
    return grid


def _labelled(row: int, limit: set[int], zero: int, tolerance_ft: int) -> str:
    """Write the feet beside the lines that have a meaning."""
    if row == zero:
        return "0".rjust(_LABEL) + " "
    if row in limit:
        return f"{tolerance_ft if row < zero else -tolerance_ft:+d}".rjust(_LABEL) + " "
    return " " * (_LABEL + 1)


def _drawn(counts: Sequence[int], is_limit: bool, is_zero: bool, onset: int | None) -> str:
    """Draw one row: flights over the onset over the lines."""
    back = "=" if is_limit else "-" if is_zero else " "
    cells = []
    for column, count in enumerate(counts):
        if count:
            cells.append(_MARKS[min(count, len(_MARKS) - 1)])
        elif column == onset:
            cells.append("|")
        else:
            cells.append(back)
    return "".join(cells).rstrip()
