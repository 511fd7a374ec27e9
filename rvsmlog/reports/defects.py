"""Defects as a small board: each with how it stands and all that was recorded about it."""

from collections.abc import Iterator, Mapping
from typing import Any

from rvsmlog.facts import Logged
from rvsmlog.records.base import Record, Ref
from rvsmlog.reports.records import by_time, row
from rvsmlog.reports.states import ByKind, State
from rvsmlog.reports.text import Line, wrap
from rvsmlog.units import show_level
from rvsmlog.verdict import CAUTION

_STYLE = {"open": "bold red", "deferred": "bold magenta", "rectified": "bold"}
#: The list tells what was recorded; whether it still counts hangs on the day and the authority.
_LAST_DAYS = (
    "The last day of each deferral, and whether an extension counts: `rvsmlog defect board`."
)
_OPENING = ("defect", "altimetry-fault")


def defect_lines(
    name: str, found: ByKind, states: Mapping[Ref, State], *, standing: bool
) -> Iterator[Line]:
    """Lay out the defects of an airframe, the newest last.

    Parameters
    ----------
    name : str
        The airframe's registration.
    found : mapping of str to sequence of Logged
        The standing records by the name of their kind.
    states : mapping of Ref to State
        How each defect stands.
    standing : bool
        Whether to leave out those that are rectified.
    """
    cases = by_time(logged for name in _OPENING for logged in found.get(name, ()))
    shown = [each for each in cases if not standing or states[each.ref].word != "rectified"]
    if not shown:
        told = "no open defect on record" if cases else "no defect on record yet"
        yield Line(f"{name}  {told}", "bold")
        return
    counts = [states[each.ref].word for each in shown]
    said = ", ".join(f"{counts.count(word)} {word}" for word in _STYLE if word in counts)
    yield Line(f"{name}  defects: {said}", "bold")
    for case in shown:
        yield Line("")
        yield from _case(case, states[case.ref])
        yield from _story(case, found)
    yield Line("")
    if "deferred" in counts:
        yield from wrap(_LAST_DAYS)
    yield from wrap(CAUTION, style="italic")


def defect_rows(found: ByKind, states: Mapping[Ref, State]) -> list[Mapping[str, Any]]:
    """Give the defects that are not rectified, one flat mapping each."""
    cases = by_time(logged for name in _OPENING for logged in found.get(name, ()))
    return [row(each, states[each.ref]) for each in cases if states[each.ref].word != "rectified"]


def _case(case: Logged[Record], state: State) -> Iterator[Line]:
    """Write one defect and how it stands."""
    record = case.record
    values = {spec.name: getattr(record, spec.name) for spec in record.kind.fields}
    what = " ".join(filter(None, (values.get("function"), values.get("position"))))
    found_at = record.kind.by_name["found_at"].type.show(values["found_at"])
    said = f"#{case.ref.entry} {what or record.kind.title}, {found_at}: {state}"
    yield from wrap(said, 0, 2, _STYLE[state.word])
    yield from wrap(values["description"], 4, 4)


def _story(case: Logged[Record], found: ByKind) -> Iterator[Line]:
    """Write what was recorded about one defect, in the order of entry."""
    about = {case.first}
    deferrals = [each for each in found.get("deferral", ()) if each.record.defect == case.first]
    about |= {each.first for each in deferrals}
    later = [*deferrals]
    for name, field in (("extension", "deferral"), ("rectification", "defect")):
        later += [each for each in found.get(name, ()) if getattr(each.record, field) in about]
    later += [each for each in found.get("review", ()) if each.record.subject in about]
    for each in sorted(later, key=lambda logged: logged.first):
        yield from wrap(f"#{each.ref.entry} {told(each.record)}", 4, 8)


def told(record: Record) -> str:
    """Say in one line what a later entry says."""
    values = {spec.name: getattr(record, spec.name) for spec in record.kind.fields}
    match record.kind.name:
        case "deferral":
            level = values["highest_level"]
            cap = "" if level is None else f", {show_level(level)} at most"
            until = "" if values["due_on"] is None else f", until {values['due_on']}"
            limit = "" if values["limitation"] is None else f"; {values['limitation']}"
            return (
                f"deferred {values['deferred_on']}, category {values['category']}, item "
                f"{values['mel_reference']}{until}{cap}{limit}"
            )
        case "extension":
            return (
                f"extended by {values['days']} days on {values['granted_on']}, by "
                f"{values['granted_by']}"
            )
        case "rectification":
            done = record.kind.by_name["done_at"].type.show(values["done_at"])
            return (
                f"rectified {done}: {values['work_done']}; released by {values['released_by']}, "
                f"{values['reference']}"
            )
        case _:
            seen = record.kind.by_name["reviewed_at"].type.show(values["reviewed_at"])
            accepted = ", accepted" if values["accepted"] else ""
            return f"reviewed {seen}{accepted}: {values['conclusion']}"
