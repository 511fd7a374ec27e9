"""Evidence that the mean of a series changed, when neither mean nor scatter is known.

Notes
-----
Values are taken as normal about an unknown mean with an unknown standard deviation sigma, with the
invariant prior ``1/sigma`` on scale and a flat one on the mean. A change adds ``d sigma u`` to the
values, where u is known (0 before the onset; 1 after it for a step) and the size d has the prior
density ``d^2/g`` times that of normal(0, g), which has no weight at zero: a change of nothing is
no change. (Such priors: Johnson and Rossell, *Journal of the Royal Statistical Society B* 72, 2010,
from memory.) With m the sum of squares of u about its mean, B the sum of squares that the change
explains and E what is left, the marginal likelihoods with and without change have the ratio

    (1 + g m)^(-1/2) ((E + B) / D)^((n-1)/2) (r^2 B (n-1) / (m D g) + 1 / (1 + g m))

where ``r = g m / (1 + g m)`` and ``D = E + B (1 - r)``. Nothing in it depends on the true mean and
sigma: shifting or scaling all values changes nothing.
"""

import math
from collections.abc import Sequence

#: Prior g of the size: the likeliest change is ``sqrt(2 g)``, about 1.6 sigma, either way.
SIZE_PRIOR = 1.25


def smallest_sigma_ft(resolution_ft: float) -> float:
    """Give the least scatter that two altimeters read to a step can be credited with, feet.

    Each rounding error is uniform over one step, with variance ``step^2/12``; two of them add.
    Differences that happen to agree exactly must not pass for readings without error.
    """
    return resolution_ft / math.sqrt(6.0)


def log_ratio(count: int, worth: float, explained: float, left: float) -> float:
    """Give the logarithm of the likelihood ratio of a change against none.

    Parameters
    ----------
    count : int
        Values, n.
    worth : float
        Sum of squares of the change's course about its mean, m; positive.
    explained, left : float
        Sums of squares that the change explains, B, and leaves, E; the latter positive.

    Returns
    -------
    float
        Positive when the change is the likelier.
    """
    gain = 1.0 + SIZE_PRIOR * worth
    share = 1.0 - 1.0 / gain
    spread = left + explained / gain
    size = share * share * explained * (count - 1) / (worth * spread * SIZE_PRIOR) + 1.0 / gain
    return (
        0.5 * (count - 1) * math.log((left + explained) / spread)
        + math.log(size)
        - 0.5 * math.log(gain)
    )


def log_sum(logs: Sequence[float]) -> float:
    """Give the logarithm of the sum of numbers given as logarithms."""
    top = max(logs, default=-math.inf)
    if top == -math.inf:
        return top
    return top + math.log(sum(math.exp(log - top) for log in logs))
