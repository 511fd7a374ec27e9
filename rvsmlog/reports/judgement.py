"""The readings of a test, judged: on the screen and as JSON."""

from collections.abc import Iterator, Mapping
from typing import Any

from rvsmlog.reports.text import Line, table, wrap
from rvsmlog.rules.judged_readings import Judgement, OwnLimit
from rvsmlog.science.bench_judgement import RVSM_CAUTION, Item, Judged
from rvsmlog.verdict import CAUTION

#: Heads of the table of readings.
READING_HEADS = ("measured", "point", "error", "limit", "left", "own", "left", "result")
#: Its columns of numbers.
READING_NUMBERS = range(2, 7)


def judgement_lines(found: Judgement) -> Iterator[Line]:
    """Lay out the readings with tolerance, margin, and pass or fail in words."""
    if found.readings is None:
        yield from wrap(
            "no readings on record; enter them with `rvsmlog test readings` or, from a file, "
            "`rvsmlog test import-points`"
        )
        return
    for line in results(found):
        yield from wrap(line, 0, 2, "bold")
    yield Line("")
    yield Line("Readings against 14 CFR Part 43 Appendix E and the own RVSM limit, feet", "bold")
    rows = reading_cells(found)
    styles = ["" if row[-1] == "within" else "bold red" for row in rows]
    yield from table(rows, READING_HEADS, right=READING_NUMBERS, styles=styles)
    yield from _steps(found)
    yield Line("")
    if any(each.item is Item.SCALE for each in found.points):
        yield from wrap(RVSM_CAUTION)
    yield from wrap(CAUTION, style="italic")


def reading_cells(found: Judgement) -> list[list[str]]:
    """Write each reading with its limits and margins; the last cell says how it stands."""
    own = {each.altitude_ft: each for each in found.own}
    return [_cells(each, _own_of(each, own)) for each in found.points]


def _own_of(judged: Judged, own: Mapping[int, OwnLimit]) -> OwnLimit | None:
    """Give the airframe's own limit at a point of the scale."""
    if judged.item is not Item.SCALE or judged.point is None:
        return None
    return own.get(int(judged.point))


def _cells(judged: Judged, own: OwnLimit | None) -> list[str]:
    """Write one reading."""
    return [
        str(judged.item),
        judged.where or "-",
        f"{judged.error_ft:+.0f}",
        f"{judged.tolerance_ft:.0f}",
        f"{judged.margin_ft:+.0f}",
        "" if own is None else f"{own.limit_ft}",
        "" if own is None else f"{own.margin_ft:+d}",
        _word(judged, own),
    ]


def _word(judged: Judged, own: OwnLimit | None) -> str:
    """Say pass or fail."""
    if not judged.within:
        return "BEYOND" if judged.binding else "the maker's"
    return "within" if own is None or own.margin_ft >= 0 else "BEYOND OWN"


def _steps(found: Judgement) -> Iterator[Line]:
    """Write order, times and rates, and what is not on record."""
    if found.steps:
        yield Line("")
        yield Line("Order and times, as far as recorded", "bold")
    for said in steps_said(found):
        yield from wrap(said, 2, 4)
    if found.missing:
        yield Line("")
        yield Line("Asked for by Appendix E, not on record", "bold")
    for missing in found.missing:
        yield from wrap(missing, 2, 4)


def steps_said(found: Judgement) -> Iterator[str]:
    """Say where a test departs from the order, times and rates of Appendix E, and where not."""
    for step in found.steps:
        if not step.kept:
            yield f"DEPARTS: {step.item}: {step.says}"
    kept = sum(step.kept for step in found.steps)
    if kept:
        yield f"as Appendix E wants: {kept} of {len(found.steps)}"


def results(found: Judgement) -> Iterator[str]:
    """Say in a sentence each how the readings stand."""
    if found.beyond:
        worst = found.beyond[0]
        more = f", and {len(found.beyond) - 1} more" if len(found.beyond) > 1 else ""
        claim = "; the test is recorded as passed" if found.test.record.passed else ""
        yield f"Appendix E: NOT passed: {worst}{more}{claim}."
    else:
        also = "; not all that it asks for is on record" if found.missing else ""
        count = len(found.points)
        which = "the one reading" if count == 1 else f"each of {count} readings"
        if any(not each.within for each in found.points):
            yield "Appendix E: passed by each reading that it binds; others are the maker's."
        else:
            yield f"Appendix E: {which} is within its tolerance{also}."
    if any(each.item is Item.SCALE for each in found.points):
        yield _own_result(found)
        if _names_no_altimeter(found):
            yield (
                "The test names neither position 1 or 2 nor a unit's serial number: these readings "
                "count for no altimeter's own limit. Record the test once for each altimeter."
            )


def _names_no_altimeter(found: Judgement) -> bool:
    """Whether a test leaves open which altimeter its scale readings are of."""
    test = found.test.record
    return found.has_own_limit and test.position == "all" and test.unit_serial is None


def _own_result(found: Judgement) -> str:
    """Say how the scale error stands against the airframe's own RVSM limit."""
    if not found.has_own_limit:
        return "Own RVSM limit of scale error: not on record (`rvsmlog airframe add`)."
    if not found.own:
        return "Own RVSM limit of scale error: no reading at RVSM levels on record."
    if found.beyond_own:
        worst = found.beyond_own[0]
        return (
            f"Own RVSM limit: NOT kept: {worst.error_ft:+d} ft at {worst.altitude_ft:,} ft, limit "
            f"{worst.limit_ft} ft. Not fit for RVSM airspace."
        )
    tightest = min(found.own, key=lambda each: each.margin_ft)
    return (
        f"Own RVSM limit: kept, {tightest.margin_ft} ft left at {tightest.altitude_ft:,} ft (limit "
        f"{tightest.limit_ft} ft)."
    )


def judgement_object(found: Judgement) -> Mapping[str, Any]:
    """Give the readings of a test, judged, as JSON has them."""
    own = {each.altitude_ft: each for each in found.own}
    return {
        "test": found.test.ref.entry,
        "readings": None if found.readings is None else found.readings.ref.entry,
        "points": [_point_object(each, _own_of(each, own)) for each in found.points],
        "steps": [
            {"item": step.item.value, "says": step.says, "kept": step.kept} for step in found.steps
        ],
        "missing": list(found.missing),
        "within_appendix_e": not found.beyond if found.points else None,
        "within_own_limit": not found.beyond_own if found.own else None,
        "own_limit_on_record": found.has_own_limit,
        "says": list(results(found)) if found.readings is not None else [],
        "table_i_and_rvsm": RVSM_CAUTION,
        "caution": CAUTION,
    }


def _point_object(judged: Judged, own: OwnLimit | None) -> Mapping[str, Any]:
    """Give one reading."""
    return {
        "item": judged.item.value,
        "point": judged.point,
        "unit": judged.unit or None,
        "reading_ft": judged.reading_ft,
        "error_ft": round(judged.error_ft, 1),
        "tolerance_ft": round(judged.tolerance_ft, 1),
        "margin_ft": round(judged.margin_ft, 1),
        "within": judged.within,
        "binding": judged.binding,
        "source": judged.source,
        "own_limit_ft": None if own is None else own.limit_ft,
        "own_margin_ft": None if own is None else own.margin_ft,
    }
