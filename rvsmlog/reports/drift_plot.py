"""Drift as a picture: in a page, and as a file that can be pinned on the wall."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from rvsmlog.answers.drift_analysis import BandDrift, Drift
from rvsmlog.reports.plot import (
    Area,
    Plot,
    Points,
    Shape,
    Stretch,
    Stroke,
    Upright,
    beyond_said,
    days,
    either_way,
    level,
    marked,
    reach,
    time_axis,
    usual,
    value_axis,
    within_scale,
)
from rvsmlog.science.drift_readings import Point
from rvsmlog.science.drift_trend import LeastSquares

_STEPS = 60
_SECONDS_A_DAY = 86400.0
#: How many entries of work the words of a mark name.
_NAMED = 2


def shown_band(drift: Drift) -> BandDrift:
    """Give the band that is drawn: the first with an alarm, else that with most flights."""
    return drift.alarmed[0] if drift.alarmed else drift.bands[0]


def drift_plot(drift: Drift, history: Sequence[Point]) -> Plot:
    """Draw flights, tolerance, trend with its uncertainty, alarm and work on the altimetry.

    Parameters
    ----------
    drift : Drift
        At least one band.
    history : sequence of Point
        Every point ever, also from before the altimetry was last disturbed; at least one.
    """
    band = shown_band(drift)
    own = [point for point in history if point.band == band.log.band]
    others = [point for point in history if point.band != band.log.band]
    last = max(history[-1].at, drift.facts.now)
    x = time_axis("date of the flight, UTC", history[0].at, last)
    high = reach(usual(point.difference_ft for point in history), band.tolerance_ft)
    y = value_axis("difference, feet", -high, high, sign=True)
    beyond = beyond_said(((point.at, point.difference_ft) for point in history), y)
    area, trend = _trend(band)
    return Plot(
        title=(
            f"{drift.facts.particulars.registration}: altimeter 1 minus altimeter 2, {band.name}"
        ),
        says=f"{_said(band, own)} {beyond}".rstrip(),
        x=x,
        y=y,
        areas=area,
        lines=(
            Stretch(points=level(0.0, x), stroke=Stroke.FAINT),
            *either_way(
                level(float(band.tolerance_ft), x),
                Stroke.SOLID,
                f"tolerance {band.tolerance_ft} ft",
            ),
            *trend,
        ),
        marks=within_scale(
            marked(
                (_places(others), Shape.DOT, "flights in other bands"),
                (_places(own), Shape.RING, f"flights at {band.name}, median of each"),
            ),
            y,
        ),
        uprights=(*alarm_marks(band), *_work(drift, history)),
        note=(
            f"{beyond}{' ' if beyond else ''}"
            f"As known on {drift.facts.now:%Y-%m-%d %H:%MZ}. An aid: manuals, local rules, "
            "licensed maintenance and the pilot in command decide. Errors common to both do not "
            "show."
        ),
    )


def _places(points: Sequence[Point]) -> Points:
    return tuple((days(point.at), point.difference_ft) for point in points)


def _said(band: BandDrift, own: Sequence[Point]) -> str:
    """Say what is to be seen."""
    values = [point.difference_ft for point in own]
    said = f"{len(own)} flights at {band.name}"
    if own:
        said += (
            f" from {own[0].at:%Y-%m-%d} to {own[-1].at:%Y-%m-%d}, medians {min(values):+.0f} to "
            f"{max(values):+.0f} ft"
        )
    said += f"; tolerance {band.tolerance_ft} ft either way"
    if band.shift is None:
        return f"{said}; no alarm."
    shift = band.shift
    return (
        f"{said}; {shift.size_ft:+.0f} ft since the onset of {shift.onset_at:%Y-%m-%d}, alarm of "
        f"{shift.alarm_at:%Y-%m-%d}."
    )


def _trend(band: BandDrift) -> tuple[tuple[Area, ...], tuple[Stretch, ...]]:
    """Draw the line through the points since the onset, with the uncertainty of the line."""
    if band.trend is None:
        return (), ()
    points = band.log.points
    if band.shift is not None:
        points = tuple(point for point in points if point.at >= band.shift.onset_at) or points
    first = points[0].at
    span = (points[-1].at - first).total_seconds() / _SECONDS_A_DAY
    after = [span * step / _STEPS for step in range(_STEPS + 1)]
    at = [days(first + timedelta(days=day)) for day in after]
    line = [band.trend.intercept + band.trend.slope * day for day in after]
    half = [_half_ft(band.trend, day, span / 2.0) for day in after]
    area = Area(
        lower=tuple((x, y - wide) for x, y, wide in zip(at, line, half, strict=True)),
        upper=tuple((x, y + wide) for x, y, wide in zip(at, line, half, strict=True)),
        label="uncertainty of the trend",
    )
    ends = ((at[0], line[0]), (at[-1], line[-1]))
    return (area,), (Stretch(points=ends, stroke=Stroke.DASHED, label="trend", at_end=False),)


def _half_ft(trend: LeastSquares, day: float, middle: float) -> float:
    """Give half the width of the line's interval at a day, feet."""
    slope_half = (trend.slope_high - trend.slope_low) / 2.0
    factor = slope_half / trend.slope_sd if trend.slope_sd > 0.0 else 0.0
    mean_sd = trend.residual_sd / trend.count**0.5
    return float(factor * (mean_sd**2 + ((day - middle) * trend.slope_sd) ** 2) ** 0.5)


def alarm_marks(
    band: BandDrift, onset_said: str = "onset", alarm_said: str = "alarm"
) -> tuple[Upright, ...]:
    """Mark the onset and the alarm of a band; nothing where there is none."""
    if band.shift is None:
        return ()
    onset, alarm = band.shift.onset_at, band.shift.alarm_at
    return (
        Upright(
            x=days(onset),
            label=f"{onset_said} {onset:%d %b %Y}",
            stroke=Stroke.DOTTED,
            at_top=True,
        ),
        Upright(x=days(alarm), label=f"{alarm_said} {alarm:%d %b %Y}", stroke=Stroke.DASHED),
    )


def _work(drift: Drift, history: Sequence[Point]) -> tuple[Upright, ...]:
    """Mark work on the altimetry within the time shown; work of one day is one mark."""
    first, last = history[0].at, drift.facts.now
    by_day: dict[datetime, list[str]] = {}
    for event in drift.events:
        if first <= event.at <= last:
            by_day.setdefault(event.at, []).append(f"#{event.ref.entry}")
    return tuple(
        Upright(
            x=days(at),
            label=f"work {', '.join(entries[:_NAMED])}{'…' if len(entries) > _NAMED else ''}",
            stroke=Stroke.DOTTED,
            at_top=True,
        )
        for at, entries in by_day.items()
    )
