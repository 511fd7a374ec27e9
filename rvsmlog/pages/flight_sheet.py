"""The in-flight sheet: one file for a tablet without network, and the same on paper."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from types import MappingProxyType
from typing import Any

from rvsmlog.answers.flight_sheet import Band, FlightSheet, SheetCheck, flight_sheet
from rvsmlog.checklist import ToDo
from rvsmlog.facts import Facts, Seal
from rvsmlog.frozen import dataclass
from rvsmlog.pages.page import render
from rvsmlog.records.asked import PROMPTS
from rvsmlog.records.fields import Choice, FieldType, Real, Text, Whole
from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.slips import SLIP_FT
from rvsmlog.records.trade_fields import Level
from rvsmlog.reports.comparisons import MEANS
from rvsmlog.reports.csv_text import AIRFRAME_COLUMN
from rvsmlog.rules.tolerances import crosscheck_tolerance_ft
from rvsmlog.standards.contingencies import FAULT_NOTES, FAULT_NOTES_SOURCE, Contingency
from rvsmlog.standards.rvsm import CROSSCHECK_GRACE_MINUTES, CROSSCHECK_INTERVAL_MINUTES
from rvsmlog.store.writing.checks import Checked
from rvsmlog.store.writing.vetting import FUTURE_TOLERANCE
from rvsmlog.units import HIGHEST_LEVEL, HPA_PER_INHG, show_level
from rvsmlog.verdict import CAUTION, Answer, Verdict

#: Which page it is.
KIND = "in-flight sheet"
#: Edition of what a browser keeps of a sheet.
_FORM = 1
#: Numbers between these bounds are inches of mercury; the label says so.
_INCHES = (25.0, 32.5)
#: Rows for hourly checks on paper.
_HOURS = 6
_SHORT: Mapping[str, str] = MappingProxyType(
    {
        "ground": "Ground",
        "before-entry": "Entry",
        "level": "Level",
        "hourly": "Hourly",
        "leaving": "Leaving",
        "after-flight": "Landed",
    }
)
#: What stands at a field where a narrow screen wants other words than the dialogue.
_PROMPTS: Mapping[str, str] = MappingProxyType(
    {
        "qnh_hpa": "QNH, hPa or inHg",
        "primary_1_ft": "Altimeter 1, ft",
        "primary_2_ft": "Altimeter 2, ft",
        "standby_ft": "Standby, ft",
        "transponder_ft": "Transponder, ft",
        "static_air_temperature_c": "Static air temp., C",
        "total_air_temperature_c": "Total air temp., C",
        "latitude_deg": "Latitude, degrees",
        "longitude_deg": "Longitude, degrees",
    }
)
#: Fields that are always open; the others wait behind a fold.
_OPEN = (
    *("level", "field_elevation_ft", "qnh_hpa", "primary_1_ft", "primary_2_ft", "standby_ft"),
    "transponder_ft",
)
#: Heads of the columns on paper; a field without one has no box there.
_HEADS: Mapping[str, str] = MappingProxyType(
    {
        "level": "FL",
        "field_elevation_ft": "Elevation, ft",
        "qnh_hpa": "QNH",
        "primary_1_ft": "Altimeter 1",
        "primary_2_ft": "Altimeter 2",
        "standby_ft": "Standby",
        "transponder_ft": "Transponder",
        "mach": "Mach",
        "static_air_temperature_c": "SAT",
        "total_air_temperature_c": "TAT",
        "remarks": "Remarks",
    }
)
#: What to do in RVSM airspace, or on the way there, when a comparison is beyond its limit.
_CONTINGENCY: Mapping[str, str] = MappingProxyType(
    {"primaries": "primaries-differ", "transponder": "wrong-report"}
)
_SAID_IN_WORDS = {"gauge_psi", "cylinder_c"}


def sheet_page(made: Checked, *, made_at: datetime) -> str:
    """Make the sheet.

    Parameters
    ----------
    made : Checked
        The check of the flight.
    made_at : datetime
        The present instant, aware; it names the sheet.

    Returns
    -------
    str
        The page, of the kind :data:`KIND`.
    """
    sheet = flight_sheet(made.facts, made.verdict)
    registration = sheet.airframe.registration
    at_level = "" if sheet.level is None else f" at {show_level(sheet.level)}"
    values = {
        "title": f"{registration}: altimeter cross-checks{at_level}",
        "made_at": made_at.replace(second=0, microsecond=0),
        "seals": made.verdict.seals,
        "registration": registration,
        "planned": made.facts.question.level,
        "at": made.facts.now,
        "entry": _entry(made.facts),
        "verdict": _verdict(made.verdict),
        "checks": [_card(check) for check in sheet.checks],
        "fields": _fields(),
        "prompts": {**PROMPTS, **_PROMPTS},
        "paper": _paper(sheet),
        "limits": sheet.limits,
        "primaries": _levels(sheet, "primaries_ft"),
        "standby": _levels(sheet, "standby_ft"),
        "contingencies": [_shown(each) for each in sheet.contingencies],
        "notes": FAULT_NOTES,
        "notes_source": FAULT_NOTES_SOURCE,
        "data": _data(sheet, made.facts.now, made_at),
    }
    return render("sheet.html", KIND, values)


def _entry(facts: Facts) -> Seal:
    """Give the newest entry known of the airframe's logbook."""
    return next(seal for seal in facts.seals if seal.logbook == facts.airframe.ref.logbook)


