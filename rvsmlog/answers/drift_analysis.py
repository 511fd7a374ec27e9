"""What the log says of drift, band by band: for the screen, the plot and JSON.

Standby and transponder are the witnesses of which altimeter moved. A GNSS height could be a third
once the weather is taken out (:mod:`rvsmlog.answers.static_analysis`); it is not used here, since
drift must show without files of weather.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime
from types import MappingProxyType

from rvsmlog.facts import Facts
from rvsmlog.findings import Finding, Outcome
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Ref
from rvsmlog.rules.altimetry import altimeters_disagree
from rvsmlog.rules.altimetry_work import PRIMARIES, disturbances
from rvsmlog.rules.drift import band_name
from rvsmlog.rules.tolerances import crosscheck_tolerance_ft
from rvsmlog.science.drift import Shift, shift
from rvsmlog.science.drift_change import FEWEST as FEWEST_FOR_CHANGE
from rvsmlog.science.drift_change import Change, describe_change
from rvsmlog.science.drift_course import FEWEST, Course, fit_course
from rvsmlog.science.drift_forecast import Reach, Span, difference_at, reach
from rvsmlog.science.drift_log import BandLog, settled
from rvsmlog.science.drift_readings import LEVEL_BAND, Point
from rvsmlog.science.drift_trend import LeastSquares, least_squares
from rvsmlog.science.drift_witness import Suspicion, TransponderFeed, which_moved

_FEEDS: Mapping[str | None, TransponderFeed] = MappingProxyType(
    {
        "primary-1": TransponderFeed.PRIMARY_1,
        "primary-2": TransponderFeed.PRIMARY_2,
        "own-source": TransponderFeed.OWN,
        None: TransponderFeed.UNKNOWN,
    }
)
_FEWEST_FOR_TREND = 3
_SECONDS_A_DAY = 86400.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """Something that was done to the altimetry."""

    at: datetime
    ref: Ref


@dataclass(frozen=True, slots=True, kw_only=True)
class BandDrift:
    """What one band of levels and Mach numbers shows.

    Parameters
    ----------
    log : BandLog
        The detector's state and the newest points.
    tolerance_ft : int
        Tightest tolerance within the band up to the highest certificated level.
    shift : Shift or None
        What the alarm says; None while there is none.
    change : Change or None
        The change looked at again over the points kept; with an alarm only.
    suspicion : Suspicion or None
        Which altimeter moved; with an alarm only.
    trend : LeastSquares or None
        Feet a day over the points kept, for display.
    course : Course or None
        Where the difference stands and how it moves.
    today : Span or None
        Forecast for the instant asked about, feet.
    reach : Reach or None
        When the tolerance will be reached.
    """

    log: BandLog
    tolerance_ft: int
    shift: Shift | None
    change: Change | None
    suspicion: Suspicion | None
    trend: LeastSquares | None
    course: Course | None
    today: Span | None
    reach: Reach | None

    @property
    def name(self) -> str:
        """The band's levels and Mach number."""
        return band_name(self.log.band)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """What an airframe's log shows.

    Parameters
    ----------
    facts : Facts
        What it rests on.
    bands : tuple of BandDrift
        The band with most flights first.
    flights : int
        Flights since the altimetry was last disturbed.
    events : tuple of Event
        When it was disturbed, ever.
    beyond : tuple of Finding
        Single readings beyond tolerance that stand, the newest last: the median of a flight, from
        which a drift is seen, does not show them.
    """

    facts: Facts
    bands: tuple[BandDrift, ...]
    flights: int
    events: tuple[Event, ...]
    beyond: tuple[Finding, ...] = ()

    @property
    def alarmed(self) -> tuple[BandDrift, ...]:
        """The bands with an alarm, the earliest first."""
        found = [band for band in self.bands if band.shift is not None]
        return tuple(sorted(found, key=lambda band: band.log.state.alarm_at or self.facts.now))

    @property
    def first_to_reach(self) -> BandDrift | None:
        """The band that is forecast to reach its tolerance first; it limits the level then."""
        found = [
            (band.reach.likely_at, at, band)
            for at, band in enumerate(self.bands)
            if band.reach is not None and band.reach.likely_at is not None
        ]
        return min(found)[2] if found else None


def analysed(facts: Facts) -> Drift:
    """Analyse the drift log among the facts.

    Parameters
    ----------
    facts : Facts
        With their drift log.
    """
    zone = facts.time_zone
    events = tuple(
        Event(at=work.order(zone), ref=work.ref) for work in disturbances(facts, PRIMARIES)
    )
    beyond = tuple(
        each for each in altimeters_disagree.findings(facts) if each.outcome is Outcome.NOT_MET
    )
    if facts.drift is None:
        return Drift(facts=facts, bands=(), flights=0, events=events, beyond=beyond)
    log = settled(facts.drift)
    ranked = sorted(log.bands, key=lambda band: (-band.state.count, band.band))
    bands = tuple(_band(facts, band) for band in ranked)
    return Drift(facts=facts, bands=bands, flights=log.flights, events=events, beyond=beyond)


def _band(facts: Facts, band: BandLog) -> BandDrift:
    seen = shift(band.state)
    tolerance = band_tolerance_ft(facts, band)
    recent = _from_onset(band, seen)
    course = _course(recent, band.state.resolution_ft)
    return BandDrift(
        log=band,
        tolerance_ft=tolerance,
        shift=seen,
        change=_change(band) if seen is not None else None,
        suspicion=_suspicion(facts, band, seen) if seen is not None else None,
        trend=_trend(recent),
        course=course,
        today=None if course is None else difference_at(course, max(facts.now, course.last_at)),
        reach=None if course is None else reach(course, float(tolerance)),
    )


def band_tolerance_ft(facts: Facts, band: BandLog) -> int:
    """Give the tightest tolerance within a band up to the highest certificated level, feet."""
    lowest = band.band.lowest_level
    top = max(min(lowest + LEVEL_BAND - 1, facts.particulars.highest_level), lowest)
    levels = range(lowest, top + 1, 10)
    return min(crosscheck_tolerance_ft(facts.particulars, max(level, 1)) for level in levels)


def _from_onset(band: BandLog, seen: Shift | None) -> tuple[Point, ...]:
    """Give the points from the onset of an alarm on, where they are enough; else all kept."""
    if seen is None:
        return band.points
    later = tuple(point for point in band.points if point.at >= seen.onset_at)
    return later if len(later) >= FEWEST else band.points


def _course(points: Sequence[Point], resolution_ft: float) -> Course | None:
    if len(points) < FEWEST or points[0].at == points[-1].at:
        return None
    return fit_course(points, resolution_ft=resolution_ft)


def _trend(points: Sequence[Point]) -> LeastSquares | None:
    if len(points) < _FEWEST_FOR_TREND or points[0].at == points[-1].at:
        return None
    days = [(point.at - points[0].at).total_seconds() / _SECONDS_A_DAY for point in points]
    return least_squares(days, [point.difference_ft for point in points])


def _change(band: BandLog) -> Change | None:
    if len(band.points) < FEWEST_FOR_CHANGE:
        return None
    return describe_change(band.points, resolution_ft=band.state.resolution_ft)


def _suspicion(facts: Facts, band: BandLog, seen: Shift) -> Suspicion:
    return which_moved(
        [point for point in band.points if point.at < seen.onset_at],
        [point for point in band.points if point.at >= seen.onset_at],
        resolution_ft=band.state.resolution_ft,
        transponder_feed=_FEEDS[facts.particulars.transponder_feed],
    )
