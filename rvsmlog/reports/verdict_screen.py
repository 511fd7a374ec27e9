"""A verdict on the screen: the answer, why, what to do, the evidence, the caution."""

from collections.abc import Iterator
from zoneinfo import ZoneInfo

from rvsmlog.dates import show_instant
from rvsmlog.findings import NO_FLIGHT, Finding, Outcome
from rvsmlog.reports.text import Line, wrap
from rvsmlog.standards.sources import source
from rvsmlog.store.writing.checks import Checked
from rvsmlog.units import show_level
from rvsmlog.verdict import CAUTION, Answer, Verdict

# Colour only where something is wrong, and none that is faint on a light or a dark ground.
_STYLE = {
    Outcome.MET: "",
    Outcome.NOT_MET: "bold red",
    Outcome.NOT_ON_RECORD: "bold magenta",
    Outcome.NOT_APPLICABLE: "",
    Outcome.ADVICE: "",
}
_WHEN = {
    "before-take-off": "Before take-off",
    "before-entry": "Before entering RVSM airspace",
    "in-level": "On reaching the level",
    "each-hour": "Each hour",
    "leaving": "Leaving RVSM airspace",
    "after-flight": "After the flight",
}
#: What a limit that is met is called; a rule's name is that of a fault.
_LIMITS = {
    "level-above-certificated": "highest certificated level",
    "tested-too-low": "altitude to which the altimeters are tested",
    "deferral-caps-level": "a deferral's limitation",
}
_FAULTS = (Outcome.NOT_MET, Outcome.NOT_ON_RECORD)


def verdict_lines(made: Checked, *, sources: bool = False) -> Iterator[Line]:
    """Lay out one check.

    Parameters
    ----------
    made : Checked
        The check.
    sources : bool
        Whether to write out the published source of each fault.
    """
    verdict = made.verdict
    yield from _answer(made)
    faults = [finding for finding in verdict.findings if finding.outcome in _FAULTS]
    if faults:
        yield Line("")
        yield Line("Why", "bold")
        for finding in sorted(faults, key=_weight):
            yield from _fault(finding, sources=sources)
    yield from _group("Advice", verdict, Outcome.ADVICE)
    yield from _to_do(verdict)
    yield from _plan(verdict)
    yield from _group("Met", verdict, Outcome.MET)
    yield from _group("Does not apply", verdict, Outcome.NOT_APPLICABLE)
    yield from _evidence(made)
    yield Line("")
    # Once more, for the first lines have left a small screen by now.
    yield _headline(verdict)
    yield from wrap(CAUTION, style="italic")


def level_text(level: int | None) -> str:
    """Write a highest level: a flight level, or that there is none."""
    return "no flight" if level is None or level <= NO_FLIGHT else show_level(level)


def headline(verdict: Verdict) -> str:
    """Give the answer in one line."""
    planned, highest = verdict.planned_level, verdict.highest_level
    if verdict.answer is Answer.GO:
        if planned is None:
            return f"Highest level that may be filed: {level_text(highest)}"
        return f"GO at {show_level(planned)}"
    if highest is None:
        return "NO-GO: the flight may not go"
    assert planned is not None  # noqa: S101  # a level remains, so NO-GO is about the planned one
    return f"NO-GO at {show_level(planned)}: highest level {show_level(highest)}"


def _answer(made: Checked) -> Iterator[Line]:
    """Lead with the answer, then what was asked."""
    verdict, facts = made.verdict, made.facts
    yield _headline(verdict)
    asked = f"for {show_instant(verdict.at)}"
    if facts.time_zone != "UTC":
        local = verdict.at.astimezone(ZoneInfo(facts.time_zone))
        asked += f" ({local:%d %b %H:%M} {facts.time_zone})"
    if facts.region:
        asked += f", region {facts.region}"
    if facts.question.flight.route:
        asked += f", route {facts.question.flight.route}"
    yield from wrap(asked, 2, 2)
    if made.ahead_to is not None:
        yield from wrap(
            f"looking ahead to {made.ahead_to}: as on record now, with nothing more recorded", 2, 2
        )
    yield from wrap("set by: " + ", ".join(set_by(verdict)), 2, 10)
    yield from _oxygen(verdict)


def _oxygen(verdict: Verdict) -> Iterator[Line]:
    """Say at the top how the oxygen stands where it is counted and enough."""
    for finding in verdict.findings:
        counted = finding.rule == "oxygen-too-little" and "needed_litres" in finding.values
        if counted and finding.outcome is Outcome.MET:
            yield from wrap(f"oxygen: {finding.says}, margin {finding.margin}", 2, 10)


