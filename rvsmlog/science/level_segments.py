"""Stretches of level flight in recorded flight data, each made into one comparison.

A stretch is level when **each altimeter keeps near its own running mean** and the mean of both
hardly climbs or sinks, for long enough. The altimeters are not asked to agree: those that differ
by 400 ft are the ones that a log must not miss. Nor is one recording asked to be clean: single
samples that do not fit, a digit slip or a gust, are left out of a stretch without ending it.

All altitudes are feet on 1013.25 hPa; who reads the data sees to that.
"""

from collections import deque
from collections.abc import Iterable, Iterator
from statistics import median

from rvsmlog.errors import OutOfRangeError
from rvsmlog.frozen import dataclass
from rvsmlog.units import level_to_feet

#: The climb is taken over this many seconds, so that steps of an indication are no climb.
RATE_WINDOW_S = 30.0
#: For so many seconds samples that do not fit are passed over before they end a stretch.
FORGIVEN_S = 10.0
#: A longer hole in the recording ends a stretch.
LONGEST_HOLE_S = 60.0
#: A stretch is cut after so many samples, whatever the rate of recording: memory is bounded.
MOST_SAMPLES = 50_000
#: Levels are whole thousands of feet; one altimeter at least shows the level held within this.
NEAR_LEVEL_FT = 200.0
_FEET_A_LEVEL = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """One row of recorded flight data.

    Parameters
    ----------
    at_s : float
        Seconds from any one instant; never less than in the row before.
    primary_1_ft, primary_2_ft : float
        The primary altimeters on 1013.25 hPa, feet.
    standby_ft, transponder_ft, gnss_height_ft : float or None
        Other heights, feet.
    mach, static_air_temperature_c, total_air_temperature_c : float or None
        Air data, degrees Celsius.
    latitude_deg, longitude_deg : float or None
        Position, degrees.
    """

    at_s: float
    primary_1_ft: float
    primary_2_ft: float
    standby_ft: float | None = None
    transponder_ft: float | None = None
    gnss_height_ft: float | None = None
    mach: float | None = None
    static_air_temperature_c: float | None = None
    total_air_temperature_c: float | None = None
    latitude_deg: float | None = None
    longitude_deg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """What counts as level flight (common practice, no source; the figures are options).

    Parameters
    ----------
    steady_ft : float
        Each altimeter stays within this of its own running mean, feet.
    rate_ft_min : float
        The mean of both changes by less than this over 30 seconds, feet a minute.
    least_s, longest_s : float
        A shorter stretch is passed over, a longer one is cut, seconds.
    lowest_level : int
        Lower levels are passed over: below the transition level a sub-scale may be set to QNH.
    """

    steady_ft: float = 100.0
    rate_ft_min: float = 200.0
    least_s: float = 300.0
    longest_s: float = 3600.0
    lowest_level: int = 180

    def __post_init__(self) -> None:
        """Refuse what no flight can meet."""
        if not (self.steady_ft > 0.0 and self.rate_ft_min > 0.0):
            raise OutOfRangeError("nothing is as steady as that", "give more than 0 ft")
        if not 0.0 < self.least_s <= self.longest_s:
            raise OutOfRangeError(
                "the shortest stretch is longer than the longest",
                "give the shortest no more minutes than the longest",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """One stretch of level flight.

    Parameters
    ----------
    first_s, last_s : float
        Its ends, on the samples' scale.
    samples : int
        How many samples it is made of.
    level : int or None
        Flight level held: the whole thousand of feet near one of the altimeters; None where
        neither is near one.
    middle : Sample
        The comparison, at the instant and place of the middle sample. Altimeter 1 is its median;
        every other height is altimeter 1 plus the median of its difference from it, so that each
        difference is a median of differences. The rest are medians.
    """

    first_s: float
    last_s: float
    samples: int
    level: int | None
    middle: Sample


def level_segments(samples: Iterable[Sample], criterion: Criterion) -> Iterator[Segment]:
    """Find the stretches of level flight.

    Parameters
    ----------
    samples : iterable of Sample
        In order of time; read once, and not kept beyond the stretch they belong to.
    criterion : Criterion
        What counts as level.

    Yields
    ------
    Segment
        From the earliest to the latest.
    """
    run = _Run(criterion)
    for sample in samples:
        if run.takes(sample):
            continue
        yield from run.segment()
        run = _Run(criterion)
        run.takes(sample)
    yield from run.segment()


class _Run:
    """A stretch while it grows."""

    __slots__ = ("criterion", "kept", "sums", "window")

    def __init__(self, criterion: Criterion) -> None:
        self.criterion = criterion
        self.kept: list[Sample] = []
        self.sums = [0.0, 0.0]
        self.window: deque[tuple[float, float]] = deque()

    def takes(self, sample: Sample) -> bool:
        """Take a sample in, or pass it over; False when it ends the stretch."""
        if not self.kept:
            self._keep(sample)
            return True
        since = sample.at_s - self.kept[-1].at_s
        if not 0.0 <= since <= LONGEST_HOLE_S or self._full(sample):
            return False
        if self._fits(sample):
            self._keep(sample)
            return True
        return since <= FORGIVEN_S

    def _full(self, sample: Sample) -> bool:
        long = sample.at_s - self.kept[0].at_s > self.criterion.longest_s
        return long or len(self.kept) >= MOST_SAMPLES

    def _fits(self, sample: Sample) -> bool:
        count, steady = len(self.kept), self.criterion.steady_ft
        if abs(sample.primary_1_ft - self.sums[0] / count) > steady:
            return False
        if abs(sample.primary_2_ft - self.sums[1] / count) > steady:
            return False
        return self._rate(sample) <= self.criterion.rate_ft_min

    def _rate(self, sample: Sample) -> float:
        """Give the climb or descent over the window, feet a minute; 0 before it is full."""
        window, now = self.window, sample.at_s
        while len(window) > 1 and window[1][0] <= now - RATE_WINDOW_S:
            window.popleft()
        start, height = window[0]
        if now - start < RATE_WINDOW_S:
            return 0.0
        mean = (sample.primary_1_ft + sample.primary_2_ft) / 2.0
        return abs(mean - height) / (now - start) * 60.0

    def _keep(self, sample: Sample) -> None:
        self.kept.append(sample)
        self.sums[0] += sample.primary_1_ft
        self.sums[1] += sample.primary_2_ft
        self.window.append((sample.at_s, (sample.primary_1_ft + sample.primary_2_ft) / 2.0))

    def segment(self) -> Iterator[Segment]:
        """Give the stretch, where it is long enough and high enough."""
        kept = self.kept
        if not kept or kept[-1].at_s - kept[0].at_s < self.criterion.least_s:
            return
        middle = _comparison(kept)
        highest = max(middle.primary_1_ft, middle.primary_2_ft)
        if highest < level_to_feet(self.criterion.lowest_level) - NEAR_LEVEL_FT:
            return
        yield Segment(
            first_s=kept[0].at_s,
            last_s=kept[-1].at_s,
            samples=len(kept),
            level=held_level(middle.primary_1_ft, middle.primary_2_ft),
            middle=middle,
        )


def held_level(primary_1_ft: float, primary_2_ft: float) -> int | None:
    """Give the flight level held: the whole thousand of feet that one altimeter is nearest to.

    One of the two flies the aeroplane and shows the level it holds, whatever the other shows.

    Examples
    --------
    >>> held_level(31_010, 30_640)
    310
    >>> held_level(30_490, 30_460) is None
    True
    """
    off, feet = min(
        (abs(shown - _thousand(shown)), _thousand(shown)) for shown in (primary_1_ft, primary_2_ft)
    )
    return feet // 100 if off <= NEAR_LEVEL_FT else None


def _thousand(feet: float) -> int:
    return round(feet / _FEET_A_LEVEL) * _FEET_A_LEVEL


def _comparison(kept: list[Sample]) -> Sample:
    """Make one comparison of all samples."""
    first = median([each.primary_1_ft for each in kept])
    half = (kept[0].at_s + kept[-1].at_s) / 2.0
    middle = min(kept, key=lambda each: abs(each.at_s - half))
    placed = [each for each in kept if None not in (each.latitude_deg, each.longitude_deg)]
    place = min(placed, key=lambda each: abs(each.at_s - half), default=None)

    def beside(name: str) -> float | None:
        found = [
            value - each.primary_1_ft for each in kept if (value := getattr(each, name)) is not None
        ]
        return first + median(found) if found else None

    def middling(name: str) -> float | None:
        found = [value for each in kept if (value := getattr(each, name)) is not None]
        return median(found) if found else None

    return Sample(
        at_s=middle.at_s,
        primary_1_ft=first,
        primary_2_ft=first + median([each.primary_2_ft - each.primary_1_ft for each in kept]),
        standby_ft=beside("standby_ft"),
        transponder_ft=beside("transponder_ft"),
        gnss_height_ft=beside("gnss_height_ft"),
        mach=middling("mach"),
        static_air_temperature_c=middling("static_air_temperature_c"),
        total_air_temperature_c=middling("total_air_temperature_c"),
        latitude_deg=None if place is None else place.latitude_deg,
        longitude_deg=None if place is None else place.longitude_deg,
    )
