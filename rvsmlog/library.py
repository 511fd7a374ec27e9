"""rvsmlog from Python: what the commands do, as functions.

Every function takes an open store first, and the present instant where it needs one: nothing here
reads a clock. Instants are aware datetimes, days are dates, levels are flight levels, and an
airframe is named by its registration. What comes back is frozen, with its unit in each name.
Wrong input raises :class:`InputError`, a store that cannot be used :class:`StoreError`; both carry
a hint, and nothing was written then, unless a server's :class:`StoreError` says that it may be.

What a level rests on defers to the approved manuals, the local rules, licensed maintenance and the
pilot in command, from Python as from the command line: :data:`CAUTION` says so.

Examples
--------
>>> at = parse_instant("2026-11-24T08:00Z")
>>> made = check(store, Asked(registration="QX-BRE", at=at, level=310, pilot="IVO"), now())
>>> made.verdict.answer.value, made.verdict.highest_level
('NO-GO', 280)
>>> print(min(made.verdict.findings, key=lambda finding: finding.highest_level or 999).says)
altimeter 2: scale error +190 ft at 35,000 ft, own limit 75 ft, test of 2026-11-19
"""

from collections.abc import Callable, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import Any

from rvsmlog.answers.deferral_board import DeferralRow, deferral_rows
from rvsmlog.answers.dossier import Dossier
from rvsmlog.answers.dossier import dossier as _dossier_of
from rvsmlog.answers.drift_analysis import Drift
from rvsmlog.answers.drift_analysis import analysed as _drift_of
from rvsmlog.answers.due import DueItem, due_items, merged, within
from rvsmlog.answers.fleet_board import MOST_DUE, BoardRow, board_rows
from rvsmlog.answers.level_choice import LevelChoice, level_choice
from rvsmlog.answers.monitoring_plan import Plan
from rvsmlog.answers.monitoring_plan import monitoring_plan as _plan_of
from rvsmlog.answers.oxygen_view import OxygenView, oxygen_view
from rvsmlog.answers.unit_history import UnitHistory
from rvsmlog.dates import check_instant, now, parse_instant
from rvsmlog.errors import InputError, RefusedError, RvsmlogError, StoreError
from rvsmlog.facts import Facts, FlightData, Logged, NotJudged, Question
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.base import Record, Ref
from rvsmlog.records.kinds import kind
from rvsmlog.reports.calendar_export import write_calendar
from rvsmlog.reports.comparisons import comparisons_of
from rvsmlog.rules import RULES
from rvsmlog.rules.judged_readings import Judgement
from rvsmlog.science.level_segments import Criterion
from rvsmlog.science.weather_worth import WeatherSource
from rvsmlog.store.connection import Store, open_store
from rvsmlog.store.given import check_question, check_span, check_text
from rvsmlog.store.importing.csv_import import import_csv
from rvsmlog.store.importing.demo import build_demo
from rvsmlog.store.importing.extraction import enter as enter_extracted
from rvsmlog.store.importing.extraction import extract
from rvsmlog.store.importing.point_csv import read_points
from rvsmlog.store.importing.recorded_flight import Columns
from rvsmlog.store.reading.after_work import checks_called_for
from rvsmlog.store.reading.after_work import judged_test as _judged_test
from rvsmlog.store.reading.airframes import find_airframe, fleet_particulars
from rvsmlog.store.reading.deviations import report_of as deviation_report
from rvsmlog.store.reading.dossier import read_dossier
from rvsmlog.store.reading.doubts import doubts
from rvsmlog.store.reading.drift_reader import every_point
from rvsmlog.store.reading.facts_reader import read_facts as _read_facts
from rvsmlog.store.reading.history import History, history
from rvsmlog.store.reading.info import describe as describe_store
from rvsmlog.store.reading.lookup import named_book
from rvsmlog.store.reading.reader import read, view
from rvsmlog.store.reading.unit_facts import unit_on_record
from rvsmlog.store.safekeeping.backup import backup
from rvsmlog.store.safekeeping.copying import copy_store
from rvsmlog.store.safekeeping.export import export_airframe, export_store
from rvsmlog.store.safekeeping.restore import restore
from rvsmlog.store.safekeeping.schema import create_store, open_or_create, upgrade_store
from rvsmlog.store.safekeeping.seals import parse_claim
from rvsmlog.store.safekeeping.self_check import self_check
from rvsmlog.store.safekeeping.soundness import verify_store
from rvsmlog.store.safekeeping.transfer import import_airframe, import_store
from rvsmlog.store.writing.checks import Asked, Checked, check, check_and_record
from rvsmlog.store.writing.clock import correct_clock, look_at_clock
from rvsmlog.store.writing.fleet import check_fleet, each_airframe, fleet_facts
from rvsmlog.store.writing.recording import record_entry
from rvsmlog.store.writing.recording import strike_entry as strike
from rvsmlog.store.writing.roles import make_roles
from rvsmlog.store.writing.static_estimate import WeatherFiles, record_estimate
from rvsmlog.store.writing.static_estimate import estimate as static_error
from rvsmlog.verdict import CAUTION, Verdict, judge