def _verdict(verdict: Verdict) -> Mapping[str, Any]:
    """Give the answer of the check."""
    goes = verdict.answer is Answer.GO and verdict.planned_level is not None
    rules = () if goes else dict.fromkeys(finding.rule for finding in verdict.limiting)
    return {"goes": goes, "highest": verdict.highest_level, "set_by": tuple(rules)}


@dataclass(frozen=True, slots=True, kw_only=True)
class _ToDo:
    """Something to tick off: what to do, and the limits with their units."""

    key: int
    do: str
    limits: tuple[str, ...]


def _to_do(check: SheetCheck) -> list[_ToDo]:
    return [
        _ToDo(key=key, do=each.do, limits=_limits(each)) for key, each in enumerate(check.to_do)
    ]


def _limits(each: ToDo) -> tuple[str, ...]:
    """Write the limits of something to do; the name of each carries its unit."""
    shown = []
    for name, value in each.limits.items():
        if name not in _SAID_IN_WORDS:
            what, _, unit = name.rpartition("_")
            shown.append(f"{what.replace('_', ' ')} {value} {unit}")
    return tuple(shown)


def _card(check: SheetCheck) -> Mapping[str, Any]:
    """Give one check as the screen shows it."""
    shown = [name for name in check.fields if name != "pilot"]
    return {
        "id": "hourly-1" if check.phase == "hourly" else check.phase,
        "phase": check.phase,
        "title": check.title,
        "short": _SHORT[check.phase],
        "to_do": _to_do(check),
        "first": [name for name in shown if name in _OPEN],
        "more": [name for name in shown if name not in _OPEN],
        "on_ground": check.on_ground,
    }


def _fields() -> Mapping[str, Mapping[str, Any]]:
    """Give what each field takes, as the log's own types say it."""
    return {spec.name: _field(spec.name, spec.type) for spec in CrossCheck.kind.fields}


def _field(name: str, kind: FieldType[Any]) -> Mapping[str, Any]:
    """Give what one field takes."""
    if isinstance(kind, Whole):
        return {"type": "whole", "low": kind.low, "high": kind.high, "keys": "numeric"}
    if isinstance(kind, Real):
        inches = {"low": _INCHES[0], "high": _INCHES[1], "hpa": HPA_PER_INHG}
        return {
            **{"type": "real", "low": kind.low, "high": kind.high, "keys": "decimal"},
            "inches": inches if name == "qnh_hpa" else None,
        }
    if isinstance(kind, Level):
        return {"type": "level", "low": 1, "high": HIGHEST_LEVEL, "keys": "numeric"}
    if isinstance(kind, Choice):
        return {"type": "choice", "words": list(kind.words)}
    if isinstance(kind, Text):
        return {"type": "text", "longest": kind.longest, "upper": kind.upper, "keys": "text"}
    return {"type": "instant"}


def _levels(sheet: FlightSheet, limit: str) -> list[Mapping[str, Any]]:
    """Give the rows of one limit by level, up to the level that the airframe may fly at."""
    rows: list[tuple[Band, int]] = []
    for band in sheet.limits.bands:
        if band.low > sheet.airframe.highest_level:
            break
        high = min(band.high, sheet.airframe.highest_level)
        if rows and getattr(rows[-1][0], limit) == getattr(band, limit):
            rows[-1] = (rows[-1][0], high)
        else:
            rows.append((band, high))
    return [
        {"levels": _between(band.low, high), "feet": getattr(band, limit)} for band, high in rows
    ]


