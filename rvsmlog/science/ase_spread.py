"""Mean and spread of altimetry system errors, as the limits of a group state them.

A group's limits are of the worst mean and the worst mean plus three standard deviations (14 CFR
Part 91 appendix G section 2(d) and (e)). Plain Python: a check never waits for more.
"""

import math
from collections.abc import Sequence
from statistics import fmean, stdev

from rvsmlog.frozen import dataclass

_DEVIATIONS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """What a number of errors come to.

    Parameters
    ----------
    count : int
        How many.
    mean_ft : float
        Their mean, feet.
    sd_ft : float or None
        Standard deviation of a sample (divided by one less than the count), feet; None of one.
    bound_ft : float or None
        Absolute mean plus three standard deviations, feet; None of one.
    """

    count: int
    mean_ft: float
    sd_ft: float | None
    bound_ft: float | None


def spread(errors_ft: Sequence[float]) -> Spread | None:
    """Give mean and spread of errors, None of none.

    Examples
    --------
    >>> spread([30.0, 34.0]).bound_ft.__round__(3)
    40.485
    """
    if not errors_ft:
        return None
    mean = fmean(errors_ft)
    sd = stdev(errors_ft) if len(errors_ft) > 1 else None
    bound = None if sd is None else math.fabs(mean) + _DEVIATIONS * sd
    return Spread(count=len(errors_ft), mean_ft=mean, sd_ft=sd, bound_ft=bound)