__all__ = [
    "CAUTION",
    "RULES",
    "Asked",
    "Checked",
    "Columns",
    "Criterion",
    "Facts",
    "FlightData",
    "InputError",
    "NotJudged",
    "Question",
    "RefusedError",
    "RvsmlogError",
    "Store",
    "StoreError",
    "Verdict",
    "WeatherFiles",
    "WeatherSource",
    "airframes",
    "backup",
    "board",
    "build_demo",
    "check",
    "check_and_record",
    "check_fleet",
    "checks_called_for",
    "comparisons_of",
    "copy_store",
    "correct_clock",
    "create_store",
    "deferrals",
    "describe_store",
    "deviation_report",
    "dossier",
    "doubts",
    "draw_drift",
    "drift",
    "due",
    "enter_extracted",
    "entries",
    "entry",
    "export_airframe",
    "export_store",
    "extract",
    "import_airframe",
    "import_csv",
    "import_store",
    "judge",
    "judged_test",
    "kind",
    "levels",
    "look_at_clock",
    "make_roles",
    "monitoring_plan",
    "now",
    "open_or_create",
    "open_store",
    "oxygen",
    "parse_claim",
    "parse_instant",
    "read_facts",
    "read_points",
    "record",
    "record_estimate",
    "restore",
    "self_check",
    "static_error",
    "strike",
    "unit_history",
    "upgrade_store",
    "verify_store",
    "within",
    "write_board",
    "write_calendar",
    "write_dossier",
    "write_sheet",
]


def airframes(store: Store) -> tuple[Logged[Airframe], ...]:
    """Give the particulars of every airframe as they are now, by registration.

    Examples
    --------
    >>> [each.record.registration for each in airframes(store)]
    ['QX-ALD', 'QX-BRE', 'QX-CYR', 'QX-DAN', 'QX-ESK']
    """
    with store.reading() as connection:
        return fleet_particulars(connection)


def read_facts(store: Store, registration: str, question: Question) -> Facts:
    """Read all that is on record of one airframe, for one planned flight.

    Examples
    --------
    >>> at = parse_instant("2026-11-24T08:00Z")
    >>> facts = read_facts(store, "QX-ALD", Question(at=at, level=310, pilot="IVO"))
    >>> judge(facts).answer.value
    'GO'
    """
    check_question(question)
    with store.reading() as connection:
        return _read_facts(connection, find_airframe(connection, registration), question)


def entries(
    store: Store, name: str, registration: str | None = None, *, superseded: bool = False
) -> tuple[Logged[Any], ...]:
    """Give the standing entries of one kind, the newest last.

    ``name`` is the kind's, as in JSON; without a registration it is the operator's logbook.
    ``superseded`` asks for those too that were corrected or struck out, as they were made.

    Examples
    --------
    >>> [(each.ref.entry, each.record.code) for each in entries(store, "pilot")]
    [(2, 'IVO'), (3, 'TQU'), (4, 'ABR')]
    """
    with store.reading() as connection:
        seen = view(connection, named_book(connection, registration))
        return read(connection, seen, kind(name), superseded=superseded)


def entry(store: Store, number: int, registration: str | None = None) -> History:
    """Give one entry with everything that was corrected in it and refers to it."""
    with store.reading() as connection:
        return history(connection, named_book(connection, registration), number)


def record(
    store: Store,
    name: str,
    fields: Mapping[str, object],
    *,
    by: str,
    clock: Callable[[], datetime],
    registration: str | None = None,
    corrects: int | None = None,
    reason: str | None = None,
    readings_confirmed: bool = False,
) -> tuple[Ref, Record]:
    """Record one entry, or one that corrects another.

    ``fields`` are named as in JSON and CSV; each is a value of the field's own type, or the text
    that an option takes; anything else is refused. In a correction what is left out stays as it
    was. A reading that no altimeter shows in service is refused unless ``readings_confirmed``.

    Examples
    --------
    >>> ref, made = record(
    ...     store,
    ...     "crosscheck",
    ...     {
    ...         "taken_at": "2026-11-20T18:27Z",
    ...         "phase": "level",
    ...         "level": 300,
    ...         "primary_1_ft": 30000,
    ...         "primary_2_ft": 29980,
    ...     },
    ...     by="Ilse Vorrand",
    ...     clock=now,
    ...     registration="QX-ALD",
    ... )
    >>> str(ref), made.difference_ft
    ('VK71-1012#1076', 20)
    """
    of = kind(name)
    return record_entry(
        store,
        of,
        of.texts(fields),
        by=by,
        clock=clock,
        registration=registration,
        supersedes=corrects,
        reason=reason,
        readings_confirmed=readings_confirmed,
    )


