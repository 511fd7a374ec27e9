"""When the difference between the altimeters first reaches a tolerance, draw by draw.

Level, slope, scatter and wander are drawn together from what the readings leave open, and each draw
is carried forward. Instead of random numbers an evenly filling sequence is used, so that equal
records give equal forecasts.

Notes
-----
First passage of a random walk with drift to a boundary follows the inverse Gaussian law, drawn as
by Michael, Schucany and Haas, *The American Statistician* 30 (1976), from memory.
"""

import math
from collections.abc import Iterator
from statistics import NormalDist

from rvsmlog.frozen import dataclass
from rvsmlog.science.drift_course import Branch, Course

_DRAWS = 1000
_NORMAL = NormalDist()


@dataclass(frozen=True, slots=True, kw_only=True)
class Draw:
    """One course the readings leave open, with the numbers that carry it forward.

    Parameters
    ----------
    level_ft, slope_ft_per_day : float
        The difference at the last reading, feet, and its change, feet a day.
    sigma_ft : float
        Scatter of one reading, feet.
    wander_var : float
        Variance of the walk, square feet a day.
    fills : tuple of float
        Seven numbers between 0 and 1 from the sequence.
    """

    level_ft: float
    slope_ft_per_day: float
    sigma_ft: float
    wander_var: float
    fills: tuple[float, ...]


def _fills(dimensions: int) -> Iterator[tuple[float, ...]]:
    """Give points that fill the unit cube evenly (a Kronecker sequence on the roots of phi)."""
    phi = 2.0
    for _ in range(60):
        phi = (1.0 + phi) ** (1.0 / (dimensions + 1))
    steps = [phi ** -(axis + 1) for axis in range(dimensions)]
    for number in range(1, _DRAWS + 1):
        yield tuple(((0.5 + number * step) % 1.0) or 0.5 for step in steps)


def draws(course: Course) -> Iterator[Draw]:
    """Give the courses that the readings leave open, the same for the same course."""
    bounds, total = [], 0.0
    for branch in course.branches:
        total += branch.weight
        bounds.append(total)
    for pick, scale, first, second, *rest in _fills(9):
        index = next((i for i, bound in enumerate(bounds) if pick * total <= bound), 0)
        yield _draw(course.branches[index], course.count - 2, scale, first, second, tuple(rest))


def _draw(
    branch: Branch,
    freedom: int,
    scale: float,
    first: float,
    second: float,
    rest: tuple[float, ...],
) -> Draw:
    sigma = branch.sigma_ft / math.sqrt(_chi_squared(scale, freedom) / freedom)
    u, v = _NORMAL.inv_cdf(first), _NORMAL.inv_cdf(second)
    root = math.sqrt(branch.level_var)
    along = branch.covariance / root
    across = math.sqrt(max(branch.slope_var - along * along, 0.0))
    return Draw(
        level_ft=branch.level_ft + sigma * root * u,
        slope_ft_per_day=branch.slope_ft_per_day + sigma * (along * u + across * v),
        sigma_ft=sigma,
        wander_var=branch.wander * sigma * sigma,
        fills=rest,
    )


def _chi_squared(probability: float, freedom: int) -> float:
    """Quantile by Wilson and Hilferty's cube root, good to a part in 300 from 8 degrees up."""
    part = 2.0 / (9.0 * freedom)
    return float(freedom * (1.0 - part + _NORMAL.inv_cdf(probability) * math.sqrt(part)) ** 3)


def passage_days(draw: Draw, tolerance_ft: float) -> tuple[float, float]:
    """Give the days until the upper and until the lower side of the tolerance is reached.

    Parameters
    ----------
    draw : Draw
        A course.
    tolerance_ft : float
        The tolerance, either way, feet.

    Returns
    -------
    tuple of float
        Days from the last reading, 0 where it is beyond already; infinite where it never comes.
    """
    above, below = tolerance_ft - draw.level_ft, tolerance_ft + draw.level_ft
    slope, wander = draw.slope_ft_per_day, draw.wander_var
    up = 0.0 if above <= 0.0 else _first_passage(above, slope, wander, draw.fills[:2])
    down = 0.0 if below <= 0.0 else _first_passage(below, -slope, wander, draw.fills[2:4])
    return up, down


def _first_passage(
    distance: float, drift: float, variance: float, fills: tuple[float, ...]
) -> float:
    """Draw the time at which a random walk with drift first comes so far."""
    if variance == 0.0:
        return distance / drift if drift > 0.0 else math.inf
    choice, normal = fills[1], _NORMAL.inv_cdf(fills[0])
    if drift <= 0.0:
        ever = math.exp(2.0 * distance * drift / variance)
        if choice >= ever:
            return math.inf
        choice /= ever
    chi = normal * normal
    if drift == 0.0:
        return distance * distance / (variance * chi)
    mean = distance / abs(drift)
    c = mean * chi * variance / (2.0 * distance * distance)
    small = mean / (1.0 + c + math.sqrt(2.0 * c + c * c))
    return small if choice <= mean / (mean + small) else mean * mean / small


def flights_until(course: Course, days: float, draw: Draw) -> float:
    """Turn days into flights: a renewal process with the gaps on record.

    Parameters
    ----------
    course : Course
        Whose gaps they are.
    days : float
        Days from the last reading; of infinitely many the flights are too.
    draw : Draw
        The course drawn.
    """
    if not math.isfinite(days):
        return math.inf
    uneven = course.flight_days_sd / course.flight_days
    doubt = 1.0 + uneven / math.sqrt(course.count) * _NORMAL.inv_cdf(draw.fills[4])
    mean = days / course.flight_days * max(doubt, 0.0)
    return max(mean + math.sqrt(mean) * uneven * _NORMAL.inv_cdf(draw.fills[2]), 0.0)
