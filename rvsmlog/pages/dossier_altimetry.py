"""The dossier's altimetry: tests with their readings, height monitoring, cross-checks, drift."""

from collections.abc import Iterator, Sequence
from itertools import groupby
from statistics import median

from rvsmlog.answers.dossier import Dossier
from rvsmlog.facts import Logged
from rvsmlog.pages.parts import (
    Cell,
    Part,
    Places,
    Row,
    Section,
    Table,
    entry_cell,
    record_table,
    table,
    tables,
    without_empty,
)
from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.papers import Monitoring, Test
from rvsmlog.records.readings import MEASURED, Readings
from rvsmlog.records.static_errors import StaticError
from rvsmlog.reports.altimetry_plots import crosscheck_plot, monitoring_plot, scale_plot
from rvsmlog.reports.comparisons import Comparison, comparisons_of
from rvsmlog.reports.drift_plot import drift_plot, shown_band
from rvsmlog.reports.drift_screen import BAND_HEADS, UNSEEN, account, band_cells, headline
from rvsmlog.reports.judgement import (
    READING_HEADS,
    READING_NUMBERS,
    reading_cells,
    results,
    steps_said,
)
from rvsmlog.rules.basis import basis_of
from rvsmlog.rules.judged_readings import Judgement
from rvsmlog.rules.monitoring import limit_of
from rvsmlog.science.bench_judgement import RVSM_CAUTION, Item
from rvsmlog.units import show_level

#: Fields of readings that the table of readings does not show.
_ABOUT_READINGS = tuple(name for name in Readings.kind.by_name if name not in MEASURED)


def tests(made: Dossier, places: Places) -> Section:
    """Give the tests with what was measured, held against Appendix E and the own limit."""
    found = made.tests
    parts = list(tables(record_table(places, "Tests", Test.kind, [each.test for each in found])))
    for each in found:
        if each.readings is not None:
            parts += _readings(made, places, each)
    if any(point.item is Item.SCALE for each in found for point in each.points):
        parts.append(("text", RVSM_CAUTION))
    return Section(
        slug="tests",
        title="Altimeter, static and transponder tests",
        lead="Tests of the span, and the newest before it of each sort and position. A test is "
        "what somebody signed; its readings are held against the tables here."
        if found
        else "No test is on record.",
        parts=tuple(parts),
    )


def _readings(made: Dossier, places: Places, each: Judgement) -> Iterator[Part]:
    """Give the readings of one test, point by point."""
    test, readings = each.test, each.readings
    if readings is None:
        return
    yield "head", f"Readings of test #{test.ref.entry}, {test.record.test} {test.record.done_on}"
    for sentence in results(each):
        yield "strong", sentence
    rows = [
        Row(cells=cells, look="" if cells[-1] == "within" else "fault")
        for cells in reading_cells(each)
    ]
    caption = "Readings against 14 CFR Part 43 Appendix E and the own RVSM limit, feet"
    yield from tables(
        without_empty(table(caption, READING_HEADS, rows, READING_NUMBERS)),
        record_table(places, "Where they stand", Readings.kind, [readings], names=_ABOUT_READINGS),
    )
    said = [*steps_said(each), *(f"not on record: {missing}" for missing in each.missing)]
    if said:
        yield "list", said
    plot = scale_plot(made.close, each)
    if plot is not None:
        yield "plot", plot


def monitoring(made: Dossier, places: Places) -> Section:
    """Give the results of height monitoring with their limit, and estimates of static error."""
    found = made.monitoring
    basis = basis_of(made.close)
    limit = limit_of(made.close, basis)
    plot = monitoring_plot(made.close, found)
    estimates = made.of(StaticError)
    lead = (
        f"Altimetry system error is held against {limit.individual_ft} ft ({basis}): "
        f"{limit.source}. Results of the span, and the newest before it."
    )
    return Section(
        slug="monitoring",
        title="Height monitoring",
        lead=lead if found else "No height monitoring is on record.",
        parts=(
            *tables(record_table(places, "Height monitoring results", Monitoring.kind, found)),
            *((("plot", plot),) if plot is not None else ()),
            *tables(
                record_table(
                    places,
                    "Estimates of the error that both altimeters share: no height monitoring",
                    StaticError.kind,
                    estimates,
                )
            ),
        ),
    )


def crosschecks(made: Dossier, places: Places) -> Section:
    """Give the cross-checks of the span month by month, with what each was held against."""
    found = made.of(CrossCheck)
    compared = [(logged, comparisons_of(made.close.particulars, logged.record)) for logged in found]
    beyond = sum(any(each.beyond for each in every) for _, every in compared)
    plot = crosscheck_plot(made.close, found, made.drift)
    lead = (
        f"{len(found):,} cross-check{'' if len(found) == 1 else 's'} of the span, {beyond} beyond "
        "a tolerance. Altitudes in feet; 1-2 is altimeter 1 minus altimeter 2; on the ground each "
        "altimeter is held against the elevation. Tolerances are those of the particulars at the "
        "end of the span."
    )
    return Section(
        slug="crosschecks",
        title="Altimeter cross-checks",
        lead=lead if found else "No cross-check of the span is on record.",
        parts=(
            *((("plot", plot),) if plot is not None else ()),
            *tables(_by_month(found, made), _crosscheck_table(places, compared)),
        ),
    )


