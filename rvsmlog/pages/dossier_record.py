"""The dossier's record: flights, oxygen, checks, what falls due, corrections, sources."""

from collections.abc import Iterator

from rvsmlog.answers.dossier import Correction, Dossier, Run
from rvsmlog.answers.due import DueItem
from rvsmlog.dates import show_instant
from rvsmlog.facts import Logged
from rvsmlog.pages.page import commands
from rvsmlog.pages.parts import (
    Cell,
    Places,
    Row,
    Section,
    Table,
    entry_cell,
    made_by,
    record_table,
    table,
    tables,
    without_empty,
)
from rvsmlog.records.checks import GoNoGo
from rvsmlog.records.defects import Review
from rvsmlog.records.flights import Flight
from rvsmlog.records.kinds import KIND
from rvsmlog.records.oxygen import OxygenInstallation, OxygenReading
from rvsmlog.reports.fields import asked_words
from rvsmlog.reports.records import cell, head
from rvsmlog.reports.verdict_screen import level_text
from rvsmlog.rules import RULES
from rvsmlog.standards.sources import source


def flights(made: Dossier, places: Places) -> Section:
    """Give the flights of the span."""
    found = made.of(Flight)
    return Section(
        slug="flights",
        title="Flights",
        lead=f"{len(found):,} flight{'' if len(found) == 1 else 's'} of the span, times in UTC."
        if found
        else "No flight of the span is on record.",
        parts=tables(record_table(places, "Flights", Flight.kind, found)),
    )


def oxygen(made: Dossier, places: Places) -> Section:
    """Give the oxygen systems and the readings of their gauges."""
    systems, readings = made.close.oxygen, made.of(OxygenReading)
    return Section(
        slug="oxygen",
        title="Oxygen",
        lead="Systems as on record at the end of the span, and the readings of the span."
        if systems or readings
        else "No oxygen system is on record.",
        parts=tables(
            *(_upright(places, each) for each in systems),
            record_table(places, "Gauge readings", OxygenReading.kind, readings),
        ),
    )


def _upright(places: Places, logged: Logged[OxygenInstallation]) -> Table:
    """Lay out a record of many fields with one row for each."""
    rows = [
        Row(cells=[spec.type.help, cell(spec, logged.record)])
        for spec in logged.record.kind.fields
        if getattr(logged.record, spec.name) is not None
    ]
    rows.append(Row(cells=["recorded", made_by(logged)]))
    rows[0] = Row(cells=rows[0].cells, entry=places.take(logged.ref.entry))
    return table(f"Oxygen system, entry #{logged.ref.entry}", ("field", "value"), rows)


def checks(made: Dossier, places: Places) -> Section:
    """Give the go/no-go checks that were made for an instant of the span."""
    found = made.of(GoNoGo)
    rows = [_check_row(places, each) for each in found]
    heads = ("entry", "for", "answer", "planned", "highest", "set by", "region", "pilot")
    return Section(
        slug="checks",
        title="Go/no-go checks made",
        lead="Each can be repeated with what was known then: `rvsmlog gonogo "
        f"{made.close.particulars.registration} --as-of ENTRY`."
        if found
        else "No check for an instant of the span is on record.",
        parts=tables(
            without_empty(table("Checks", (*heads, "rules", "also asked", "recorded"), rows))
        ),
    )


def _check_row(places: Places, logged: Logged[GoNoGo]) -> Row:
    """Write one check: asked, answered, set by what."""
    record = logged.record
    return Row(
        cells=[
            entry_cell(places, logged),
            show_instant(record.at),
            record.verdict,
            "" if record.planned_level is None else level_text(record.planned_level),
            level_text(record.highest_level),
            (record.limiting or "").replace(",", ", "),
            record.region or "",
            record.pilot or "",
            record.rulebook,
            asked_words(record.question or ""),
            made_by(logged),
        ],
        entry=places.take(logged.ref.entry),
    )


def due(made: Dossier) -> Section:
    """Give what falls due from the day of the answer on."""
    rows = [_due_row(item) for item in made.due]
    return Section(
        slug="due",
        title="What falls due",
        lead=(
            f"From {made.now.today} on; the last day still counts, and the level is the highest "
            "that this one leaves on the day after, if nothing more is recorded."
            if rows
            else "Nothing on record ends on a day."
        )
        + " What is not on record at all has no day and does not stand here: the answer at the "
        "top names it.",
        parts=tables(
            without_empty(
                table(
                    "What ends, and what then remains",
                    ("last day", "days left", "what", "level after", "what puts it right"),
                    rows,
                    (1,),
                )
            )
        ),
    )


