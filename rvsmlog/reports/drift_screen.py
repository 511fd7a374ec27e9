"""Drift on the screen: the answer, why, the chart, the bands, the evidence."""

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from rvsmlog.answers.drift_analysis import BandDrift, Drift
from rvsmlog.dates import local_day
from rvsmlog.reports.drift_chart import chart_lines
from rvsmlog.reports.text import Line, escape, table, wrap
from rvsmlog.science.drift import WARM_UP
from rvsmlog.science.drift_forecast import COVERAGE, Span
from rvsmlog.science.drift_witness import Suspicion
from rvsmlog.verdict import CAUTION

_SHARE = f"{COVERAGE:.0%}"
_HUNDRED_DAYS = 100.0
#: A tolerance farther off than this is not in sight.
_IN_SIGHT_DAYS = 5 * 365.25
#: Heads of the table of bands.
BAND_HEADS = ("band", "flights", "stands", "ft/100 d", "tolerance", "drift")
#: What no cross-check can show.
UNSEEN = "A cross-check compares two altimeters: an error that both share does not show here. "


def drift_lines(drift: Drift) -> Iterator[Line]:
    """Lay out what an airframe's log shows."""
    registration = escape(drift.facts.particulars.registration)
    alarmed = drift.alarmed
    yield Line(f"{registration}  {headline(drift)}", "bold red" if alarmed else "bold")
    if not drift.bands:
        yield from wrap("log one: `rvsmlog crosscheck log REG --guided`", 2, 2)
        yield from wrap(_beyond(drift), 2, 4)
        return
    main = alarmed[0] if alarmed else drift.bands[0]
    for sentence in account(drift, main):
        yield from wrap(sentence, 2, 6 if sentence.startswith("do: ") else 4)
    yield from wrap(_beyond(drift), 2, 4)
    yield Line("")
    yield Line(f"Difference at {main.name}", "bold")
    yield from chart_lines(main)
    yield Line("")
    yield Line("By band", "bold")
    yield from table(
        [band_cells(band) for band in drift.bands],
        BAND_HEADS,
    )
    yield Line("")
    yield from _evidence(drift)
    yield from wrap(UNSEEN + CAUTION, style="italic")


def headline(drift: Drift) -> str:
    """Say in a few words what the log shows."""
    if not drift.bands:
        return "no cross-check in flight since the altimetry was last disturbed"
    if drift.alarmed:
        first = drift.alarmed[0].log.state.alarm_at
        return f"ALTIMETERS DRIFTING: alarm of {first:%Y-%m-%d}" if first else "DRIFTING"
    if not any(band.log.state.ready for band in drift.bands):
        return f"too few flights to tell: {drift.flights}, {WARM_UP} in one band wanted"
    return f"no drift in {drift.flights} flights"


def account(drift: Drift, band: BandDrift) -> Iterator[str]:
    """Say what happened, which altimeter moved, when the tolerance is reached, and what to do."""
    seen = band.shift
    if seen is not None:
        yield (
            f"{band.name}: {seen.size_ft:+.0f} ft (sd {seen.size_sd_ft:.0f} ft) since "
            f"{seen.onset_at:%Y-%m-%d}; before it {seen.before_ft:+.0f} ft"
        )
    if band.change is not None:
        how = "by and by" if band.change.gradual > 0.5 else "at once"  # noqa: PLR2004  # likelier
        share = max(band.change.gradual, 1.0 - band.change.gradual)
        yield f"it came {how} ({share:.0%})"
    if band.suspicion is not None:
        yield _who(band.suspicion)
    if band.today is not None:
        yield f"on {drift.facts.now:%Y-%m-%d}: {_span_ft(band.today)}"
    if band.reach is not None:
        yield f"{band.name}: {_when(band)}"
    first = drift.first_to_reach
    if first is not None and first is not band and _in_sight(first):
        yield f"first at {first.name}: {_when(first)}"
    if seen is not None:
        yield (
            "do: have both altimeters tested and record the work; or record the controller's "
            f"accepting review of #{band.log.alarm_entry} with `rvsmlog defect review`"
        )


def _beyond(drift: Drift) -> str:
    """Name the newest single reading beyond tolerance that stands; no drift does not clear it."""
    if not drift.beyond:
        return ""
    newest, count = drift.beyond[-1], len(drift.beyond)
    which = "1 reading beyond tolerance stands"
    if count > 1:
        which = f"{count} readings beyond tolerance stand, the newest"
    refs = ", ".join(map(str, newest.evidence))
    return f"{which}: {newest.says}; see {refs} and `rvsmlog gonogo`"


def _span_ft(span: Span) -> str:
    return f"{span.likely:+.0f} ft apart ({_SHARE}: {span.low:+.0f} to {span.high:+.0f} ft)"


def _in_sight(band: BandDrift) -> bool:
    return band.reach is not None and band.reach.days.likely <= _IN_SIGHT_DAYS


