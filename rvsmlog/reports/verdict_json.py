"""A verdict as one JSON object."""

from collections.abc import Mapping
from typing import Any

from rvsmlog.findings import Finding
from rvsmlog.store.writing.checks import Checked
from rvsmlog.verdict import CAUTION


def verdict_object(made: Checked) -> Mapping[str, Any]:
    """Give a check as JSON has it.

    Returns
    -------
    mapping
        ``highest_level`` is null when the flight may not go; a finding's ``highest_level`` is
        null when it sets no limit and 0 when the flight may not go because of it.
    """
    verdict = made.verdict
    plan = verdict.flight_plan
    return {
        "airframe": verdict.airframe,
        "at": verdict.at,
        "planned_level": verdict.planned_level,
        "highest_level": verdict.highest_level,
        "verdict": verdict.answer.value,
        "findings": [_finding(finding) for finding in verdict.findings],
        "to_do": [
            {"when": item.when, "do": item.do, "limits": dict(item.limits), "sources": item.sources}
            for item in verdict.to_do
        ],
        "flight_plan": {
            "item_10a_w": plan.item_10a_w,
            "item_18": plan.item_18,
            "says": plan.says,
            "sources": plan.sources,
        },
        "seal": [
            {"logbook": seal.logbook, "entry": seal.entry, "digest": seal.digest}
            for seal in verdict.seals
        ],
        "rulebook": verdict.rulebook,
        "entry": None if made.entry is None else made.entry.entry,
        "repeats": None if made.repeats is None else made.repeats.entry,
        "ahead_to": made.ahead_to,
        "not_kept": made.not_kept,
        "caution": CAUTION,
    }


def _finding(finding: Finding) -> Mapping[str, Any]:
    """Give one finding."""
    margin = finding.margin
    return {
        "rule": finding.rule,
        "outcome": finding.outcome.value,
        "highest_level": finding.highest_level,
        "says": finding.says,
        "values": dict(finding.values),
        "limits": dict(finding.limits),
        "margin": None if margin is None else {"value": margin.value, "unit": margin.unit},
        "evidence": [{"logbook": ref.logbook, "entry": ref.entry} for ref in finding.evidence],
        "sources": finding.sources,
        "remedy": finding.remedy,
    }
