"""Drift as a picture that can be pinned on the wall."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from rvsmlog.answers.drift_analysis import BandDrift, Drift
from rvsmlog.errors import InputError
from rvsmlog.reports.plot_style import ACCENT, FAINT, INK, SOFT, STYLE, checked_target, save
from rvsmlog.reports.text import escape
from rvsmlog.science.drift_readings import Point
from rvsmlog.science.drift_trend import LeastSquares

_STEPS = 60
_SECONDS_A_DAY = 86400.0


def draw(drift: Drift, history: Sequence[Point], target: Path) -> None:
    """Draw readings, tolerance, trend with its uncertainty, alarm and work on the altimetry.

    Parameters
    ----------
    drift : Drift
        At least one band.
    history : sequence of Point
        Every point ever, also from before the altimetry was last disturbed.
    target : Path
        An .svg or .png file; replaced when it exists.

    Raises
    ------
    InputError
        When the file cannot be written, or the plotting library is not installed.
    """
    checked_target(target)
    try:
        import matplotlib as mpl

        mpl.use("Agg")
        from matplotlib import pyplot
    except ModuleNotFoundError:
        raise InputError(
            "the plotting library is not installed", "install it: pip install 'rvsmlog[plot]'"
        ) from None
    band = drift.alarmed[0] if drift.alarmed else drift.bands[0]
    style: Any = dict(STYLE)
    with mpl.rc_context(style):
        figure, axes = pyplot.subplots(figsize=(11.0, 6.2), layout="constrained")
        _readings(axes, band, history)
        _tolerance(axes, band)
        _trend(axes, band)
        _alarm(axes, band)
        _work(axes, drift, history)
        _words(axes, drift, band)
        save(figure, target)
        pyplot.close(figure)


def _readings(axes: Any, band: BandDrift, history: Sequence[Point]) -> None:
    """Draw each flight of the band; flights in other bands stand behind, small."""
    own = [point for point in history if point.band == band.log.band]
    others = [point for point in history if point.band != band.log.band]
    axes.plot(
        [point.at for point in others],
        [point.difference_ft for point in others],
        linestyle="none",
        marker="o",
        markersize=2.5,
        color=FAINT,
        label="flights in other bands",
    )
    axes.plot(
        [point.at for point in own],
        [point.difference_ft for point in own],
        linestyle="none",
        marker="o",
        markersize=5,
        markerfacecolor="white",
        markeredgecolor=INK,
        label=f"flights at {band.name}, median of each",
    )


def _tolerance(axes: Any, band: BandDrift) -> None:
    """Draw the tolerance either way, and say so."""
    for sign in (1, -1):
        axes.axhline(sign * band.tolerance_ft, color=INK, linewidth=1.4)
    axes.axhline(0, color=SOFT, linewidth=0.8)
    axes.annotate(
        f"tolerance {band.tolerance_ft} ft",
        (1.0, band.tolerance_ft),
        xycoords=("axes fraction", "data"),
        xytext=(-2, 4),
        textcoords="offset points",
        ha="right",
        color=INK,
    )


def _trend(axes: Any, band: BandDrift) -> None:
    """Draw the line through the points since the onset, with the uncertainty of the line."""
    if band.trend is None:
        return
    points = band.log.points
    if band.shift is not None:
        points = tuple(point for point in points if point.at >= band.shift.onset_at) or points
    first = points[0].at
    span = (points[-1].at - first).total_seconds() / _SECONDS_A_DAY
    days = [span * step / _STEPS for step in range(_STEPS + 1)]
    dates = [first + timedelta(days=day) for day in days]
    line = [band.trend.intercept + band.trend.slope * day for day in days]
    half = [_half_ft(band.trend, day, span / 2.0) for day in days]
    axes.fill_between(
        dates,
        [value - width for value, width in zip(line, half, strict=True)],
        [value + width for value, width in zip(line, half, strict=True)],
        color=ACCENT,
        alpha=0.18,
        linewidth=0,
        label="uncertainty of the trend",
    )
    axes.plot(dates, line, color=ACCENT, linewidth=1.8, linestyle="--", label="trend")


def _half_ft(trend: LeastSquares, day: float, middle: float) -> float:
    """Give half the width of the line's interval at a day, feet."""
    slope_half = (trend.slope_high - trend.slope_low) / 2.0
    factor = slope_half / trend.slope_sd if trend.slope_sd > 0.0 else 0.0
    mean_sd = trend.residual_sd / trend.count**0.5
    return float(factor * (mean_sd**2 + ((day - middle) * trend.slope_sd) ** 2) ** 0.5)


def _alarm(axes: Any, band: BandDrift) -> None:
    """Mark onset and alarm."""
    if band.shift is None:
        return
    _mark(axes, band.shift.alarm_at, f"alarm {band.shift.alarm_at:%d %b %Y}", ACCENT, "-", 0.02)


def _work(axes: Any, drift: Drift, history: Sequence[Point]) -> None:
    """Mark work on the altimetry within the time shown; work of one day is one mark."""
    if not history:
        return
    first, last = history[0].at, drift.facts.now
    by_day: dict[datetime, list[str]] = {}
    for event in drift.events:
        if first <= event.at <= last:
            by_day.setdefault(event.at, []).append(f"#{event.ref.entry}")
    for at, entries in by_day.items():
        more = "…" if len(entries) > 2 else ""  # noqa: PLR2004  # room for two
        _mark(axes, at, f"work {', '.join(entries[:2])}{more}", SOFT, ":", 0.98)


def _mark(axes: Any, at: datetime, text: str, color: str, line: str, height: float) -> None:
    """Draw a mark in time, with its words beside it."""
    axes.axvline(at, color=color, linewidth=1.2, linestyle=line)
    axes.annotate(
        text,
        (at, height),
        xycoords=("data", "axes fraction"),
        xytext=(4, 0),
        textcoords="offset points",
        rotation=90,
        va="top" if height > 0.5 else "bottom",  # noqa: PLR2004  # upper half
        color=color,
        fontsize=9,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
    )


def _words(axes: Any, drift: Drift, band: BandDrift) -> None:
    """Write title, axes, legend and caution."""
    marks = escape(drift.facts.particulars.registration)
    axes.figure.suptitle(
        f"{marks}: altimeter 1 minus altimeter 2, {band.name}",
        x=0.01,
        ha="left",
        fontsize=14,
        parse_math=False,
    )
    axes.set_ylabel("difference, feet")
    axes.set_xlabel("date of the flight, UTC")
    reach = max(band.tolerance_ft * 1.25, *(abs(value) * 1.1 for value in axes.get_ylim()))
    axes.set_ylim(-reach, reach)
    axes.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=4, frameon=False, fontsize=9)
    axes.figure.supxlabel(
        f"as known on {drift.facts.now:%Y-%m-%d %H:%MZ}. An aid: manuals, local rules, licensed "
        "maintenance and the pilot in command decide. Errors common to both do not show.",
        x=0.01,
        ha="left",
        fontsize=8,
        color=SOFT,
    )
