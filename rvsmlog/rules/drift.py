"""Drift between the primaries: what many flights show before any one is beyond limits."""

from collections.abc import Iterator
from datetime import datetime

from rvsmlog.facts import Facts, Logged
from rvsmlog.findings import Margin
from rvsmlog.once import once
from rvsmlog.records.base import Ref
from rvsmlog.records.defects import Review
from rvsmlog.rules.base import Result, advice, met, not_applicable, not_met, rule
from rvsmlog.rules.tolerances import crosscheck_tolerance_ft
from rvsmlog.science.drift import WARM_UP, shift
from rvsmlog.science.drift_course import FEWEST, Course, fit_course
from rvsmlog.science.drift_forecast import difference_at, likely_beyond, possibly_beyond
from rvsmlog.science.drift_log import BandLog, DriftLog, settled
from rvsmlog.science.drift_readings import LEVEL_BAND, Band, Point
from rvsmlog.standards.rvsm import HIGHEST_LEVEL_BELOW_RVSM
from rvsmlog.units import show_level

_CAP = HIGHEST_LEVEL_BELOW_RVSM.value
#: A forecast is made when the newest points come nearer to the limit than this share of it.
_NEAR = 0.5
_NEWEST = 10
#: What puts a forecast beyond the limit right.
BEFORE_BEYOND = "Have the altimeters tested before they are beyond the limit, and record it."
_REVIEW = (
    "Have the maintenance controller look at it; find the cause, or record the accepting review "
    "with `rvsmlog defect review`, entry #{entry}, and the reason."
)


@rule("nat-doc-001-3-5-1f", "practice")
def altimeters_drifting(facts: Facts) -> Iterator[Result]:
    """Primary altimeters that drift apart, before they reach their limit.

    Checks: For each band of levels and Mach numbers, since the altimetry was last disturbed: the
    median difference of each flight is watched by a detector that raises about one false alarm in
    1,000 independent flights of a band. An alarm limits the level until the maintenance controller
    has reviewed it. The forecast of the difference for the day of the flight limits the level when
    its middle is beyond the tolerance, and is advice when its 90 % interval reaches beyond.

    Why: A fixed limit finds an altimeter that has failed already. A slow change shows in many
    flights long before, and can be put right on the ground.

    Remedy: Find which altimeter moved with `rvsmlog drift`, have it tested, and record the work;
    or record the controller's accepting review of the entry named, with the reason. Evidence then
    starts anew.

    Known problems: The detector needs 20 flights in a band before it can raise an alarm; until
    then only the fixed limit protects. It cannot see an error that both altimeters share. Its rate
    of false alarms is found by simulation, not published, and is higher where neighbouring flights
    resemble each other or one reading in a hundred is a slip. Bands are watched apart.
    """
    if facts.drift is None or (not facts.drift.bands and not facts.drift.open_flight):
        yield not_applicable("no cross-check in flight on record since the altimetry was disturbed")
        return
    log = settled(facts.drift)
    reviewed = _accepted(facts, log)
    if reviewed is not None:
        yield advice(
            f"drift accepted by review #{reviewed.ref.entry}: {reviewed.record.conclusion}"[:100],
            evidence=(reviewed.ref,),
        )
    found = [*_alarm(facts, log), *_worst_forecast(facts, log)]
    yield from found or (_quiet(facts, log),)


def _accepted(facts: Facts, log: DriftLog) -> Logged[Review] | None:
    """Give the review from which the evidence starts."""
    for review in reversed(facts.reviews):
        if review.record.accepted and review.record.reviewed_at == log.since:
            return review
    return None


def _alarm(facts: Facts, log: DriftLog) -> Iterator[Result]:
    """Give the earliest alarm, and say in how many bands there is one."""
    alarmed = sorted(
        (band for band in log.bands if band.state.alarm_at is not None),
        key=lambda band: (band.state.alarm_at, band.band),
    )
    if not alarmed:
        return
    band = alarmed[0]
    seen = shift(band.state)
    assert seen is not None  # noqa: S101  # it has an alarm
    refs = tuple(_ref(facts, each.alarm_entry or each.last_entry) for each in alarmed)
    yield not_met(
        f"altimeters drifting at {_where(band)}: {seen.size_ft:+.0f} ft since "
        f"{seen.onset_at:%Y-%m-%d}, alarm {seen.alarm_at:%Y-%m-%d}"
        + (f"; {len(alarmed)} bands in all" if len(alarmed) > 1 else ""),
        highest_level=_CAP,
        values={
            "shift_ft": round(seen.size_ft, 1),
            "shift_sd_ft": round(seen.size_sd_ft, 1),
            "before_ft": round(seen.before_ft, 1),
            "sigma_ft": round(seen.sigma_ft, 1),
            "onset": seen.onset_at.isoformat(),
            "alarm": seen.alarm_at.isoformat(),
            "flights": band.state.count,
            "bands": len(alarmed),
        },
        evidence=refs,
        remedy=_REVIEW.format(entry=refs[0].entry),
    )


def _ref(facts: Facts, entry: int) -> Ref:
    return Ref(logbook=facts.airframe.ref.logbook, entry=entry)


