"""The day on which a drift of the altimeters is forecast to reach their tolerance."""

from collections.abc import Iterator
from datetime import date, timedelta

from rvsmlog.facts import Facts
from rvsmlog.findings import Finding, Outcome
from rvsmlog.rules.drift import altimeters_drifting
from rvsmlog.rules.term import Term, on_day

#: How far ahead a forecast is looked for.
AHEAD_DAYS = 3653
_DAY = timedelta(days=1)


def drift_terms(facts: Facts) -> Iterator[Term]:
    """Give the last day on which the altimeters are forecast to agree within their tolerance.

    The course of a drift is a straight line: once it is beyond the tolerance it stays there.
    """
    if _beyond(facts, facts.today) is not None:
        return
    found = _beyond(facts, facts.today + AHEAD_DAYS * _DAY)
    if found is None:
        return
    good, bad = 0, AHEAD_DAYS
    while bad - good > 1:
        middle = (good + bad) // 2
        beyond = _beyond(facts, facts.today + middle * _DAY)
        good, bad, found = (good, middle, beyond) if beyond else (middle, bad, found)
    yield Term(
        rule=altimeters_drifting.name,
        subject="forecast",
        what="altimeters within tolerance, by forecast of their drift",
        last_day=facts.today + good * _DAY,
        evidence=found.evidence,
        remedy=found.remedy,
    )


def _beyond(facts: Facts, day: date) -> Finding | None:
    """Give the finding that the forecast for a day is beyond the tolerance, None when not."""
    for finding in altimeters_drifting.findings(on_day(facts, day)):
        if finding.outcome is Outcome.NOT_MET and "forecast_ft" in finding.values:
            return finding
    return None
