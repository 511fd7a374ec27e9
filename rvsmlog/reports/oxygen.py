"""Oxygen and cabin of one flight: on the screen and as JSON."""

import math
from collections.abc import Iterator, Mapping
from typing import Any

from rvsmlog.answers.oxygen_view import CabinView, OxygenView, SystemView
from rvsmlog.dates import show_instant
from rvsmlog.reports.text import Line, table, wrap
from rvsmlog.reports.verdict_screen import level_text
from rvsmlog.science.oxygen import CaseNeed, OxygenSupply, shown_minutes
from rvsmlog.science.oxygen_shown import cut, tenths_up, whole_litres
from rvsmlog.standards.oxygen_figures import USEFUL_CONSCIOUSNESS
from rvsmlog.store.writing.checks import Checked
from rvsmlog.units import show_level
from rvsmlog.verdict import CAUTION


def oxygen_lines(made: Checked, view: OxygenView) -> Iterator[Line]:
    """Lay out oxygen and cabin of one flight.

    Parameters
    ----------
    made : Checked
        The check from which the flight was taken.
    view : OxygenView
        Its oxygen and cabin.
    """
    marks, flight = made.verdict.airframe, view.flight
    told = "no oxygen reading on record"
    if view.highest_level is not None:
        told = f"enough for {level_text(view.highest_level)}"
    asked = f"oxygen for {show_level(view.level)} with {flight.people}"
    yield Line(f"{marks}  {asked}: {told}", "bold")
    route = made.facts.question.flight.route
    yield from wrap(f"for {show_instant(made.verdict.at)}{f', route {route}' if route else ''}", 2)
    for system in view.systems:
        yield from _on_board(system)
    for group in view.flight.unserved:
        yield Line("")
        yield from wrap(
            f"No oxygen system for the {group} is on record: they are not counted.",
            style="bold magenta",
        )
    yield from _needed(view)
    for system in view.systems:
        yield from _lasts(system)
    if view.cabin is not None:
        yield from _cabin(view.level, view.cabin)
    yield from _consciousness(view)
    yield from _assumed(view)
    yield Line("")
    yield from wrap(CAUTION, style="italic")


def _on_board(system: SystemView) -> Iterator[Line]:
    """Write what one system holds, and what its gauge should read."""
    drawn = system.drawn
    yield Line("")
    yield Line(f"On board ({drawn.system.installation.name})", "bold")
    supply, reading = drawn.supply, drawn.system.reading
    if supply is None or reading is None:
        yield from wrap("no reading of the gauge on record", 2, 2)
        return
    record, usable = reading.record, cut(supply.usable_litres)
    yield from wrap(
        f"{record.gauge_psi:g} psi at {record.cylinder_c:g} C: {usable} l usable "
        f"at {drawn.in_use_c:.0f} C in flight, {supply.full_percent:.0f} % of a full cylinder",
        2,
        4,
    )
    if supply.crew_reserve_litres:
        yield from wrap(f"{supply.crew_reserve_litres:g} l are kept back for the crew", 2, 4)
    needed = system.gauge_needed_psi
    told = "not to be told, or more than full" if needed is None else f"{needed} psi"
    yield from wrap(f"needed on the gauge at that temperature: {told}", 2, 4)


def _needed(view: OxygenView) -> Iterator[Line]:
    """Write the need of each case, phase by phase."""
    yield Line("")
    yield Line("Needed, litres NTPD", "bold")
    if view.need is None:
        yield from wrap(f"not known: {view.problem}", 2, 4)
        return
    rows, styles = [], []
    for case in view.need.cases:
        rows.append(_case_row(view, case))
        styles.append("bold" if _left(view, case)[:1] == "-" else "")
        for phase in case.phases:
            if not phase.litres:
                continue
            rows.append(
                [
                    f"  {phase.phase}",
                    f"{phase.minutes:.1f}",
                    f"{tenths_up(phase.crew_litres):.1f}",
                    f"{tenths_up(phase.passenger_litres):.1f}",
                    "",
                ]
            )
            styles.append("")
    heads = ("case", "minutes", "crew", "passengers", "left over")
    yield from table(rows, heads, 0, right=(1, 2, 3, 4), styles=styles)
    if view.need.may_be_too_low:
        yield from wrap(
            "the flow of a continuous mask is only the least that certification asks: equipment "
            "may take more",
            2,
            4,
            "bold magenta",
        )


def _case_row(view: OxygenView, case: CaseNeed) -> list[str]:
    """Give a case as a row of the table."""
    return [
        case.name.value,
        "",
        f"{tenths_up(case.crew_litres):.1f}",
        f"{tenths_up(case.passenger_litres):.1f}",
        _left(view, case),
    ]


def _left(view: OxygenView, case: CaseNeed) -> str:
    """Give the litres left over from a case, the least of all systems."""
    supplies = _supplies(view)
    return f"{min(whole_litres(each, case).left for each in supplies):+d}" if supplies else "-"


def _supplies(view: OxygenView) -> tuple[OxygenSupply, ...]:
    return view.flight.supplies


def _lasts(system: SystemView) -> Iterator[Line]:
    """Write how long what is on board lasts."""
    if not system.lasts:
        return
    yield Line("")
    yield Line(f"Lasts ({system.drawn.system.installation.name})", "bold")
    for endurance in system.lasts:
        minutes = shown_minutes(endurance.minutes)
        shown = f"{minutes:.1f} min" if math.isfinite(minutes) else "not used"
        yield from wrap(f"{shown}: {endurance.what}", 2, 4)


