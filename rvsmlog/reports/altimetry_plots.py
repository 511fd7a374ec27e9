"""Pictures of what is measured: altimeters against each other, on the bench, and from outside."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise

from rvsmlog.answers.drift_analysis import Drift
from rvsmlog.facts import Facts, Logged
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.papers import Monitoring
from rvsmlog.reports.drift_plot import alarm_marks
from rvsmlog.reports.plot import (
    Axis,
    Marks,
    Plot,
    Shape,
    Stretch,
    Stroke,
    Upright,
    beyond_said,
    days,
    either_way,
    level,
    marked,
    reach,
    thinned,
    time_axis,
    usual,
    value_axis,
    within_scale,
)
from rvsmlog.rules.basis import basis_of
from rvsmlog.rules.judged_readings import Judgement, limit_ft
from rvsmlog.rules.monitoring import limit_of
from rvsmlog.rules.tolerances import crosscheck_tolerance_ft
from rvsmlog.science.bench_judgement import Item
from rvsmlog.standards.altimeter_tests import scale_tolerance_ft
from rvsmlog.standards.rvsm import LARGE_ASE_FT, RVSM_HIGHEST_LEVEL, RVSM_LOWEST_LEVEL
from rvsmlog.units import level_to_feet, show_level

#: Marks that would lie closer than this share of the picture are drawn once.
_CELLS = 500
#: From so many marks on a picture draws dots: rings would run into each other.
_MANY = 150
_STEPS = 40
#: So many points of the scale make a picture.
_FEWEST = 4


def crosscheck_plot(
    facts: Facts, checks: Sequence[Logged[CrossCheck]], drift: Drift
) -> Plot | None:
    """Draw the differences of the primaries in flight, with the tolerance; None without any.

    Parameters
    ----------
    facts : Facts
        Whose tolerances hold.
    checks : sequence of Logged
        From the earliest to the latest.
    drift : Drift
        For the onset and the alarm.
    """
    flown = [each.record for each in checks if not each.record.on_ground]
    if not flown:
        return None
    airframe = facts.particulars
    lowest, top = RVSM_LOWEST_LEVEL.value, airframe.highest_level
    tolerances = {
        at: crosscheck_tolerance_ft(airframe, at) for at in range(lowest, max(top, lowest) + 1, 10)
    }
    differences = [check.difference_ft for check in flown]
    sorts = _sorts(airframe, flown)
    high = reach(usual(differences), *tolerances.values())
    x = time_axis("date, UTC", flown[0].taken_at, flown[-1].taken_at)
    y = value_axis("altimeter 1 minus altimeter 2, feet", -high, high, sign=True)
    off = beyond_said(((check.taken_at, check.difference_ft) for check in flown), y)
    return Plot(
        title=f"{airframe.registration}: each cross-check in flight, altimeter 1 minus altimeter 2",
        says=(
            f"{len(flown):,} cross-checks in flight from {flown[0].taken_at:%Y-%m-%d} to "
            f"{flown[-1].taken_at:%Y-%m-%d}, {min(differences):+d} to {max(differences):+d} ft; "
            f"{len(sorts['beyond'])} beyond the tolerance of their level."
        ),
        x=x,
        y=y,
        lines=(
            Stretch(points=level(0, x), stroke=Stroke.FAINT),
            *_tolerance_lines(tolerances, x),
        ),
        marks=within_scale(
            _sort_marks(sorts, x, y, Shape.DOT if len(flown) > _MANY else Shape.RING), y
        ),
        uprights=_alarm(drift, x),
        note=f"{off} Tolerances are those of the particulars at the end of the span.".lstrip(),
    )


def _sorts(
    airframe: Airframe, flown: Sequence[CrossCheck]
) -> Mapping[str, Sequence[tuple[float, float]]]:
    """Sort checks as points: beyond their tolerance, and within it in RVSM airspace and below."""
    sorts: dict[str, list[tuple[float, float]]] = {"below": [], "rvsm": [], "beyond": []}
    for check in flown:
        at = check.level or 0
        beyond = abs(check.difference_ft) > crosscheck_tolerance_ft(airframe, max(at, 1))
        sort = "beyond" if beyond else "rvsm" if at >= RVSM_LOWEST_LEVEL.value else "below"
        sorts[sort].append((days(check.taken_at), float(check.difference_ft)))
    return sorts


def _sort_marks(
    sorts: Mapping[str, Sequence[tuple[float, float]]], x: Axis, y: Axis, usual: Shape
) -> tuple[Marks, ...]:
    """Give each sort its mark; that of checks within tolerance in RVSM airspace is said."""
    lowest = RVSM_LOWEST_LEVEL.value
    kept = {sort: thinned(points, x, y, _CELLS) for sort, points in sorts.items()}
    return marked(
        (kept["below"], Shape.TRIANGLE, f"below FL{lowest}, within"),
        (kept["rvsm"], usual, f"at FL{lowest} and above, within"),
        (kept["beyond"], Shape.CROSS, "beyond its tolerance"),
    )


def _tolerance_lines(tolerances: Mapping[int, int], x: Axis) -> Iterator[Stretch]:
    """Draw each tolerance once, on both sides of zero."""
    for feet in sorted(set(tolerances.values())):
        said = _levels_said(tolerances, feet)
        yield from either_way(level(float(feet), x), Stroke.SOLID, said)


def _alarm(drift: Drift, x: Axis) -> tuple[Upright, ...]:
    """Mark onset and alarm of the first band that raised one, as far as they are shown."""
    return tuple(
        each
        for band in drift.alarmed[:1]
        for each in alarm_marks(band, "onset of drift", "drift alarm")
        if x.low <= each.x <= x.high
    )


def _levels_said(tolerances: Mapping[int, int], feet: int) -> str:
    """Say at which levels a tolerance holds."""
    levels = [at for at, tolerance in tolerances.items() if tolerance == feet]
    where = show_level(levels[0])
    if len(levels) > 1:
        where += f" to {show_level(levels[-1])}"
    return f"tolerance {feet} ft, {where}"


def scale_plot(facts: Facts, made: Judgement) -> Plot | None:
    """Draw the scale error of a test over the altitude, with its limits; None with few readings."""
    scale = [each for each in made.points if each.item is Item.SCALE and each.point is not None]
    if len(scale) < _FEWEST:
        return None
    points = [(float(each.point or 0), each.error_ft) for each in scale]
    top = max(point for point, _ in points)
    own = _own_limit(facts, top)
    table = tuple(
        (top * step / _STEPS, scale_tolerance_ft(top * step / _STEPS)) for step in range(_STEPS + 1)
    )
    high = reach((error for _, error in points), *(feet for _, feet in table), spare=1.2)
    x = value_axis("altitude of the test point, feet", 0, max(top, 1000) * 1.02)
    y = value_axis("scale error, feet", -high, high, sign=True)
    test = made.test.record
    unit = f"unit {test.unit_serial}" if test.unit_serial else f"position {test.position}"
    beyond = {each.altitude_ft for each in made.beyond_own}
    bad = [each for each in points if abs(each[1]) > scale_tolerance_ft(each[0])]
    over = [each for each in points if each[0] in beyond and each not in bad]
    good = [each for each in points if each not in bad and each not in over]
    return Plot(
        title=f"Scale error, test #{made.test.ref.entry} of {test.done_on}, {unit}",
        says=(
            f"{len(points)} points up to {top:,.0f} ft, {min(e for _, e in points):+.0f} to "
            f"{max(e for _, e in points):+.0f} ft; {len(bad)} beyond Appendix E Table I, "
            f"{len(beyond)} beyond the airframe's own limit. The table above has every figure."
        ),
        x=x,
        y=y,
        lines=(
            Stretch(points=level(0, x), stroke=Stroke.FAINT),
            *either_way(table, Stroke.SOLID, "Appendix E Table I"),
            *either_way(own, Stroke.DASHED, "own RVSM limit"),
        ),
        marks=marked(
            (tuple(good), Shape.RING, "within"),
            (tuple(over), Shape.TRIANGLE, "beyond the own limit"),
            (tuple(bad), Shape.CROSS, "beyond Appendix E"),
        ),
    )


def _own_limit(facts: Facts, top: float) -> tuple[tuple[float, float], ...]:
    """Give the airframe's own limit from where its table begins, as a line of steps."""
    table = facts.particulars.altimeter_scale_limit
    if table is None:
        return ()
    lowest = level_to_feet(min(table[0][0], RVSM_LOWEST_LEVEL.value))
    highest = int(min(level_to_feet(RVSM_HIGHEST_LEVEL.value), top))
    heights = range(lowest, highest + 1, 100)
    limits = [(float(height), float(limit_ft(table, height))) for height in heights]
    steps = [
        point
        for (_, before), (height, after) in pairwise(limits)
        if before != after
        for point in ((height, before), (height, after))
    ]
    return tuple(limits[:1] + steps + limits[-1:])


