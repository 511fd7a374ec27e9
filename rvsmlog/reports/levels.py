"""Cruising levels of a track: on the screen and as JSON."""

from collections.abc import Iterator, Mapping
from typing import Any

from rvsmlog.answers.level_choice import LevelChoice, LevelView, item_15, tracks_of_other_half
from rvsmlog.dates import show_instant
from rvsmlog.reports.text import Line, wrap
from rvsmlog.store.writing.checks import Checked
from rvsmlog.units import show_level
from rvsmlog.verdict import CAUTION


def level_lines(made: Checked, choice: LevelChoice) -> Iterator[Line]:
    """Lay out the levels of a track.

    Parameters
    ----------
    made : Checked
        The check from which the flight was taken.
    choice : LevelChoice
        Its levels.
    """
    facts, best = made.facts, choice.best
    told = "no level of this track may be filed" if best is None else f"file {show_level(best)}"
    style = "bold red" if best is None else "bold"
    yield Line(f"{made.verdict.airframe}  track {choice.track:03.0f}: {told}", style)
    region = f", region {facts.region}" if facts.region else ""
    yield from wrap(f"for {show_instant(facts.now)}{region}", 2, 4)
    assumed = " (the authority's own; --split says another)" if choice.split_assumed else ""
    yield from wrap(f"odd levels for tracks {choice.split}{assumed}", 2, 4)
    yield Line("")
    yield Line("May be filed, best first", "bold")
    usable = ", ".join(show_level(each.level) for each in choice.usable)
    yield from wrap(usable or "none", 2, 2)
    yield from _excluded(choice)
    yield from _other_half(choice)
    yield from _plan(choice)
    yield Line("")
    yield from wrap(
        "RVSM airspace is taken from FL290 to FL410; air traffic control may assign other levels. "
        "This look is not recorded: ask `rvsmlog gonogo` for the level that is filed. " + CAUTION,
        style="italic",
    )


def _excluded(choice: LevelChoice) -> Iterator[Line]:
    """Write the levels of the track that may not be filed, alike ones together."""
    if not choice.excluded:
        return
    yield Line("")
    yield Line("Excluded", "bold")
    by_rules: dict[tuple[str, ...], list[LevelView]] = {}
    for view in choice.excluded:
        rules = tuple(dict.fromkeys(finding.rule for finding in view.excluded_by))
        by_rules.setdefault(rules, []).append(view)
    for rules, views in by_rules.items():
        levels = ", ".join(show_level(view.level) for view in views)
        yield from wrap(f"{levels}: {', '.join(rules)}", 2, 4)
        for rule in rules:
            # Of the lowest of them: its finding says most about what is near.
            finding = next(each for each in views[-1].excluded_by if each.rule == rule)
            yield from wrap(f"{rule}: {finding.says}", 4, 6)


def _other_half(choice: LevelChoice) -> Iterator[Line]:
    """Write the levels of the other half circle in one line."""
    yield Line("")
    tracks = tracks_of_other_half(choice.track, choice.split)
    yield Line(f"For tracks {tracks}, not for this one", "bold")
    yield from wrap(", ".join(show_level(each.level) for each in choice.other_half), 2, 2)


def _plan(choice: LevelChoice) -> Iterator[Line]:
    """Write what the flight plan should say at the best level."""
    plan, best = choice.verdict.flight_plan, choice.best
    yield Line("")
    yield Line("Flight plan", "bold")
    letter = "file the letter W" if plan.item_10a_w else "leave the letter W out"
    yield from wrap(f"item 10a: {letter}", 2, 12)
    if best is not None:
        yield from wrap(f"item 15: {item_15(best)}", 2, 11)
    if plan.item_18:
        yield from wrap("item 18: " + " ".join(plan.item_18), 2, 11)
    for sentence in plan.says:
        yield from wrap(sentence, 2, 2)


def level_object(made: Checked, choice: LevelChoice) -> Mapping[str, Any]:
    """Give the levels of a track as JSON has them."""
    plan, best = choice.verdict.flight_plan, choice.best
    return {
        "airframe": made.verdict.airframe,
        "at": made.verdict.at,
        "region": made.facts.region,
        "track": choice.track,
        "split": choice.split,
        "split_assumed": choice.split_assumed,
        "best": best,
        "levels": [
            {
                "level": view.level,
                "usable": view.usable,
                "other_half": view.other_half,
                "excluded_by": [
                    {
                        "rule": finding.rule,
                        "outcome": finding.outcome.value,
                        "highest_level": finding.highest_level,
                        "says": finding.says,
                    }
                    for finding in view.excluded_by
                ],
            }
            for view in choice.levels
        ],
        "flight_plan": {
            "item_10a_w": plan.item_10a_w,
            "item_15": None if best is None else item_15(best),
            "item_18": plan.item_18,
            "says": plan.says,
            "sources": plan.sources,
        },
        "caution": CAUTION,
    }
