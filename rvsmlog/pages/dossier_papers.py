"""The dossier's opening and its papers: the answer, particulars, approvals, units fitted."""

from collections.abc import Iterator, Sequence

from rvsmlog.answers.dossier import Dossier
from rvsmlog.dates import show_instant
from rvsmlog.facts import EquipmentCase, Logged
from rvsmlog.findings import Finding, Outcome
from rvsmlog.frozen import dataclass
from rvsmlog.pages.parts import (
    Cell,
    Links,
    Part,
    Places,
    Row,
    Section,
    Table,
    entry_cell,
    made_by,
    record_table,
    table,
    tables,
    value,
    without_empty,
)
from rvsmlog.records.airframe import Airframe, Equipment, Removal, Swap, Work
from rvsmlog.records.papers import Approval
from rvsmlog.reports.records import cell, head
from rvsmlog.reports.states import State
from rvsmlog.reports.verdict_screen import level_text
from rvsmlog.standards.equipment import EQUIPMENT, MINIMUM_SET, Function, MinimumItem

#: The rules that judge each item of the minimum set.
_JUDGED_BY = {
    "altitude-systems": ("altimetry-system-missing", "altimetry-system-inoperative"),
    "altitude-control": ("altitude-control-inoperative",),
    "altitude-alerter": ("altitude-alerter-inoperative",),
    "transponder": ("transponder-inoperative",),
}
_FAULTS = (Outcome.NOT_MET, Outcome.NOT_ON_RECORD)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """What is not met or not on record, as the page opens with it."""

    rule: str
    outcome: str
    level: str
    says: str
    remedy: str
    entries: Links


def faults(places: Places, findings: Sequence[Finding]) -> tuple[Fault, ...]:
    """Give what is not met or not on record, the costliest first."""
    found = sorted(
        (each for each in findings if each.outcome in _FAULTS),
        key=lambda each: (10_000 if each.highest_level is None else each.highest_level, each.rule),
    )
    return tuple(
        Fault(
            rule=each.rule,
            outcome=each.outcome.said,
            level="" if each.highest_level is None else level_text(each.highest_level),
            says=each.says,
            remedy=each.remedy,
            entries=places.links(each.evidence),
        )
        for each in found
    )


def particulars(made: Dossier, places: Places) -> Section:
    """Give the airframe's particulars as they are, and every change of them on record."""
    versions = sorted(made.particulars, key=lambda logged: logged.first)
    current = made.close.airframe
    pairs = [
        (spec.type.help, cell(spec, current.record))
        for spec in Airframe.kind.fields
        if getattr(current.record, spec.name) is not None
    ]
    rows = [_version_row(places, before, logged) for before, logged in _pairwise(versions)]
    return Section(
        slug="particulars",
        title="Particulars",
        lead=f"As on record, entry #{current.ref.entry}. Particulars hold from the entry that "
        "states them; every entry of them is listed, whenever it was made.",
        parts=(
            ("pairs", pairs),
            *tables(
                table("Entries of particulars", ("entry", "what changed", "recorded"), rows),
            ),
        ),
    )


def _pairwise(
    versions: Sequence[Logged[Airframe]],
) -> Iterator[tuple[Airframe | None, Logged[Airframe]]]:
    """Give each version with the one before it."""
    before: Airframe | None = None
    for logged in versions:
        yield before, logged
        before = logged.record


def _version_row(places: Places, before: Airframe | None, logged: Logged[Airframe]) -> Row:
    """Say what an entry of particulars changed."""
    changes = [
        f"{head(spec.name)}: {cell(spec, before)} → {cell(spec, logged.record)}"
        for spec in Airframe.kind.fields
        if before is not None and getattr(before, spec.name) != getattr(logged.record, spec.name)
    ]
    said = "; ".join(changes) if before is not None else "first entry"
    return Row(
        cells=[entry_cell(places, logged), said or "nothing", made_by(logged)],
        entry=places.take(logged.ref.entry),
    )


def approvals(made: Dossier, places: Places) -> Section:
    """Give the approvals in force at some time in the span, with their withdrawals."""
    cases = made.approvals
    states = {
        case.approval.ref: State(
            word="withdrawn", since=case.withdrawal.record.withdrawn_on, by=case.withdrawal.first
        )
        for case in cases
        if case.withdrawal is not None
    }
    withdrawals = [case.withdrawal for case in cases if case.withdrawal is not None]
    shown = [case.approval for case in cases]
    parts = tables(
        record_table(places, "Approvals", Approval.kind, shown, states=states),
        *(
            [record_table(places, "Withdrawals", withdrawals[0].record.kind, withdrawals)]
            if withdrawals
            else []
        ),
    )
    lead = "Approvals in force at some time in the span. One counts from its first day to its last."
    return Section(
        slug="approvals",
        title="Approvals",
        lead=lead if shown else "No approval in force in the span is on record.",
        parts=(*_standing(made, places, "approval", "ads-b-route"), *parts),
    )