def _by_month(found: Sequence[Logged[CrossCheck]], made: Dossier) -> Table:
    """Put in figures what the picture shows."""
    flown = [each for each in found if not each.record.on_ground]
    rows = []
    for month, group in groupby(flown, key=lambda each: f"{each.record.taken_at:%Y-%m}"):
        every = list(group)
        values = [each.record.difference_ft for each in every]
        over = sum(
            comparison.beyond
            for each in every
            for comparison in comparisons_of(made.close.particulars, each.record)
            if comparison.what == "primaries"
        )
        figures = (min(values), median(values), max(values))
        cells = [month, f"{len(every):,}", *(f"{figure:+.0f}" for figure in figures), str(over)]
        rows.append(Row(cells=cells, look="fault" if over else ""))
    return table(
        "Differences of the primaries in flight by month (UTC), feet",
        ("month", "in flight", "lowest", "median", "highest", "beyond"),
        rows,
        range(1, 6),
    )


Compared = tuple[Logged[CrossCheck], Sequence[Comparison]]
_CAPTION = (
    "Cross-checks, feet, times in UTC. stby: standby altimeter; xpdr: transponder; elev, QNH: "
    "known elevation in feet and QNH in hPa; M: Mach number; SAT, TAT: static and total air "
    "temperature, C; GNSS: height in feet, what it is above, latitude and longitude in degrees"
)
_HEADS = (
    *("entry", "taken at", "phase", "level", "alt 1", "alt 2", "1-2", "limit", "stby"),
    *("xpdr", "elev, QNH", "pilot", "beyond", "remarks"),
)


def _crosscheck_table(places: Places, compared: Sequence[Compared]) -> Table:
    """Lay out every cross-check, grouped by month so that a reader finds a day."""
    groups = [
        (month, [_crosscheck_row(places, logged, every) for logged, every in group])
        for month, group in groupby(compared, key=lambda each: f"{each[0].record.taken_at:%Y-%m}")
    ]
    made = Table(
        caption=_CAPTION,
        heads=_HEADS,
        groups=groups,
        numbers=frozenset((4, 5, 6, 7, 8, 9)),
    )
    return without_empty(made)


def _crosscheck_row(places: Places, logged: Logged[CrossCheck], every: Sequence[Comparison]) -> Row:
    """Write one cross-check."""
    check = logged.record
    primaries = next(each for each in every if each.what == "primaries")
    beyond = ", ".join(dict.fromkeys(each.what for each in every if each.beyond))
    ground = ""
    if check.on_ground:
        ground = f"{check.field_elevation_ft}, {check.qnh_hpa:g}"
    cells: list[Cell] = [
        entry_cell(places, logged),
        f"{check.taken_at:%m-%d %H:%M}",
        check.phase,
        "" if check.level is None else show_level(check.level),
        check.primary_1_ft,
        check.primary_2_ft,
        f"{primaries.difference_ft:+d}",
        "" if primaries.limit_ft is None else primaries.limit_ft,
        "" if check.standby_ft is None else check.standby_ft,
        "" if check.transponder_ft is None else check.transponder_ft,
        ground,
        check.pilot or "",
        beyond,
        _rest(check),
    ]
    return Row(cells=cells, entry=places.take(logged.ref.entry), look="fault" if beyond else "")


def _rest(check: CrossCheck) -> str:
    """Write what few cross-checks have."""
    specs = check.kind.by_name

    def said(words: str, *names: str) -> str:
        known = [name for name in names if getattr(check, name) is not None]
        values = " ".join(specs[name].type.show(getattr(check, name)) for name in known)
        return f"{words} {values}" if known else ""

    found = (
        said("M", "mach"),
        said("SAT", "static_air_temperature_c"),
        said("TAT", "total_air_temperature_c"),
        said("GNSS", "gnss_height_ft", "gnss_kind", "latitude_deg", "longitude_deg"),
        check.remarks or "",
    )
    return ", ".join(filter(None, found))


def drift(made: Dossier, places: Places) -> Section:
    """Give what the log says of drift at the close."""
    found = made.drift
    parts: list[Part] = []
    if found.bands:
        band = shown_band(found)
        parts.append(("list", list(account(found, band))))
        if made.records.history:
            parts.append(("plot", drift_plot(found, made.records.history)))
        rows = [Row(cells=band_cells(each)) for each in found.bands]
        caption = "By band of levels and Mach numbers; slope over the points kept"
        parts += tables(table(caption, BAND_HEADS, rows, (1, 2, 3, 4)))
        refs = [event.ref for event in found.events]
        if refs:
            work = Row(cells=["work on the altimetry, after which drift is counted anew"])
            linked = Row(cells=[*work.cells, places.links(refs)])
            parts += tables(table("What disturbed the altimetry", ("what", "entries"), [linked]))
    said = headline(found)
    return Section(
        slug="drift",
        title="Drift between the altimeters",
        lead=f"{said[0].upper()}{said[1:]}. {UNSEEN.strip()}",
        parts=tuple(parts),
    )