def _due_row(item: DueItem) -> Row:
    """Write one thing that falls due."""
    hours = "" if item.due_hours is None else f" at {item.due_hours:,.0f} airframe hours"
    day = item.due_on or (f"about {item.forecast_on}" if item.forecast_on else "")
    after = "" if item.highest_level_after is None else level_text(item.highest_level_after)
    left = "" if item.days_left is None else str(item.days_left)
    return Row(
        cells=[day, left, f"{item.what}{hours}", after, commands(item.remedy)],
        look="fault" if item.days_left is not None and item.days_left < 0 else "",
    )


def others(made: Dossier, places: Places) -> Section:
    """Give reviews, and every entry of the span that no other section shows."""
    parts = list(
        tables(
            record_table(
                places,
                "Reviews of other entries",
                Review.kind,
                [each for each in made.of(Review) if each.ref.entry not in places.shown],
            )
        )
    )
    for name in made.records.found:
        rest = [each for each in made.within(name) if each.ref.entry not in places.shown]
        kind = KIND[name]
        parts += tables(record_table(places, f"{kind.title}: not shown above", kind, rest))
    return Section(
        slug="others",
        title="Other entries of the span",
        lead="Entries that belong to the span and to no section above."
        if parts
        else "Every entry of the span stands in a section above.",
        parts=tuple(parts),
    )


def corrections(made: Dossier, places: Places) -> Section:
    """Give what was corrected or struck out: the wrong and the right, by whom and why."""
    found = made.corrections
    rows = [row for each in found for row in _correction_rows(places, each)]
    return Section(
        slug="corrections",
        title="Corrections",
        lead=f"{len(found)} of entries of the span. Nothing is ever removed: what was wrong stays "
        "on record and is shown here with what counts instead. The sections above show what counts."
        if found
        else "No entry of the span was corrected or struck out.",
        parts=tables(
            table(
                "Corrected and struck out entries, field by field",
                ("entry", "what", "field", "was", "is", "by entry", "when and who", "why"),
                rows,
            )
        ),
    )


def _correction_rows(places: Places, each: Correction) -> Iterator[Row]:
    """Write one correction, a row for each field that it changed."""
    record = each.was.record
    struck = each.now is None
    by: Cell = places.link(each.ref.entry)
    mark = places.take(each.ref.entry) if struck else None
    changed = each.changed or ("",)
    for number, name in enumerate(changed):
        spec = record.kind.by_name.get(name)
        was = "" if spec is None else cell(spec, record)
        now = "struck out" if each.now is None else cell(spec, each.now.record) if spec else ""
        entry = places.take(each.was.ref.entry) if number == 0 else mark if number == 1 else None
        said = [show_instant(each.recorded_at) + " " + each.recorded_by, each.reason]
        yield Row(
            cells=[
                f"#{each.was.ref.entry}",
                record.kind.title,
                head(name) if name else "nothing",
                was,
                now,
                by,
                *said,
            ],
            entry=entry,
        )


def register(made: Dossier) -> Section:
    """Give every entry of the logbook by who made it and when, without a gap."""
    rows = [_run_row(run) for run in made.records.runs]
    return Section(
        slug="register",
        title="Register of the logbook",
        lead="Every entry of the airframe's logbook, whenever it happened: entries that follow "
        "each other, made on one day by one person, stand in one row. Numbers have no gaps.",
        parts=tables(
            table("Entries", ("numbers", "count", "recorded on", "by", "kinds"), rows, (1,))
        ),
    )


def _run_row(run: Run) -> Row:
    """Write one run of entries."""
    numbers = f"#{run.first}" if run.first == run.last else f"#{run.first} to #{run.last}"
    kinds = ", ".join(
        f"{count:,} {KIND[name].title if name in KIND else 'struck out'}"
        for name, count in run.kinds
    )
    count = f"{run.last - run.first + 1:,}"
    return Row(cells=[numbers, count, run.recorded_on, run.recorded_by, kinds])


def sources(made: Dossier) -> Section:
    """Give the rules used, their sources, and how sure each source is."""
    used: dict[str, list[str]] = {}
    for finding in made.closing.findings:
        for key in finding.sources:
            rules = used.setdefault(key, [])
            if finding.rule not in rules:
                rules.append(finding.rule)
    rows = [
        Row(
            cells=[
                place.document,
                place.section,
                place.edition,
                place.status.value,
                ", ".join(rules),
            ]
        )
        for place, rules in sorted(
            ((source(key), rules) for key, rules in used.items()),
            key=lambda pair: (pair[0].document, pair[0].section),
        )
    ]
    summaries = [Row(cells=[rule.name, rule.summary]) for rule in RULES]
    return Section(
        slug="sources",
        title="Rules and their sources",
        lead=f"Rulebook {made.closing.rulebook}. How sure a source is says whether it was read in "
        "full, read second-hand, taken from memory, or is common practice without a source. Check "
        "what binds you before you rely on it.",
        parts=tables(
            table(
                "Sources of the findings above",
                ("document", "section", "edition", "how sure", "rules"),
                rows,
            ),
            table("Rules, each named by the fault that it finds", ("rule", "fault"), summaries),
        ),
    )