def _when(band: BandDrift) -> str:
    """Say when the tolerance will be reached."""
    reached = band.reach
    assert reached is not None  # noqa: S101  # the caller looked
    if reached.days.high <= 0:
        return f"the tolerance of {band.tolerance_ft} ft is reached"
    dates = [_date(at) for at in (reached.earliest_at, reached.likely_at, reached.latest_at)]
    if not _in_sight(band):
        return f"the tolerance of {band.tolerance_ft} ft is not in sight"
    flights = reached.flights
    return (
        f"reaches {band.tolerance_ft} ft about {dates[1]} ({_SHARE}: {dates[0]} to {dates[2]}), "
        f"in {_count(flights.low)} to {_count(flights.high)} flights"
    )


def _date(at: datetime | None) -> str:
    return "never" if at is None else f"{at:%Y-%m-%d}"


def _count(flights: float) -> str:
    return f"{flights:.0f}" if flights < 10_000 else "countless"  # noqa: PLR2004  # for a reader


def _who(suspicion: Suspicion) -> str:
    """Say which altimeter moved, or that it cannot be told."""
    odds = f"altimeter 1 {suspicion.altimeter_1:.0%}, altimeter 2 {suspicion.altimeter_2:.0%}"
    heard = ", ".join(
        f"{each.name} {each.change_ft:+.0f} ft (sd {each.sd_ft:.0f})"
        for each in suspicion.testimonies
    )
    if suspicion.altimeter is not None:
        return f"altimeter {suspicion.altimeter} moved ({odds}); witnesses: {heard}"
    reason = f": {suspicion.reason}" if suspicion.reason else ""
    return f"which altimeter moved cannot be told ({odds}){reason}"


def band_cells(band: BandDrift) -> list[str]:
    """Write one band."""
    state = band.log.state
    standing = "-" if band.course is None else f"{band.course.level_ft:+.0f} ft"
    slope = "-"
    if band.trend is not None:
        half = (band.trend.slope_high - band.trend.slope_low) / 2.0 * _HUNDRED_DAYS
        slope = f"{band.trend.slope * _HUNDRED_DAYS:+.0f} ±{half:.0f}"
    said = "alarm" if state.alarm_at else "none" if state.ready else f"{state.count}/{WARM_UP}"
    return [band.name, str(state.count), standing, slope, f"{band.tolerance_ft} ft", said]


def _evidence(drift: Drift) -> Iterator[Line]:
    """Write from when readings count, and the entries that say so."""
    log = drift.facts.drift
    since = "the log's beginning"
    if log is not None and log.since is not None:
        since = str(local_day(log.since, drift.facts.time_zone))
    refs = ", ".join(str(event.ref) for event in drift.events[-3:])
    yield from wrap(f"readings since {since}" + (f"; last work: {refs}" if refs else ""), 0, 2)


def drift_object(drift: Drift) -> Mapping[str, Any]:
    """Give drift as JSON has it."""
    return {
        "airframe": drift.facts.particulars.registration,
        "at": drift.facts.now,
        "drifting": bool(drift.alarmed),
        "flights": drift.flights,
        "since": None if drift.facts.drift is None else drift.facts.drift.since,
        "sign": "altimeter 1 minus altimeter 2",
        "bands": [_band_object(band) for band in drift.bands],
        "events": [
            {"at": event.at, "logbook": event.ref.logbook, "entry": event.ref.entry}
            for event in drift.events
        ],
        "beyond_tolerance": [
            {"says": each.says, "see": [str(ref) for ref in each.evidence]} for each in drift.beyond
        ],
        "caution": UNSEEN + CAUTION,
    }


def _band_object(band: BandDrift) -> Mapping[str, Any]:
    seen, suspicion, reached = band.shift, band.suspicion, band.reach
    return {
        "band": band.name,
        "lowest_level": band.log.band.lowest_level,
        "mach": None if band.log.band.middle_mach < 0 else band.log.band.middle_mach,
        "flights": band.log.state.count,
        "tolerance_ft": band.tolerance_ft,
        "alarm": None
        if seen is None
        else {
            "at": seen.alarm_at,
            "onset": seen.onset_at,
            "entry": band.log.alarm_entry,
            "shift_ft": seen.size_ft,
            "shift_sd_ft": seen.size_sd_ft,
            "before_ft": seen.before_ft,
            "sigma_ft": seen.sigma_ft,
        },
        "moved": None
        if suspicion is None
        else {
            "altimeter": suspicion.altimeter,
            "probability_1": suspicion.altimeter_1,
            "probability_2": suspicion.altimeter_2,
            "probability_neither": suspicion.neither,
            "reason": suspicion.reason,
        },
        "forecast_ft": None if band.today is None else _span_object(band.today),
        "reaches_tolerance": None
        if reached is None
        else {
            "earliest": reached.earliest_at,
            "likely": reached.likely_at,
            "latest": reached.latest_at,
        },
        "points": [
            {"at": point.at, "difference_ft": point.difference_ft, "readings": point.readings}
            for point in band.log.points
        ],
    }


def _span_object(span: Span) -> Mapping[str, float]:
    return {"low": span.low, "likely": span.likely, "high": span.high}
