"""Which of the two primary altimeters moved, by the witness of a third.

A difference between two altimeters cannot say which of them is wrong. The standby altimeter, a
transponder with its own air data source, and the pressure altitude inferred from GNSS can, each
with its own scatter, offset and drift: only its *change* against the two primaries counts, so a
constant offset does not matter.

Notes
-----
Let the difference, altimeter 1 less altimeter 2, have changed by D. If altimeter 1 moved, a witness
less the mean of both primaries changes by -D/2; if altimeter 2 moved, by +D/2. The scatter of the
mean of both primaries is shared by all witnesses and is a quarter of the variance of the
difference, when both scatter alike. A third hypothesis, that both primaries or the witnesses moved,
lets each witness stray by as much as D.
"""

import math
from collections.abc import Mapping, Sequence
from enum import StrEnum
from statistics import fmean, median, variance

from rvsmlog.frozen import dataclass
from rvsmlog.science.drift_evidence import smallest_sigma_ft
from rvsmlog.science.drift_readings import Point
from rvsmlog.science.drift_slips import pulled_in

#: Probability from which one altimeter is named.
NAMED_FROM = 0.95
#: Probability, before the evidence, that neither altimeter alone moved (common practice, no
#: source).
NEITHER = 0.10
#: Readings of a witness before and after the onset without which it is not heard.
FEWEST_BEFORE = 5
FEWEST_AFTER = 2


class TransponderFeed(StrEnum):
    """What gives the transponder its altitude."""

    PRIMARY_1 = "primary altimeter 1"
    PRIMARY_2 = "primary altimeter 2"
    OWN = "a source of its own"
    UNKNOWN = "not on record"


@dataclass(frozen=True, slots=True, kw_only=True)
class WitnessTraits:
    """What is known of a witness beforehand (common practice, no source).

    Parameters
    ----------
    resolution_ft : float
        Step in which it reads, feet.
    drift_ft : float
        Standard deviation of its own drift over the readings compared, feet.
    """

    resolution_ft: float
    drift_ft: float