def monitoring_plot(facts: Facts, results: Sequence[Logged[Monitoring]]) -> Plot | None:
    """Draw the results of height monitoring with their limits; None without any."""
    if not results:
        return None
    basis = basis_of(facts)
    limit = limit_of(facts, basis).individual_ft
    points = [(days(_noon(each.record.measured_on)), float(each.record.ase_ft)) for each in results]
    first = _noon(results[0].record.measured_on)
    last = max(_noon(results[-1].record.measured_on), facts.now)
    high = reach((error for _, error in points), limit, LARGE_ASE_FT.value)
    margin = (last - first) / 20 + timedelta(days=5)
    x = time_axis("day of the measurement", first - margin, last + margin)
    beyond = [each for each in points if abs(each[1]) > limit]
    within = [each for each in points if each not in beyond]
    report = float(LARGE_ASE_FT.value)
    return Plot(
        title=f"{facts.particulars.registration}: altimetry system error at height monitoring",
        says=(
            f"Results on record: {len(points)}, {results[0].record.measured_on} to "
            f"{results[-1].record.measured_on}, limit {limit} ft; {len(beyond)} beyond it. The "
            "table above has every figure."
        ),
        x=x,
        y=value_axis("altimetry system error, feet", -high, high, sign=True),
        lines=(
            Stretch(points=level(0, x), stroke=Stroke.FAINT),
            *either_way(level(float(limit), x), Stroke.SOLID, f"limit {limit} ft ({basis})"),
            *(
                either_way(level(report, x), Stroke.DASHED, f"to be reported from {report:.0f} ft")
                if report != limit
                else ()
            ),
        ),
        marks=marked(
            (tuple(within), Shape.RING, "within the limit"),
            (tuple(beyond), Shape.CROSS, "beyond the limit"),
        ),
    )


def _noon(day: date) -> datetime:
    return datetime.combine(day, time(12), UTC)
