"""Readings that stand far off their neighbours, such as a digit misread, are pulled in.

A value pulled in still counts, but no farther off than sound readings go; so a slip of the pen
moves a mean little, and a true change, which repeats, is not lost.
"""

from collections.abc import Sequence
from statistics import median

#: Values farther off than so many standard deviations count as so far. Wide, because the deviation
#: is itself estimated, from few readings: sound ones must not be touched.
REACH = 5.0
#: Standard deviation of normal values in units of their median absolute deviation.
_SIGMA_FROM_MEDIAN = 1.4826


def pulled_in(
    values: Sequence[float],
    centres: Sequence[float],
    least_sigma: float,
    *,
    reach: float = REACH,
) -> tuple[float, ...]:
    """Pull values in towards their centres.

    Parameters
    ----------
    values, centres : sequence of float, shape (n,)
        Values, and what each should be near.
    least_sigma : float
        Least standard deviation that sound readings are credited with.
    reach : float
        Standard deviations beyond which a value is pulled in.

    Returns
    -------
    tuple of float, shape (n,)
        The values, those far off moved to the edge of what sound readings reach.
    """
    off = [value - centre for value, centre in zip(values, centres, strict=True)]
    sigma = max(_SIGMA_FROM_MEDIAN * median(abs(each) for each in off), least_sigma)
    edge = reach * sigma
    return tuple(
        centre + min(max(each, -edge), edge) for centre, each in zip(centres, off, strict=True)
    )