#: A transponder that reports in steps of 100 ft; one that reports in 25 ft is given as such.
TRAITS: Mapping[str, WitnessTraits] = {
    "standby": WitnessTraits(resolution_ft=20.0, drift_ft=20.0),
    "transponder": WitnessTraits(resolution_ft=100.0, drift_ft=10.0),
    "gnss": WitnessTraits(resolution_ft=10.0, drift_ft=20.0),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Testimony:
    """What one witness says.

    Parameters
    ----------
    name : str
        ``standby``, ``transponder`` or ``gnss``.
    change_ft : float
        Change of the witness less the mean of both primaries, feet.
    sd_ft : float
        Standard deviation of that change, its own scatter and drift only, feet.
    before, after : int
        Flights compared.
    """

    name: str
    change_ft: float
    sd_ft: float
    before: int
    after: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspicion:
    """Which altimeter moved.

    Parameters
    ----------
    altimeter : int or None
        1 or 2, or None when it cannot be told.
    altimeter_1, altimeter_2, neither : float
        Probabilities; neither stands for both, or for the witnesses themselves.
    reason : str
        Why it cannot be told, or empty.
    testimonies : tuple of Testimony
        What was heard.
    """

    altimeter: int | None
    altimeter_1: float
    altimeter_2: float
    neither: float
    reason: str
    testimonies: tuple[Testimony, ...]


def which_moved(
    before: Sequence[Point],
    after: Sequence[Point],
    *,
    resolution_ft: float,
    transponder_feed: TransponderFeed = TransponderFeed.UNKNOWN,
    traits: Mapping[str, WitnessTraits] = TRAITS,
) -> Suspicion:
    """Say which primary altimeter moved between two runs of points.

    Parameters
    ----------
    before, after : sequence of Point
        One band's points before and after the onset of the change.
    resolution_ft : float
        Step in which the primaries are read, feet.
    transponder_feed : TransponderFeed
        A transponder fed by a primary repeats that primary and is not heard; nor is one of which
        the source is not on record.
    traits : mapping of str to WitnessTraits
        Resolution and drift of each witness.

    Returns
    -------
    Suspicion
        With the probabilities and what they rest on.
    """
    names = ["standby", "gnss"]
    if transponder_feed is TransponderFeed.OWN:
        names.insert(1, "transponder")
    if min(len(before), len(after)) < FEWEST_AFTER or len(before) < FEWEST_BEFORE:
        return _untold("there are too few readings before or after the change")
    floor = smallest_sigma_ft(resolution_ft)
    early = [point.difference_ft for point in before]
    late = [point.difference_ft for point in after]
    shared = _variance(early, floor) / 4.0
    heard = [_hear(name, before, after, shared, traits[name]) for name in names]
    testimonies = tuple(each for each in heard if each is not None)
    if not testimonies:
        return _untold(_silence(transponder_feed))
    step = _mean(late, floor) - _mean(early, floor)
    # Twice: once for the mean of the primaries, once for half the change itself.
    common = 2.0 * shared * (1.0 / len(before) + 1.0 / len(after))
    return _judge(step, testimonies, common)


def _untold(reason: str) -> Suspicion:
    half = (1.0 - NEITHER) / 2.0
    return Suspicion(
        altimeter=None,
        altimeter_1=half,
        altimeter_2=half,
        neither=NEITHER,
        reason=reason,
        testimonies=(),
    )


def _silence(feed: TransponderFeed) -> str:
    reason = "no other altitude was noted often enough before and after the change"
    if feed is TransponderFeed.UNKNOWN:
        return reason + "; what feeds the transponder is not on record"
    if feed is not TransponderFeed.OWN:
        return reason + f"; the transponder is fed by {feed}"
    return reason


def _mean(values: Sequence[float], least_sigma: float) -> float:
    return fmean(pulled_in(values, [median(values)] * len(values), least_sigma))


def _variance(values: Sequence[float], least_sigma: float) -> float:
    kept = pulled_in(values, [median(values)] * len(values), least_sigma)
    return max(variance(kept), least_sigma**2)


def _hear(
    name: str,
    before: Sequence[Point],
    after: Sequence[Point],
    shared: float,
    traits: WitnessTraits,
) -> Testimony | None:
    field = f"{name}_ft"
    early = [value for point in before if (value := getattr(point, field)) is not None]
    late = [value for point in after if (value := getattr(point, field)) is not None]
    if len(early) < FEWEST_BEFORE or len(late) < FEWEST_AFTER:
        return None
    step = traits.resolution_ft / math.sqrt(12.0)
    own = max(_variance(early, step) - shared, step**2)
    # In steady flight a coarse display may stand at one step: its error does not average out.
    stuck = 2.0 * step**2
    sd = math.sqrt(own * (1.0 / len(early) + 1.0 / len(late)) + traits.drift_ft**2 + stuck)
    return Testimony(
        name=name,
        change_ft=_mean(late, step) - _mean(early, step),
        sd_ft=sd,
        before=len(early),
        after=len(late),
    )


def _judge(step: float, testimonies: tuple[Testimony, ...], common: float) -> Suspicion:
    freedom = min(each.before for each in testimonies) - 1
    half = (1.0 - NEITHER) / 2.0
    logs = (
        math.log(half) + _log_likelihood(testimonies, -step / 2.0, common, 0.0, freedom),
        math.log(half) + _log_likelihood(testimonies, step / 2.0, common, 0.0, freedom),
        math.log(NEITHER) + _log_likelihood(testimonies, 0.0, common, step * step, freedom),
    )
    top = max(logs)
    total = sum(math.exp(log - top) for log in logs)
    first, second, neither = (math.exp(log - top) / total for log in logs)
    named = 1 if first >= NAMED_FROM else 2 if second >= NAMED_FROM else None
    reason = "" if named else "the witnesses do not separate the two altimeters"
    if neither > max(first, second):
        reason = "what the witnesses show fits neither altimeter alone"
    return Suspicion(
        altimeter=named,
        altimeter_1=first,
        altimeter_2=second,
        neither=neither,
        reason=reason,
        testimonies=testimonies,
    )


def _log_likelihood(
    testimonies: tuple[Testimony, ...], expected: float, common: float, stray: float, freedom: int
) -> float:
    """Student likelihood of all changes together, with a shared part of the variance."""
    own = [each.sd_ft**2 + stray for each in testimonies]
    off = [each.change_ft - expected for each in testimonies]
    inverse = sum(1.0 / each for each in own)
    pull = sum(each / width for each, width in zip(off, own, strict=True))
    square = sum(each * each / width for each, width in zip(off, own, strict=True))
    square -= common * pull * pull / (1.0 + common * inverse)
    determinant = sum(math.log(each) for each in own) + math.log1p(common * inverse)
    return -0.5 * determinant - 0.5 * (freedom + len(own)) * math.log1p(square / freedom)