def _cabin(level: int, cabin: CabinView) -> Iterator[Line]:
    """Write the cabin altitude and its margins."""
    yield Line("")
    yield Line("Cabin", "bold")
    yield from wrap(
        f"{math.ceil(cabin.cabin_ft):,} ft at {show_level(level)} with "
        f"{cabin.differential.psi:g} psi ({cabin.differential.ground})",
        2,
        4,
    )
    rows = [
        [
            f"{margin.limit_ft:,} ft",
            f"{math.floor(margin.margin_ft):+,d} ft",
            f"{margin.differential_psi:.2f} psi",
            "above all" if margin.highest_level is None else show_level(margin.highest_level),
            margin.why,
        ]
        for margin in cabin.margins
    ]
    heads = ("cabin", "margin", "wants", "holds up to", "meaning")
    yield from table(rows, heads, right=(0, 1, 2))


def _consciousness(view: OxygenView) -> Iterator[Line]:
    """Write the useful consciousness with its caution."""
    margin = view.consciousness
    yield Line("")
    yield Line("Useful consciousness", "bold")
    if margin is None:
        yield from wrap("the time to don the pilot's mask is not on record", 2, 4)
        return
    yield from wrap(
        f"{margin.useful_s:.0f} s at {show_level(view.level)} after a rapid decompression; "
        f"{margin.recognition_s:.0f} s to notice and {margin.donning_s:.0f} s to don the mask "
        f"leave {margin.left_s:.0f} s",
        2,
        4,
    )
    yield from wrap(f"shorter for some: {USEFUL_CONSCIOUSNESS.note}", 2, 4)


def _assumed(view: OxygenView) -> Iterator[Line]:
    """Write what was assumed, of the flight and by the sciences."""
    yield Line("")
    yield Line("Assumed", "bold")
    for each in view.flight.assumed:
        yield from wrap(f"- {each.says}", 2, 4)
    for text in dict.fromkeys(_science(view)):
        yield from wrap(f"- {text}", 2, 4)


def _science(view: OxygenView) -> Iterator[str]:
    """Give the assumptions of need and supply."""
    if view.need is not None:
        yield from view.need.assumptions
    for supply in _supplies(view):
        yield from supply.assumptions


def oxygen_object(made: Checked, view: OxygenView) -> Mapping[str, Any]:
    """Give oxygen and cabin of one flight as JSON has them."""
    need = view.need
    return {
        "airframe": made.verdict.airframe,
        "at": made.verdict.at,
        "level": view.level,
        "highest_level": view.highest_level or None,
        "crew": view.flight.case.crew,
        "passengers": view.flight.case.passengers,
        "unserved": [group.value for group in view.flight.unserved],
        "systems": [_system_object(system) for system in view.systems],
        "cases": [] if need is None else [_case_object(view, case) for case in need.cases],
        "problem": view.problem,
        "may_be_too_low": need is not None and need.may_be_too_low,
        "cabin": None if view.cabin is None else _cabin_object(view.cabin),
        "useful_consciousness": _consciousness_object(view),
        "assumed": [each.says for each in view.flight.assumed] + list(_science(view)),
        "sources": [] if need is None else [source.key for source in need.sources],
        "caution": CAUTION,
    }


def _system_object(system: SystemView) -> Mapping[str, Any]:
    drawn, supply = system.drawn, system.drawn.supply
    reading = drawn.system.reading
    return {
        "system": drawn.system.installation.name,
        "serves": [group.value for group in drawn.groups],
        "gauge_psi": None if reading is None else reading.record.gauge_psi,
        "cylinder_c": None if reading is None else reading.record.cylinder_c,
        "in_use_c": drawn.in_use_c,
        "usable_litres": None if supply is None else supply.usable_litres,
        "full_percent": None if supply is None else supply.full_percent,
        "gauge_needed_psi": system.gauge_needed_psi,
        "lasts": [
            {
                "case": each.case.value,
                "minutes": each.minutes if math.isfinite(each.minutes) else None,
                "what": each.what,
            }
            for each in system.lasts
        ],
    }


def _case_object(view: OxygenView, case: CaseNeed) -> Mapping[str, Any]:
    supplies = _supplies(view)
    return {
        "case": case.name.value,
        "crew_litres": case.crew_litres,
        "passenger_litres": case.passenger_litres,
        "margin_litres": min(s.margin_litres(case) for s in supplies) if supplies else None,
        "phases": [
            {
                "phase": phase.phase,
                "minutes": phase.minutes,
                "from_ft": phase.from_ft,
                "to_ft": phase.to_ft,
                "crew_litres": phase.crew_litres,
                "passenger_litres": phase.passenger_litres,
            }
            for phase in case.phases
        ],
    }


def _cabin_object(cabin: CabinView) -> Mapping[str, Any]:
    return {
        "cabin_ft": cabin.cabin_ft,
        "differential_psi": cabin.differential.psi,
        "ground": cabin.differential.ground,
        "margins": [
            {
                "limit_ft": margin.limit_ft,
                "why": margin.why,
                "margin_ft": margin.margin_ft,
                "differential_psi": margin.differential_psi,
                "highest_level": margin.highest_level,
            }
            for margin in cabin.margins
        ],
    }


def _consciousness_object(view: OxygenView) -> Mapping[str, Any] | None:
    margin = view.consciousness
    if margin is None:
        return None
    return {
        "useful_s": margin.useful_s,
        "recognition_s": margin.recognition_s,
        "donning_s": margin.donning_s,
        "left_s": margin.left_s,
    }
