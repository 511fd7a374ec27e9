"""A dossier as one JSON object."""

from collections.abc import Mapping
from typing import Any

from rvsmlog.answers.dossier import Correction, Dossier
from rvsmlog.records.base import Record
from rvsmlog.reports.due_screen import due_row
from rvsmlog.reports.judgement import judgement_object
from rvsmlog.reports.records import row
from rvsmlog.reports.verdict_json import verdict_object
from rvsmlog.store.writing.checks import Checked
from rvsmlog.verdict import CAUTION


def dossier_object(made: Dossier) -> Mapping[str, Any]:
    """Give a dossier as JSON has it.

    Returns
    -------
    mapping
        ``answer`` and ``at_close`` are checks as `rvsmlog gonogo --json` gives them; ``entries``
        are the standing entries whose day is in the span, flat, by number.
    """
    entries = [each for kind in made.records.found for each in made.within(kind)]
    entries.sort(key=lambda logged: logged.ref.entry)
    return {
        "airframe": made.now.particulars.registration,
        "logbook": made.now.airframe.ref.logbook,
        "from": made.span.first,
        "to": made.span.last,
        "at": made.now.now,
        "as_of": made.close.now,
        "answer": verdict_object(Checked(facts=made.now, verdict=made.verdict)),
        "at_close": verdict_object(Checked(facts=made.close, verdict=made.closing)),
        "due": [due_row(item) for item in made.due],
        "tests": [judgement_object(each) for each in made.tests],
        "entries": [row(each) for each in entries],
        "corrections": [_correction(each) for each in made.corrections],
        "seals": [str(seal) for seal in made.now.seals],
        "caution": CAUTION,
    }


def _correction(each: Correction) -> Mapping[str, Any]:
    """Give one correction: what was, what is, who and why."""
    return {
        "entry": each.was.ref.entry,
        "by_entry": each.ref.entry,
        "kind": each.was.record.kind.name,
        "struck_out": each.now is None,
        "was": _values(each.was.record, each.changed),
        "is": None if each.now is None else _values(each.now.record, each.changed),
        "recorded_at": each.recorded_at,
        "recorded_by": each.recorded_by,
        "reason": each.reason,
    }


def _values(record: Record, names: tuple[str, ...]) -> Mapping[str, Any]:
    return {name: getattr(record, name) for name in names}