def board(store: Store, at: datetime) -> tuple[BoardRow, ...]:
    """Give the fleet: the highest level of each airframe, what sets it, what falls due next.

    Where a row has ``not_judged``, nothing can be said of that airframe, which is never a pass.

    Examples
    --------
    >>> rows = board(store, parse_instant("2026-11-24T08:00Z"))
    >>> [(row.airframe, row.highest_level) for row in rows[:3]]
    [('QX-ALD', 310), ('QX-BRE', 280), ('QX-CYR', None)]
    """
    return board_rows(each_airframe(store, at, at))


def write_board(store: Store, path: Path, at: datetime, made_at: datetime) -> None:
    """Write the fleet as a page; an earlier board is replaced, any other file is left alone."""
    from rvsmlog.pages.board import KIND, board_page
    from rvsmlog.pages.page import write_page

    check_instant(made_at)
    rows = board_rows(each_airframe(store, at, made_at), MOST_DUE)
    write_page(path, KIND, board_page(rows, at=at, made_at=made_at))


def write_sheet(store: Store, path: Path, asked: Asked, made_at: datetime) -> Checked:
    """Write the in-flight sheet of a flight as a page, and give the check that it rests on.

    An earlier sheet is replaced, any other file is left alone; nothing is recorded.
    """
    from rvsmlog.pages.flight_sheet import KIND, sheet_page
    from rvsmlog.pages.page import write_page

    made = check(store, asked, made_at)
    write_page(path, KIND, sheet_page(made, made_at=made_at))
    return made


def due(store: Store, at: datetime, registration: str | None = None) -> tuple[DueItem, ...]:
    """Give all that falls due for one airframe or the fleet, by day; :func:`within` narrows it.

    Refused where one of them cannot be judged: a list with a hole would be taken for a whole one.

    Examples
    --------
    >>> items = due(store, parse_instant("2026-11-24T08:00Z"), "QX-CYR")
    >>> items[0].what, items[0].days_left
    ('static port heat 2: deferral #34 (C, item 30-31-2)', -19)
    """
    return merged(due_items(facts) for facts in fleet_facts(store, at, registration))


def deferrals(
    store: Store, at: datetime, registration: str | None = None
) -> tuple[DeferralRow, ...]:
    """Give the open deferrals of one airframe or the fleet, by last day; refused as :func:`due`."""
    return deferral_rows(fleet_facts(store, at, registration))


def monitoring_plan(store: Store, at: datetime) -> Plan:
    """Say which airframes must be monitored by when, with mean and spread of the results."""
    return _plan_of(each_airframe(store, at, at))


def drift(store: Store, registration: str, at: datetime) -> Drift:
    """Say whether the altimeters drift apart, which moved, and when the limit is reached."""
    return _drift_of(read_facts(store, registration, Question(at=at)))


def draw_drift(store: Store, registration: str, at: datetime, path: Path) -> None:
    """Draw the drift as .svg, or as .png with the extra ``plot``."""
    from rvsmlog.pages.plot_svg import write_plot
    from rvsmlog.reports.drift_plot import drift_plot

    found = drift(store, registration, at)
    if not found.bands:
        raise InputError("there is nothing to draw", "log cross-checks in flight first")
    with store.reading() as connection:
        book = find_airframe(connection, registration)
        points = every_point(connection, view(connection, book), at)
    write_plot(drift_plot(found, points), path)


def dossier(
    store: Store,
    registration: str,
    at: datetime,
    *,
    first: date | None = None,
    last: date | None = None,
) -> Dossier:
    """Give what an inspector asks of one airframe over a span of days, as known now."""
    check_instant(at)
    check_span(first, last)
    return _dossier_of(*read_dossier(store, registration, at, first, last))


def write_dossier(made: Dossier, path: Path, made_at: datetime) -> None:
    """Write a dossier as a page; an earlier one is replaced, any other file is left alone."""
    from rvsmlog.pages.dossier import KIND, dossier_page
    from rvsmlog.pages.page import write_page

    check_instant(made_at)
    write_page(path, KIND, dossier_page(made, made_at))


def levels(store: Store, asked: Asked, at: datetime) -> LevelChoice:
    """Say which cruising levels of a track may be filed, and what excludes the others."""
    return level_choice(check(store, asked, at).facts)


def oxygen(store: Store, asked: Asked, at: datetime) -> OxygenView:
    """Say what oxygen a flight has on board, what it needs by case, and how long it lasts."""
    return oxygen_view(check(store, asked, at).facts)


def unit_history(store: Store, serial: str, at: datetime, part: str | None = None) -> UnitHistory:
    """Follow a unit by its serial number through the logbooks of all airframes."""
    check_text(serial, "the serial number")
    if part is not None:
        check_text(part, "the part number")
    check_instant(at)
    return unit_on_record(store, serial, part, at)


def judged_test(store: Store, registration: str, number: int, at: datetime) -> Judgement | None:
    """Hold the readings of a test against their tolerances; None where the entry is no test."""
    with store.reading() as connection:
        return _judged_test(connection, find_airframe(connection, registration), number, at)