def band_name(band: Band) -> str:
    """Name a band of levels and Mach numbers, the same wherever one is named."""
    lowest, mach = band.lowest_level, band.middle_mach
    levels = f"{show_level(lowest)}-{lowest + LEVEL_BAND - 1}"
    return levels if mach < 0 else f"{levels}, Mach {mach:.1f}"


def _where(band: BandLog) -> str:
    return band_name(band.band)


def _worst_forecast(facts: Facts, log: DriftLog) -> Iterator[Result]:
    """Give the forecast that comes nearest to its limit, where one reaches it."""
    found = [result for band in log.bands for result in _forecast(facts, band)]
    yield from sorted(found, key=_left)[:1]


def _left(result: Result) -> tuple[bool, float]:
    """Order forecasts: those that limit first, then by what is left."""
    return result.highest_level is None, result.margin.value if result.margin else 0.0


def _forecast(facts: Facts, band: BandLog) -> Iterator[Result]:
    """Say where the difference will stand on the day of the flight, when that may be beyond."""
    tolerance = _tolerance_ft(facts, band)
    course = _course_on(band, facts.now, tolerance)
    if course is None:
        return
    if not possibly_beyond(course, facts.now, tolerance):
        return
    span = difference_at(course, facts.now)
    farthest = max(abs(span.low), abs(span.high))
    values = {
        "forecast_ft": round(span.likely, 1),
        "low_ft": round(span.low, 1),
        "high_ft": round(span.high, 1),
    }
    ref = _ref(facts, band.last_entry)
    says = (
        f"altimeters at {_where(band)} forecast {span.likely:+.0f} ft apart ({span.low:+.0f} to "
        f"{span.high:+.0f}), limit {tolerance} ft"
    )
    limits = {"tolerance_ft": tolerance}
    if likely_beyond(course, facts.now, tolerance):
        yield not_met(
            says,
            highest_level=_CAP,
            values=values,
            limits=limits,
            margin=Margin(value=round(tolerance - abs(span.likely), 1), unit="ft"),
            evidence=(ref,),
            remedy=BEFORE_BEYOND,
        )
    else:
        yield advice(
            says,
            values=values,
            limits=limits,
            margin=Margin(value=round(tolerance - farthest, 1), unit="ft"),
            evidence=(ref,),
            remedy="Plan a test of the altimeters: `rvsmlog drift` shows the course.",
        )


def _tolerance_ft(facts: Facts, band: BandLog) -> int:
    """Give the tightest tolerance that holds within a band up to the highest level."""
    top = min(band.band.lowest_level + LEVEL_BAND - 1, facts.particulars.highest_level)
    levels = range(band.band.lowest_level, max(top, band.band.lowest_level) + 1, 10)
    return min(crosscheck_tolerance_ft(facts.particulars, max(level, 1)) for level in levels)


def bands_beyond(facts: Facts, at: datetime) -> Iterator[BandLog]:
    """Give the bands whose forecast for an instant is beyond the tolerance.

    That is when the rule finds it not met, without putting into words what it finds.
    """
    for band in settled(facts.drift).bands if facts.drift is not None else ():
        tolerance = _tolerance_ft(facts, band)
        course = _course_on(band, at, tolerance)
        if course is not None and likely_beyond(course, at, tolerance):
            yield band


def _course_on(band: BandLog, at: datetime, tolerance_ft: int) -> Course | None:
    """Give a band's course; None where it stands far from the limit, or readings are few."""
    points = _since_onset(band)
    if len(points) < FEWEST or points[-1].at > at or points[0].at == points[-1].at:
        return None
    newest = [abs(point.difference_ft) for point in points[-_NEWEST:]]
    if band.state.alarm_at is None and max(newest) < _NEAR * tolerance_ft:
        return None
    return _fitted(points, band.state.resolution_ft)


# The due list asks about one day after another, on which the same readings are on record.
@once
def _fitted(points: tuple[Point, ...], resolution_ft: float) -> Course:
    """Fit the course once."""
    return fit_course(points, resolution_ft=resolution_ft)


@once
def _since_onset(band: BandLog) -> tuple[Point, ...]:
    """Give the points from the onset of an alarm on, where they are enough; else all."""
    seen = shift(band.state)
    if seen is None:
        return band.points
    later = tuple(point for point in band.points if point.at >= seen.onset_at)
    return later if len(later) >= FEWEST else band.points


def _quiet(facts: Facts, log: DriftLog) -> Result:
    """Say that no band shows a drift, or that there are too few flights to tell."""
    band = max(log.bands, key=lambda each: each.state.count)
    ref = _ref(facts, band.last_entry)
    values = {"flights": band.state.count}
    if not band.state.ready:
        return advice(
            f"flights in a band: {band.state.count}; {WARM_UP} wanted before a drift can show",
            values=values,
            limits={"flights": WARM_UP},
            evidence=(ref,),
        )
    return met(
        f"no drift in {log.flights} flights, {band.state.count} of them at {_where(band)}",
        values=values,
        evidence=(ref,),
    )
