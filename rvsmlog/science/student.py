"""Student's t distribution in plain Python.

The probability is a regularised incomplete beta function, evaluated by its continued fraction
(Abramowitz and Stegun 26.5.8 and 26.7.1, from memory) with the modified Lentz method.
"""

import math
from functools import lru_cache
from statistics import NormalDist

from rvsmlog.errors import OutOfRangeError

_TINY = 1e-300
_MIDDLE = 0.5
_MOST_STEPS = 1000
_STEP_PRECISION = 1e-13
_MOST_TERMS = 10_000
_PRECISION = 1e-15


def t_probability(t: float, freedom: float) -> float:
    """Give the probability that Student's t stays below a value.

    Parameters
    ----------
    t : float
        The value.
    freedom : float
        Degrees of freedom, positive.

    Returns
    -------
    float
        Between 0 and 1.

    Raises
    ------
    OutOfRangeError
        When the degrees of freedom are not positive.

    Examples
    --------
    >>> round(t_probability(2.228, 10), 3)
    0.975
    """
    if not 0.0 < freedom < math.inf:
        raise OutOfRangeError(f"{freedom:g} degrees of freedom", "give a positive number")
    if math.isinf(t):
        return 0.0 if t < 0.0 else 1.0
    if t * t < freedom:
        # Near the middle the share inside keeps its digits, far out the share outside does.
        inside = _beta_share(t * t / (freedom + t * t), 0.5, freedom / 2.0)
        return 0.5 + math.copysign(0.5 * inside, t)
    outside = _beta_share(freedom / (freedom + t * t), freedom / 2.0, 0.5)
    return outside / 2.0 if t < 0.0 else 1.0 - outside / 2.0


@lru_cache(maxsize=256)
def t_quantile(probability: float, freedom: float) -> float:
    """Give the value below which Student's t stays with a probability.

    Parameters
    ----------
    probability : float
        More than 0, less than 1.
    freedom : float
        Degrees of freedom, positive.

    Raises
    ------
    OutOfRangeError
        When an argument is out of range.

    Examples
    --------
    >>> round(t_quantile(0.975, 10), 3)
    2.228
    """
    if not 0.0 < probability < 1.0:
        raise OutOfRangeError(f"probability {probability:g} is out of range", "give 0 to 1")
    if probability == _MIDDLE:
        return 0.0
    if probability < _MIDDLE:
        return -t_quantile(1.0 - probability, freedom)
    # Newton's steps from the normal quantile, which lies below: the probability bends downwards
    # there, so every step falls short and none overshoots.
    t = NormalDist().inv_cdf(probability)
    for _ in range(_MOST_STEPS):
        step = (probability - t_probability(t, freedom)) / _density(t, freedom)
        t += step
        if abs(step) <= _STEP_PRECISION * t:
            break
    return t


def _density(t: float, freedom: float) -> float:
    log = math.lgamma((freedom + 1.0) / 2.0) - math.lgamma(freedom / 2.0)
    log -= 0.5 * math.log(freedom * math.pi)
    return math.exp(log - (freedom + 1.0) / 2.0 * math.log1p(t * t / freedom))


def _beta_share(x: float, a: float, b: float) -> float:
    """Regularised incomplete beta function."""
    if x <= 0.0 or x >= 1.0:
        return 0.0 if x <= 0.0 else 1.0
    front = math.exp(
        math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    )
    if x < (a + 1.0) / (a + b + 2.0):
        return front * _fraction(x, a, b) / a
    return 1.0 - front * _fraction(1.0 - x, b, a) / b


def _fraction(x: float, a: float, b: float) -> float:
    c = 1.0
    d = 1.0 / (1.0 - (a + b) * x / (a + 1.0))
    value = d
    for m in range(1, _MOST_TERMS):
        even = m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0))
        before = value
        for term in (even, odd):
            # A zero is stepped over. Written out: this is where forecasts spend their time.
            d, c = 1.0 + term * d, 1.0 + term / c
            if -_TINY < d < _TINY:
                d = _TINY
            if -_TINY < c < _TINY:
                c = _TINY
            d = 1.0 / d
            value *= c * d
        if abs(value / before - 1.0) < _PRECISION:
            break
    return value
