"""A detector of drift between the two primary altimeters, with a stated false-alarm rate.

It weighs, after each flight, the evidence that the mean difference changed after some earlier
flight against the evidence that it never did, and raises an alarm when the evidence summed over
all possible onsets reaches a limit. Neither the mean nor the scatter of the aeroplane's own
differences need be known: both drop out of the ratio.

Notes
-----
The ratio for one onset is that of :mod:`rvsmlog.science.drift_evidence` for a step. It is a
martingale of expectation 1 while nothing changes, so the sum over the onsets grows by 1 a flight on
average, and the mean number of flights until it first reaches a limit A is *at least* A, whatever
mean and sigma are (optional stopping; the procedure of Shiryaev and of Roberts: Pollak, *Annals of
Statistics* 13, 1985, from memory). It is in fact larger, for the sum jumps over the limit: see
:data:`LOG_LIMIT`.

A course for ramps was tried beside that for steps and left out: a step that begins a third of the
way up a ramp explains 8/9 of what the ramp itself does, and the second course costs about what it
gains.

Keeping every onset would make each flight dearer than the last. Onsets are therefore kept in
blocks that widen with age; a block keeps its likeliest onset and a weight that leaves its part of
the sum unchanged when two blocks join, so that R stays the martingale it was.
"""

import math
from datetime import datetime
from statistics import median

from rvsmlog.errors import OutOfRangeError
from rvsmlog.frozen import dataclass, replace
from rvsmlog.science.drift_evidence import log_ratio, log_sum, smallest_sigma_ft
from rvsmlog.science.drift_slips import pulled_in

#: Logarithm of the summed evidence that raises the alarm. Found by simulation
#: (tests/benchmarks/drift_simulation.py) for about 1,000 flights between false alarms.
LOG_LIMIT = math.log(400.0)
#: Values before the first alarm; until then only the fixed limit protects.
WARM_UP = 20
#: A value farther than so many sigma from the mean counts as so far: one digit slip of 100 ft must
#: not raise an alarm. A median of three readings or more has shed a slip already.
CLIP = 3.0
CLIP_OF_MEDIAN = 6.0
_SHEDS_SLIPS = 3
#: Values with which the history begins. They have no mean to be clipped about yet, and are pulled
#: in about their median instead: one slip among them must not widen sigma and blind the detector.
_FIRST = 5
#: Two blocks join when they span no more than this share of their age.
_BLOCK_SHARE = 0.5
_YOUNGEST_JOINED = 2
#: How many of the newest values are kept to say how far the difference now stands off.
_RECENT = 25


@dataclass(frozen=True, slots=True, kw_only=True)
class Onset:
    """A block of neighbouring flights after any of which a change may have begun.

    Parameters
    ----------
    block : int
        Values before the earliest onset of the block.
    index : int
        Values before its likeliest onset.
    at : datetime
        When the first flight after the likeliest onset took its readings.
    total_ft : float
        Sum of the values before the likeliest onset, less the reference, feet.
    log_weight : float
        Logarithm of the weight its likelihood ratio carries.
    """

    block: int
    index: int
    at: datetime
    total_ft: float
    log_weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DriftState:
    """All that the detector remembers of one band since the last restart.

    Parameters
    ----------
    resolution_ft : float
        Step in which the differences are recorded, feet.
    reference_ft : float
        The first value, from which all sums are counted, feet.
    count : int
        Values seen.
    total_ft, squares_ft2 : float
        Sum and sum of squares of the values, clipped, less the reference.
    onsets : tuple of Onset
        Blocks of possible onsets, oldest first.
    recent_ft : tuple of float
        The newest values, unclipped, less the reference, feet.
    log_evidence : float
        Logarithm of the evidence summed over the onsets.
    alarm_index : int or None
        Values seen when the alarm was raised; it stands until a restart.
    alarm_at : datetime or None
        When that flight took its readings.
    """

    resolution_ft: float
    reference_ft: float = 0.0
    count: int = 0
    total_ft: float = 0.0
    squares_ft2: float = 0.0
    onsets: tuple[Onset, ...] = ()
    recent_ft: tuple[float, ...] = ()
    log_evidence: float = -math.inf
    alarm_index: int | None = None
    alarm_at: datetime | None = None

    def __post_init__(self) -> None:
        """Refuse a resolution that is no length."""
        if not 0.0 < self.resolution_ft < math.inf:
            raise OutOfRangeError(
                f"resolution of {self.resolution_ft:g} ft is out of range",
                "give the step in which the altimeters are read, for example 10 or 20 ft",
            )

    @property
    def ready(self) -> bool:
        """Whether there is history enough for an alarm."""
        return self.count >= WARM_UP


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """What an alarm says of the change.

    Parameters
    ----------
    onset_index : int
        Values before the likeliest onset.
    onset_at : datetime
        First flight after it.
    alarm_at : datetime
        Flight that raised the alarm.
    size_ft : float
        Newest values less the mean before the onset; positive when altimeter 1 now shows more
        against altimeter 2 than it did, feet.
    size_sd_ft : float
        Its standard deviation, feet.
    before_ft : float
        Mean difference before the onset, feet.
    sigma_ft : float
        Scatter of single flights about the mean, feet.
    """

    onset_index: int
    onset_at: datetime
    alarm_at: datetime
    size_ft: float
    size_sd_ft: float
    before_ft: float
    sigma_ft: float