def _headline(verdict: Verdict) -> Line:
    """Write the airframe and the answer."""
    style = "bold" if verdict.answer is Answer.GO else "bold red"
    return Line(f"{verdict.airframe}  {headline(verdict)}", style)


def set_by(verdict: Verdict) -> list[str]:
    """Name what sets the highest level: the faults, or the limit that is met."""
    faults = [finding for finding in verdict.limiting if finding.outcome in _FAULTS]
    if faults:
        return list(dict.fromkeys(finding.rule for finding in faults))
    return list(dict.fromkeys(_LIMITS.get(each.rule, each.rule) for each in verdict.limiting))


def _weight(finding: Finding) -> tuple[int, str]:
    """Order faults: those that cost most first."""
    level = finding.highest_level
    return (10_000 if level is None else level, finding.rule)


def _fault(finding: Finding, *, sources: bool) -> Iterator[Line]:
    """Write what is wrong, what it costs, what puts it right, and on what it rests."""
    level = finding.highest_level
    cost = "" if level is None else f" -> {level_text(level)}"
    mark = "x" if finding.outcome is Outcome.NOT_MET else "?"
    name = f"  {mark} {finding.rule}: {finding.outcome.said}{cost}"
    yield Line(name, _STYLE[finding.outcome])
    yield from wrap(finding.says, 4, 4)
    if finding.remedy:
        yield from wrap("do: " + finding.remedy, 4, 8)
    if finding.evidence:
        yield from wrap("see: " + ", ".join(str(ref) for ref in finding.evidence[:6]), 4, 9)
    if sources:
        for key in finding.sources:
            yield from wrap(f"source: {source(key)}", 4, 12)


def _group(title: str, verdict: Verdict, outcome: Outcome) -> Iterator[Line]:
    """Write the findings of one outcome, one line each."""
    findings = [finding for finding in verdict.findings if finding.outcome is outcome]
    if not findings:
        return
    yield Line("")
    yield Line(title, "bold")
    mark = {Outcome.MET: "+", Outcome.ADVICE: "!", Outcome.NOT_APPLICABLE: "-"}[outcome]
    for finding in findings:
        margin = f" (margin {finding.margin})" if finding.margin is not None else ""
        yield from wrap(f"{mark} {finding.rule}: {finding.says}{margin}", 2, 4, _STYLE[outcome])
        if outcome is Outcome.ADVICE and finding.remedy:
            yield from wrap("do: " + finding.remedy, 4, 8)


def _to_do(verdict: Verdict) -> Iterator[Line]:
    """Write the checks still to make."""
    before = ""
    for item in verdict.to_do:
        if item.when != before:
            if not before:
                yield Line("")
                yield Line("Still to do", "bold")
            yield Line(f"  {_WHEN[item.when]}")
            before = item.when
        yield from wrap(f"[ ] {item.do}", 4, 8)


def _plan(verdict: Verdict) -> Iterator[Line]:
    """Write what the flight plan should say."""
    plan = verdict.flight_plan
    yield Line("")
    yield Line("Flight plan", "bold")
    letter = "file the letter W" if plan.item_10a_w else "leave the letter W out"
    yield from wrap(f"item 10a: {letter}", 2, 12)
    if plan.item_18:
        yield from wrap("item 18: " + " ".join(plan.item_18), 2, 11)
    for sentence in plan.says:
        yield from wrap(sentence, 2, 2)


def _evidence(made: Checked) -> Iterator[Line]:
    """Write the seals, and where the check is kept."""
    yield Line("")
    yield Line("Evidence", "bold")
    if made.entry is not None:
        yield Line(f"  this check is {made.entry}")
    elif made.repeats is not None:
        yield Line(f"  repeats the check {made.repeats}")
    else:
        yield Line("  this check is not recorded")
    if made.not_kept is not None:
        yield from wrap(f"not kept: {made.not_kept}", 4, 6, "bold magenta")
    for seal in made.verdict.seals:
        yield from wrap(f"seal {seal.logbook}#{seal.entry} {seal.digest[:32]}", 2, 4)
    yield from wrap(f"rules: {made.verdict.rulebook}", 2, 2)
    yield from wrap(
        f"one entry in full: `rvsmlog airframe show {made.verdict.airframe} ENTRY`", 2, 4
    )
