"""The readings behind a test, judged: against Appendix E, and against the airframe's own limit."""

from rvsmlog.facts import Facts, Logged
from rvsmlog.frozen import dataclass
from rvsmlog.records.airframe import Airframe, tolerance_at
from rvsmlog.records.papers import Test
from rvsmlog.records.point_table import Points
from rvsmlog.records.readings import Readings
from rvsmlog.science.bench_judgement import Judged, Sheet, beyond, judge_readings
from rvsmlog.science.bench_steps import Step, gaps, judge_steps
from rvsmlog.standards.rvsm import RVSM_HIGHEST_LEVEL, RVSM_LOWEST_LEVEL
from rvsmlog.units import level_to_feet

_HUNDREDTHS = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnLimit:
    """A scale error against the airframe's own limit.

    Parameters
    ----------
    altitude_ft : int
        The point.
    error_ft, limit_ft : int
        Feet.
    """

    altitude_ft: int
    error_ft: int
    limit_ft: int

    @property
    def margin_ft(self) -> int:
        """Feet left to the limit, negative beyond it."""
        return self.limit_ft - abs(self.error_ft)


def sheet_of(readings: Readings) -> Sheet:
    """Give a record's readings as they are judged."""
    return Sheet(
        to_appendix_e=readings.specification != "maker",
        scale_error_ft=readings.scale_error or (),
        scale_dwell_s=readings.scale_dwell_s or (),
        scale_rate_ft_min=readings.scale_rate_ft_min,
        hysteresis_ft=readings.hysteresis or (),
        hysteresis_start_s=readings.hysteresis_start_s,
        hysteresis_dwell_s=readings.hysteresis_dwell_s or (),
        hysteresis_rate_ft_min=readings.hysteresis_rate_ft_min,
        after_effect_ft=readings.after_effect_ft,
        after_effect_s=readings.after_effect_s,
        friction_ft=readings.friction or (),
        case_leak_ft=readings.case_leak_ft,
        barometric_ft=_by_hundredth(readings.barometric),
        static_leak_ft=_by_hundredth(readings.static_leak),
        correspondence_ft=readings.correspondence or (),
    )


def _by_hundredth(points: Points | None) -> tuple[tuple[float, int], ...]:
    """Give points that are counted in hundredths of their unit."""
    return tuple((point / _HUNDREDTHS, reading) for point, reading in points or ())


def sheet_behind(facts: Facts, test: Logged[Test]) -> Sheet | None:
    """Give the readings of a test as they are judged, None where none are on record."""
    readings = facts.readings_of(test.first)
    return None if readings is None else sheet_of(readings.record)


def judged_behind(facts: Facts, test: Logged[Test]) -> tuple[Judged, ...]:
    """Give the readings of a test, each held against its tolerance."""
    sheet = sheet_behind(facts, test)
    if sheet is None:
        return ()
    return judge_readings(sheet, max_differential_psi=facts.particulars.max_differential_psi)


def proved_to_ft(facts: Facts, test: Logged[Test]) -> int | None:
    """Give the altitude to which a test shows altimeters or altitude reporting tested, feet.

    That is the altitude stated, or the highest point of the readings where they end below: of the
    scale, and of a correspondence test of its own readings, which tell where no altitude is stated.

    Returns
    -------
    int or None
        None where neither the test nor its readings say how high.
    """
    stated, sheet = test.record.tested_altitude_ft, sheet_behind(facts, test)
    reporting = test.record.test == "correspondence"
    top = None if sheet is None else _top_ft(sheet, reporting=reporting)
    if top is None or (stated is None and not reporting):
        return stated
    return int(top) if stated is None else min(stated, int(top))


def _top_ft(sheet: Sheet, *, reporting: bool) -> float | None:
    """Give the highest point that was read, of the scale or of the altitude reported."""
    if not reporting:
        return sheet.top_ft
    return max((point for point, _ in sheet.correspondence_ft), default=None)


def own_limits(airframe: Airframe, sheet: Sheet) -> tuple[OwnLimit, ...]:
    """Hold the scale error in RVSM airspace against the airframe's own limit.

    Parameters
    ----------
    airframe : Airframe
        With or without a limit of its own.
    sheet : Sheet
        Readings.

    Returns
    -------
    tuple of OwnLimit
        One for each point from FL290 to FL410 and for each lower one that the limit's table
        reaches; empty without a table. Between two rows of the table the tighter holds.
    """
    table = airframe.altimeter_scale_limit
    if table is None:
        return ()
    lowest = level_to_feet(min(table[0][0], RVSM_LOWEST_LEVEL.value))
    highest = level_to_feet(RVSM_HIGHEST_LEVEL.value)
    return tuple(
        OwnLimit(altitude_ft=int(point), error_ft=error, limit_ft=limit_ft(table, int(point)))
        for point, error in sheet.scale_error_ft
        if lowest <= point <= highest
    )


def limit_ft(table: tuple[tuple[int, int], ...], altitude_ft: int) -> int:
    """Give the limit at an altitude, the tighter of those of the levels below and above it."""
    below, rest = divmod(altitude_ft, 100)
    return min(tolerance_at(table, below), tolerance_at(table, below + (rest > 0)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """A test with its readings, held against all that they must keep.

    Parameters
    ----------
    test : Logged
        The test.
    readings : Logged or None
        Its readings; None where none are on record, and what follows is empty then.
    points : tuple of Judged
        Each reading against its tolerance.
    own : tuple of OwnLimit
        The scale error in RVSM airspace against the airframe's own limit.
    has_own_limit : bool
        Whether the airframe's particulars state one.
    steps : tuple of Step
        Order, times and rates.
    missing : tuple of str
        What Appendix E asks for and the readings do not show.
    """

    test: Logged[Test]
    readings: Logged[Readings] | None
    points: tuple[Judged, ...]
    own: tuple[OwnLimit, ...]
    has_own_limit: bool
    steps: tuple[Step, ...]
    missing: tuple[str, ...]

    @property
    def beyond(self) -> tuple[Judged, ...]:
        """The readings that no test passes with, the worst first."""
        return beyond(self.points)

    @property
    def beyond_own(self) -> tuple[OwnLimit, ...]:
        """The scale errors beyond the airframe's own limit, the worst first."""
        found = [each for each in self.own if each.margin_ft < 0]
        return tuple(sorted(found, key=lambda each: each.margin_ft))

    @property
    def departures(self) -> tuple[str, ...]:
        """Say where the test departs from Appendix E, steps before points that are missing."""
        return (
            *(f"{step.item}: {step.says}" for step in self.steps if not step.kept),
            *self.missing,
        )


def judgement(facts: Facts, test: Logged[Test]) -> Judgement:
    """Judge the readings of a test."""
    sheet = sheet_behind(facts, test)
    known = sheet if sheet is not None else Sheet()
    differential = facts.particulars.max_differential_psi
    return Judgement(
        test=test,
        readings=facts.readings_of(test.first),
        points=judge_readings(known, max_differential_psi=differential),
        own=own_limits(facts.particulars, known),
        has_own_limit=facts.particulars.altimeter_scale_limit is not None,
        steps=judge_steps(known, max_differential_psi=differential),
        missing=gaps(known),
    )