def _standing(made: Dossier, places: Places, *words: str) -> tuple[Part, ...]:
    """Say how the requirements stand whose rule's name holds one of some words."""
    rows = [
        _finding_row(places, each)
        for each in made.closing.findings
        if any(word in each.rule for word in words)
    ]
    return tables(finding_table("How it stands at the end of the span", rows))


def finding_table(caption: str, rows: Sequence[Row]) -> Table:
    """Lay out how requirements stand."""
    return table(caption, ("rule", "outcome", "level", "found", "margin", "entries"), rows)


def _finding_row(places: Places, each: Finding) -> Row:
    """Write how one requirement stands."""
    return Row(
        cells=[
            each.rule,
            each.outcome.said,
            "" if each.highest_level is None else level_text(each.highest_level),
            each.says,
            "" if each.margin is None else str(each.margin),
            places.links(each.evidence),
        ],
        look="fault" if each.outcome in _FAULTS else "",
    )


def findings(made: Dossier, places: Places) -> Section:
    """Give every requirement and how it stands at the close."""
    rows = [_finding_row(places, each) for each in made.closing.findings]
    return Section(
        slug="requirements",
        title="How each requirement stands",
        lead=f"Every rule of the rulebook {made.closing.rulebook}, judged as of "
        f"{show_instant(made.close.now)}, the end of the span.",
        parts=tables(without_empty(finding_table("Rules and findings", rows))),
    )


def equipment(made: Dossier, places: Places) -> Section:
    """Give the minimum set with the units fitted, then all other units and what was done."""
    needed = [_item_row(made, places, item) for item in MINIMUM_SET]
    minimum = table(
        "Equipment that must work in RVSM airspace, at the end of the span",
        ("item", "wanted", "fitted", "how it stands", "entries"),
        needed,
        numbers=(1, 2),
    )
    functions = {each for item in MINIMUM_SET for each in item.functions}
    first = [each for each in made.equipment if each.equipment.record.function in functions]
    others = [each for each in made.equipment if each not in first]
    removals = [each.removal for each in made.equipment if each.removal is not None]
    return Section(
        slug="equipment",
        title="Minimum set and units fitted",
        lead=_set_lead(made),
        parts=tables(
            minimum,
            _unit_table(places, "Units of the minimum set, fitted in the span", first),
            _unit_table(places, "Other units, fitted in the span", others),
            record_table(places, "Units removed", Removal.kind, removals),
            record_table(places, "Units that changed places", Swap.kind, made.within("swap")),
            record_table(places, "Work on the altimetry", Work.kind, made.within("work")),
        ),
    )


def _set_lead(made: Dossier) -> str:
    """Say whether the minimum set is whole."""
    rules = {rule for found in _JUDGED_BY.values() for rule in found}
    faults = [
        each.rule
        for each in made.closing.findings
        if each.rule in rules and each.outcome in _FAULTS
    ]
    if not faults:
        return "The minimum set is on record as fitted and nothing of it is known not to work."
    return f"The minimum set is not whole: {', '.join(dict.fromkeys(faults))}."


def _item_row(made: Dossier, places: Places, item: MinimumItem) -> Row:
    """Write one item of the minimum set and how its rules stand."""
    own = _JUDGED_BY[item.name]
    found = [each for each in made.closing.findings if each.rule in own]
    counts = {len(made.close.fitted(function)) for function in item.functions}
    evidence = [ref for each in found for ref in each.evidence]
    return Row(
        cells=[
            item.title,
            str(item.number),
            str(min(counts)),
            "; ".join(f"{each.outcome.said}: {each.says}" for each in found),
            places.links(evidence),
        ],
        look="fault" if any(each.outcome in _FAULTS for each in found) else "",
    )


def _unit_table(places: Places, caption: str, cases: Sequence[EquipmentCase]) -> Table:
    """Lay out fitted units: where each is now or was last, and since when."""
    order = list(Function)
    by_function = sorted(
        cases,
        key=lambda case: (
            order.index(Function(case.equipment.record.function)),
            case.position or "",
            case.equipment.record.fitted_on,
        ),
    )
    heads = ("entry", "unit", "position", "part", "serial", "version", "fitted", "state")
    rows = [_unit_row(places, case) for case in by_function]
    return without_empty(table(caption, (*heads, "reference", "remarks", "recorded"), rows))


def _unit_row(places: Places, case: EquipmentCase) -> Row:
    """Write one unit."""
    record, specs = case.equipment.record, Equipment.kind.by_name

    def said(name: str) -> Cell:
        return value(places, specs[name], record)

    state = "fitted" if case.removal is None else f"removed {case.removal.record.removed_on}"
    moves = [f"swapped {move.swap.record.swapped_at:%Y-%m-%d}" for move in case.moves]
    return Row(
        cells=[
            entry_cell(places, case.equipment),
            EQUIPMENT[Function(record.function)].title,
            case.position or "",
            *(said(name) for name in ("part_number", "serial_number", "version", "fitted_on")),
            "; ".join([*moves, state]),
            said("reference"),
            said("remarks"),
            made_by(case.equipment),
        ],
        entry=places.take(case.equipment.ref.entry),
    )
