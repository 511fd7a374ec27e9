"""The day on which a drift of the altimeters is forecast to reach their tolerance."""

from collections.abc import Iterator
from datetime import date, timedelta

from rvsmlog.facts import Facts
from rvsmlog.findings import Outcome
from rvsmlog.records.base import Ref
from rvsmlog.rules.drift import BEFORE_BEYOND, altimeters_drifting, band_name, bands_beyond
from rvsmlog.rules.term import Term, last_minute, on_day
from rvsmlog.science.drift_log import BandLog

#: How far ahead a forecast is looked for.
AHEAD_DAYS = 3653
_DAY = timedelta(days=1)


def drift_terms(facts: Facts) -> Iterator[Term]:
    """Give the last day on which the altimeters are forecast to agree within their tolerance.

    The course of a drift is a straight line: once it is beyond the tolerance it stays there.
    """
    if any(_beyond(facts, 0)) or not any(_beyond(facts, AHEAD_DAYS)):
        return
    good, bad = 0, AHEAD_DAYS
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (good, middle) if any(_beyond(facts, middle)) else (middle, bad)
    bands = tuple(_beyond(facts, bad))
    where = " and ".join(band_name(each.band) for each in bands)
    yield Term(
        rule=altimeters_drifting.name,
        subject="forecast",
        what=f"trend of the altimeters' difference at {where} within tolerance, by forecast",
        last_day=facts.today + good * _DAY,
        evidence=_evidence(facts, bands, facts.today + bad * _DAY),
        remedy=BEFORE_BEYOND,
    )


def _beyond(facts: Facts, ahead: int) -> Iterator[BandLog]:
    """Give the bands whose forecast for so many days ahead is beyond the tolerance."""
    day = facts.today + ahead * _DAY
    return bands_beyond(facts, last_minute(day, facts.time_zone) if ahead else facts.now)


def _evidence(facts: Facts, bands: tuple[BandLog, ...], day: date) -> tuple[Ref, ...]:
    """Give the entry on which the forecast for a day rests: of several bands, the worst one's."""
    if len(bands) == 1:
        return (Ref(logbook=facts.airframe.ref.logbook, entry=bands[0].last_entry),)
    found = altimeters_drifting.findings(on_day(facts, day))
    return next(
        each.evidence
        for each in found
        if each.outcome is Outcome.NOT_MET and "forecast_ft" in each.values
    )
