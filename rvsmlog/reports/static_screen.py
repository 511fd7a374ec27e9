"""The error common to both altimeters on the screen: the answer, why, the flights."""

from collections.abc import Iterator, Mapping
from typing import Any

from rvsmlog.answers.static_analysis import StaticAnalysis
from rvsmlog.reports.text import Line, escape, table, wrap
from rvsmlog.science.static_error import NOT_HEIGHT_MONITORING, FlightResidual
from rvsmlog.science.static_pool import PooledError
from rvsmlog.science.static_trend import LimitVerdict, PeriodChange
from rvsmlog.verdict import CAUTION

#: How many flights a screen shows.
_SHOWN = 15
_REASONS_SHOWN = 5


def static_lines(found: StaticAnalysis) -> Iterator[Line]:
    """Lay out an estimate of the common error."""
    comparison, pooled = found.comparison, found.pooled
    registration = escape(found.facts.particulars.registration)
    beyond = comparison.verdict is LimitVerdict.BEYOND and not found.kind_doubt
    yield from wrap(f"{registration}  {_headline(found)}", 0, 2, "bold red" if beyond else "bold")
    yield from wrap(
        f"{pooled.mean_ft:+.0f} ft, {pooled.confidence:.0%} interval {pooled.low_ft:+.0f} to "
        f"{pooled.high_ft:+.0f} ft; limit {comparison.limit_ft:.0f} ft either way",
        2,
        4,
    )
    yield from wrap(
        f"{pooled.sign.value}; flights and levels: {pooled.flights}, independent: "
        f"{pooled.independent}; weather: {', '.join(pooled.sources)}",
        2,
        4,
    )
    if pooled.widened:
        yield from wrap("the flights scatter more than their weather explains; widened", 2, 4)
    if comparison.reason and comparison.reason != found.kind_doubt:
        yield from wrap(comparison.reason, 2, 4)
    yield from _kind(found)
    if found.change is not None:
        yield from wrap(_change(found.change, found), 2, 4)
    yield Line("")
    yield from _flights(found)
    for reason, count in found.left_out[:_REASONS_SHOWN]:
        yield from wrap(f"left out: {count}, {reason}", 0, 2)
    yield Line("")
    yield from wrap(f"{NOT_HEIGHT_MONITORING} {CAUTION}", style="italic")


def _headline(found: StaticAnalysis) -> str:
    if found.kind_doubt:
        return "cannot tell: what the GNSS height is above is in doubt"
    says = {
        LimitVerdict.BEYOND: "COMMON ERROR BEYOND THE LIMIT",
        LimitVerdict.WITHIN: "common error within the limit",
        LimitVerdict.CANNOT_TELL: "cannot tell whether the common error is within the limit",
    }
    return says[found.comparison.verdict]


def _kind(found: StaticAnalysis) -> Iterator[Line]:
    """Say what is known of the kind of height."""
    agree, contradict = found.votes.agree, found.votes.contradict
    if contradict:
        yield from wrap(
            f"{found.kind_doubt}: {', '.join(map(str, contradict[-3:]))}; look into the "
            "receiver's manual, and correct what was recorded",
            2,
            4,
        )
    elif found.kind_doubt:
        yield from wrap(f"{found.kind_doubt}; then say --kind-confirmed", 2, 4)
    elif agree:
        yield from wrap(f"kind of GNSS height: {len(agree)} ground check(s) confirm it", 2, 4)


def _change(change: PeriodChange, found: StaticAnalysis) -> str:
    """Say whether the last work changed the error."""
    work = found.disturbance
    since = "" if work is None else f" since the work of {work.day} ({work.ref})"
    said = f": {change.reason}" if change.reason else ""
    return (
        f"{change.verdict.value}{since}{said}: {change.change_ft:+.0f} ft ({change.low_ft:+.0f} to "
        f"{change.high_ft:+.0f}); {change.visible_ft:.0f} ft and more would be seen"
    )


def _flights(found: StaticAnalysis) -> Iterator[Line]:
    """List the newest flights."""
    shown = found.flights[-_SHOWN:]
    yield from table(
        [_row(each) for each in shown],
        ("flight", "level", "error, ft", "sd", "readings", "weather", ""),
        5,
        right={2, 3, 4},
    )
    if len(shown) < len(found.flights):
        yield from wrap(f"the newest {len(shown)} of {len(found.flights)}; all with --json")


def _row(each: FlightResidual) -> list[str]:
    return [
        each.flight,
        f"FL{each.indicated_ft / 100:.0f}",
        f"{each.residual_ft:+.0f}",
        f"{each.sigma_ft:.0f}",
        str(each.samples),
        f"{each.source.value}, {len(each.weather)}",
        "kind?" if each.kind_doubtful else "",
    ]


def static_object(found: StaticAnalysis) -> Mapping[str, Any]:
    """Give an estimate as JSON has it."""
    comparison, change = found.comparison, found.change
    return {
        "airframe": found.facts.particulars.registration,
        "at": found.facts.now,
        "verdict": "cannot tell" if found.kind_doubt else comparison.verdict.value,
        "reason": found.kind_doubt or comparison.reason,
        "limit_ft": comparison.limit_ft,
        **_pooled(found.pooled),
        "height_kind": {
            "verdict": found.pooled.kind.value,
            "doubt": found.kind_doubt,
            "ground_checks_agree": [str(ref) for ref in found.votes.agree],
            "ground_checks_contradict": [str(ref) for ref in found.votes.contradict],
        },
        "since": None if found.disturbance is None else found.disturbance.day,
        "change": None
        if change is None
        else {
            "verdict": change.verdict.value,
            "reason": change.reason,
            "change_ft": change.change_ft,
            "low_ft": change.low_ft,
            "high_ft": change.high_ft,
            "visible_ft": change.visible_ft,
            "before": _pooled(change.before),
        },
        "each": [_flight(one) for one in found.flights],
        "left_out": dict(found.left_out),
        "evidence": [str(ref) for ref in found.evidence],
        "caution": f"{NOT_HEIGHT_MONITORING} {CAUTION}",
    }


def _pooled(pooled: PooledError) -> Mapping[str, Any]:
    return {
        "error_ft": pooled.mean_ft,
        "sigma_ft": pooled.sigma_ft,
        "low_ft": pooled.low_ft,
        "high_ft": pooled.high_ft,
        "confidence": pooled.confidence,
        "flights": pooled.flights,
        "independent": pooled.independent,
        "spread_ratio": pooled.spread_ratio,
        "widened": pooled.widened,
        "weather": [source.value for source in pooled.sources],
        "sign": pooled.sign.value,
    }


def _flight(one: FlightResidual) -> Mapping[str, Any]:
    return {
        "flight": one.flight,
        "at": one.at,
        "indicated_ft": one.indicated_ft,
        "error_ft": one.residual_ft,
        "sigma_ft": one.sigma_ft,
        "readings": one.samples,
        "undulation_ft": one.undulation_ft,
        "height_kind": one.height_kind.value,
        "kind_doubtful": one.kind_doubtful,
        "weather": one.source.value,
        "profiles": list(one.weather),
    }