def advance(
    state: DriftState, difference_ft: float, *, at: datetime, readings: int = 1
) -> DriftState:
    """Take in one flight's value.

    Parameters
    ----------
    state : DriftState
        Before it.
    difference_ft : float
        Altimeter 1 less altimeter 2, feet.
    at : datetime
        When it was read.
    readings : int
        How many readings it is the median of.

    Returns
    -------
    DriftState
        After it. Takes some tens of microseconds, growing with the logarithm of the history.
    """
    state = _begun(state, difference_ft)
    value = difference_ft - state.reference_ft
    kept = _clipped(state, value, CLIP_OF_MEDIAN if readings >= _SHEDS_SLIPS else CLIP)
    onsets = _with_new_onset(state, at)
    state = replace(
        state,
        count=state.count + 1,
        total_ft=state.total_ft + kept,
        squares_ft2=state.squares_ft2 + kept * kept,
        onsets=onsets,
        recent_ft=(*state.recent_ft, value)[-_RECENT:],
    )
    evidence = _evidence(state)
    total = log_sum(evidence)
    if state.alarm_index is not None:
        return replace(state, log_evidence=total)
    if state.ready and total >= LOG_LIMIT:
        # Blocks no longer join from here on, so that the onset stays as sharp as it was seen.
        return replace(state, log_evidence=total, alarm_index=state.count, alarm_at=at)
    return replace(state, log_evidence=total, onsets=_joined(state, evidence))


def _begun(state: DriftState, difference_ft: float) -> DriftState:
    """Set the reference before the first value, and the sums once the first few are in."""
    if state.count == 0:
        return replace(state, reference_ft=difference_ft)
    if state.count != _FIRST:
        return state
    centres = [median(state.recent_ft)] * _FIRST
    kept = pulled_in(state.recent_ft, centres, state.resolution_ft, reach=CLIP)
    return replace(state, total_ft=sum(kept), squares_ft2=sum(value * value for value in kept))


def _mean_and_sigma(state: DriftState) -> tuple[float, float]:
    mean = state.total_ft / state.count
    floor = smallest_sigma_ft(state.resolution_ft)
    variance = (state.squares_ft2 - state.total_ft * mean) / (state.count - 1)
    return mean, max(floor, math.sqrt(max(variance, 0.0)))


def _clipped(state: DriftState, value: float, clip: float) -> float:
    if state.count < _FIRST or state.alarm_index is not None:
        return value
    mean, sigma = _mean_and_sigma(state)
    # Widened for short histories about as Student's t is against the normal distribution.
    reach = clip * (1.0 + 3.0 / state.count) * sigma * math.sqrt(1.0 + 1.0 / state.count)
    return min(max(value, mean - reach), mean + reach)


def _with_new_onset(state: DriftState, at: datetime) -> tuple[Onset, ...]:
    if state.count < _FIRST or state.alarm_index is not None:
        return state.onsets
    newest = Onset(
        block=state.count, index=state.count, at=at, total_ft=state.total_ft, log_weight=0.0
    )
    return (*state.onsets, newest)


def _evidence(state: DriftState) -> list[float]:
    """Give the logarithm of weight times likelihood ratio for each block of onsets."""
    n = state.count
    mean = state.total_ft / n
    spread = max(state.squares_ft2 - state.total_ft * mean, 0.0)
    floor = (n - 1) * smallest_sigma_ft(state.resolution_ft) ** 2
    found = []
    for onset in state.onsets:
        after = n - onset.index
        worth = after * onset.index / n
        explained = (state.total_ft - onset.total_ft - after * mean) ** 2 / worth
        left = max(spread - explained, floor)
        found.append(onset.log_weight + log_ratio(n, worth, explained, left))
    return found


def _joined(state: DriftState, evidence: list[float]) -> tuple[Onset, ...]:
    """Join neighbouring blocks that have grown old for their width."""
    kept: list[Onset] = []
    held: list[float] = []
    starts = [onset.block for onset in state.onsets]
    ends = [*starts[1:], *([state.count] if starts else [])]
    for onset, log, end in zip(state.onsets, evidence, ends, strict=True):
        age = state.count - end
        if kept and age >= _YOUNGEST_JOINED and end - kept[-1].block <= _BLOCK_SHARE * age:
            kept[-1], held[-1] = _join(kept[-1], held[-1], onset, log)
        else:
            kept.append(onset)
            held.append(log)
    return tuple(kept)


def _join(older: Onset, older_log: float, newer: Onset, newer_log: float) -> tuple[Onset, float]:
    both = log_sum([older_log, newer_log])
    better, log = (newer, newer_log) if newer_log > older_log else (older, older_log)
    weight = better.log_weight + both - log
    return replace(better, block=older.block, log_weight=weight), both


def shift(state: DriftState) -> Shift | None:
    """Say when the change began, how large it is and which way; None while there is no alarm."""
    if state.alarm_at is None:
        return None
    evidence = _evidence(state)
    onset = state.onsets[evidence.index(max(evidence))]
    since = state.count - onset.index
    mean = state.total_ft / state.count
    explained = (state.total_ft - onset.total_ft - since * mean) ** 2 * state.count
    explained /= since * onset.index
    spread = max(state.squares_ft2 - state.total_ft * mean - explained, 0.0)
    sigma = max(smallest_sigma_ft(state.resolution_ft), math.sqrt(spread / (state.count - 2)))
    before = onset.total_ft / onset.index
    newest = state.recent_ft[-since:]
    # The variance of a median of many normal values is pi/2 times that of their mean.
    doubt = sigma * math.sqrt(1.0 / onset.index + math.pi / 2.0 / len(newest))
    return Shift(
        onset_index=onset.index,
        onset_at=onset.at,
        alarm_at=state.alarm_at,
        size_ft=median(newest) - before,
        size_sd_ft=doubt,
        before_ft=state.reference_ft + before,
        sigma_ft=sigma,
    )