def _between(low: int, high: int) -> str:
    """Write a range of levels."""
    if low == high:
        return show_level(low)
    return f"up to {show_level(high)}" if low == 1 else f"{show_level(low)} to {show_level(high)}"


def _paper(sheet: FlightSheet) -> list[Mapping[str, Any]]:
    """Give the tables to be filled by hand: before, in and after the flight."""
    before, *flying, after = sheet.checks
    return [_table(sheet, [before]), _table(sheet, flying), _table(sheet, [after])]


def _table(sheet: FlightSheet, checks: Sequence[SheetCheck]) -> Mapping[str, Any]:
    """Give one table: a row for each check, columns in the order of the dialogue."""
    rows = []
    for check in checks:
        hours = range(1, _HOURS + 1) if check.phase == "hourly" else (None,)
        level = "" if check.phase == "before-entry" or sheet.level is None else sheet.level
        rows += [
            {
                "phase": check.phase,
                "id": check.phase if hour is None else f"hourly-{hour}",
                "level": level,
            }
            for hour in hours
        ]
    return {
        "columns": _columns(sheet, checks[0]),
        "rows": rows,
        "to_do": [item for check in checks for item in _to_do(check)],
    }


def _columns(sheet: FlightSheet, check: SheetCheck) -> list[tuple[str, str]]:
    """Give the columns of a table, and behind the altimeters one for their difference."""
    columns = []
    for name in check.fields:
        if name in _HEADS:
            columns.append((name, _HEADS[name]))
        if name == "primary_2_ft" and check.on_ground:
            columns.append(("apart", f"Off, {sheet.limits.ground_ft} ft"))
        elif name == "primary_2_ft" and sheet.level is not None:
            limit = crosscheck_tolerance_ft(sheet.airframe, sheet.level)
            columns.append(("apart", f"Apart, {limit} ft"))
    return columns


def _shown(each: Contingency) -> Mapping[str, Any]:
    """Give a contingency as the page shows it."""
    return {
        "key": each.key,
        "when": each.when,
        "do": each.do,
        "say": each.say,
        "controller": each.controller,
        "cited": "; ".join(map(str, each.sources)),
    }


def _data(sheet: FlightSheet, at: datetime, made_at: datetime) -> Mapping[str, Any]:
    """Give what the script reads: every limit as computed here."""
    registration, limits = sheet.airframe.registration, sheet.limits
    fields = CrossCheck.kind.fields
    return {
        "form": _FORM,
        "id": f"{registration} {made_at.isoformat()}",
        "registration": registration,
        "made_at": made_at.isoformat(),
        "at": at.isoformat(),
        "level": sheet.level,
        "pilot": sheet.pilot,
        "bands": [[b.low, b.high, b.primaries_ft, b.standby_ft] for b in limits.bands],
        "ground_ft": limits.ground_ft,
        "ground_between_ft": limits.ground_between_ft,
        "transponder_ft": limits.transponder_ft,
        "doubtful_ft": SLIP_FT,
        "interval_min": CROSSCHECK_INTERVAL_MINUTES.value,
        "grace_min": CROSSCHECK_GRACE_MINUTES.value,
        "future_min": int(FUTURE_TOLERANCE.total_seconds() // 60),
        "fields": _fields(),
        "prompts": {**PROMPTS, **_PROMPTS},
        "checks": [_needed(check) for check in sheet.checks],
        "columns": [AIRFRAME_COLUMN, *(spec.name for spec in fields)],
        "free_text": [spec.name for spec in fields if isinstance(spec.type, Text | Choice)],
        "means": {what: list(words) for what, words in MEANS.items()},
        "contingency": dict(_CONTINGENCY),
        "contingencies": {each.key: _shown(each) for each in sheet.contingencies},
        "notes": list(FAULT_NOTES),
        "caution": CAUTION,
    }


def _needed(check: SheetCheck) -> Mapping[str, Any]:
    """Give a check as the script needs it."""
    own = ("field_elevation_ft", "qnh_hpa") if check.on_ground else ("level",)
    return {
        "phase": check.phase,
        "title": check.title,
        "on_ground": check.on_ground,
        "fields": [name for name in check.fields if name != "pilot"],
        "needed": [name for name in check.fields if name in (*own, "primary_1_ft", "primary_2_ft")],
    }
