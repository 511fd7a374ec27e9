"""The dossier's defects with their deferrals, and its altitude deviations with their reports."""

from collections.abc import Iterator, Mapping, Sequence

from rvsmlog.answers.deferral_board import DeferralRow, deferral_rows
from rvsmlog.answers.deviation_report import deviation_report, due_text, sort_text
from rvsmlog.answers.dossier import Dossier
from rvsmlog.dates import show_instant
from rvsmlog.facts import DefectCase, DeviationCase, Logged
from rvsmlog.pages.parts import (
    Part,
    Places,
    Row,
    Section,
    entry_cell,
    made_by,
    record_table,
    table,
    tables,
    without_empty,
)
from rvsmlog.records.base import Record
from rvsmlog.records.flights import Closure, Deviation
from rvsmlog.reports.defects import told
from rvsmlog.reports.deferral_board import cost_text, extension_text
from rvsmlog.reports.records import cell, head


def defects(made: Dossier, places: Places) -> Section:
    """Give the deferrals open at the close, then each defect with all that was recorded of it."""
    cases = made.defects
    open_cases = [case for case in cases if case.is_open]
    deferred = sum(case.deferral is not None for case in open_cases)
    lead = (
        f"{len(cases)} found or open in the span; at its end {len(open_cases)} open, {deferred} of "
        "them deferred."
    )
    rows = [_deferral_row(places, row) for row in deferral_rows((made.close,))]
    board = table(
        "Deferrals open at the end of the span",
        (
            *("what", "category", "item", "last day", "days left", "RVSM", "limitation"),
            *("extension", "last review", "entries"),
        ),
        rows,
        (4,),
    )
    parts: list[Part] = [*tables(without_empty(board))]
    for case in cases:
        parts += _defect(places, case)
    return Section(
        slug="defects",
        title="Defects and deferrals",
        lead=lead if cases else "No defect found or open in the span is on record.",
        parts=tuple(parts),
    )


def _deferral_row(places: Places, row: DeferralRow) -> Row:
    """Write one open deferral."""
    reviewed = ""
    if row.reviewed_at is not None:
        reviewed = f"{show_instant(row.reviewed_at)}: {row.review}"
    return Row(
        cells=[
            row.what,
            row.category,
            row.mel_reference,
            row.due_on,
            str(row.days_left),
            cost_text(row).removeprefix("RVSM: "),
            row.limitation or "",
            extension_text(row.extension),
            reviewed,
            places.links(row.evidence),
        ],
        look="fault" if row.days_left < 0 else "",
    )


def _defect(places: Places, case: DefectCase) -> Iterator[Part]:
    """Give one defect as the log tells it, entry by entry."""
    record = case.defect.record
    later: list[Logged[Record]] = [
        each
        for each in (case.deferral, *case.extensions, *case.reviews, case.rectification)
        if each is not None
    ]
    later.sort(key=lambda logged: logged.first)
    state = "open" if case.is_open else "rectified"
    yield "head", f"Defect #{case.defect.ref.entry}: {state}"
    rows = [
        Row(
            cells=[
                entry_cell(places, logged),
                logged.record.kind.title,
                _when(logged.record),
                said,
                made_by(logged),
            ],
            entry=places.take(logged.ref.entry),
        )
        for logged, said in (
            (case.defect, _fields(record)),
            *((each, f"{told(each.record)}{_beside(each.record)}") for each in later),
        )
    ]
    caption = f"What is on record about defect #{case.defect.ref.entry}"
    yield from tables(table(caption, ("entry", "what", "when", "says", "recorded"), rows))


def _when(record: Record) -> str:
    name = record.kind.happened
    return record.kind.by_name[name].type.show(getattr(record, name)) if name else ""


def _fields(record: Record, *, leave_out: Sequence[str] = ()) -> str:
    """Write every field of a record that is filled, but for the day and some others."""
    said = [
        f"{head(spec.name)}: {cell(spec, record)}"
        for spec in record.kind.fields
        if spec.name not in (*leave_out, record.kind.happened)
        and getattr(record, spec.name) is not None
    ]
    return "; ".join(said)


#: What the sentence about a later entry leaves unsaid.
_UNSAID: Mapping[str, tuple[str, ...]] = {
    "deferral": ("discovered_on", "max_differential_psi", "deferred_by", "licence", "remarks"),
    "extension": ("reference", "remarks"),
    "rectification": ("licence", "touched", "remarks"),
    "review": ("remarks",),
}


def _beside(record: Record) -> str:
    """Write the fields of a later entry that its sentence leaves unsaid."""
    shown = _UNSAID[record.kind.name]
    said = _fields(record, leave_out=[name for name in record.kind.by_name if name not in shown])
    return f"; {said}" if said else ""


def deviations(made: Dossier, places: Places) -> Section:
    """Give the deviations with how they are sorted, and their closures."""
    cases = made.deviations
    closures = [each.closure for each in cases if each.closure is not None]
    others = [each for each in made.of(Closure) if each not in closures]
    sorts = [_sorted(made, places, case) for case in cases]
    return Section(
        slug="deviations",
        title="Altitude deviations and reports",
        lead=f"{len(cases)} happened or were open in the span."
        if cases
        else "No deviation that happened or was open in the span is on record.",
        parts=tables(
            table("How each is sorted", ("entry", "sorted as", "report", "state"), sorts),
            without_empty(
                record_table(
                    places, "Deviations", Deviation.kind, [case.deviation for case in cases]
                )
            ),
            record_table(places, "Closures", Closure.kind, [*closures, *others]),
        ),
    )


def _sorted(made: Dossier, places: Places, case: DeviationCase) -> Row:
    """Write how a deviation is sorted, how its report stands, and whether it is closed."""
    facts = made.close
    operator = None if facts.operator is None else facts.operator.record
    report = deviation_report(case, facts.particulars, operator)
    return Row(
        cells=[
            places.link(case.deviation.ref.entry),
            sort_text(case.deviation.record),
            due_text(report, facts.now),
            "open" if case.closure is None else f"closed {case.closure.record.closed_on}",
        ]
    )
