"""Altimeter cross-checks: logged in one line or as a guided sheet, listed with differences."""

import sys
from collections.abc import Mapping, Sequence
from typing import Annotated, Any

import typer
from sqlalchemy import Connection

from rvsmlog.cli.completing import registrations_of
from rvsmlog.cli.entries import add_import, add_show, add_strike
from rvsmlog.cli.extract import extract
from rvsmlog.cli.flight_sheet import sheet
from rvsmlog.cli.follows import follows
from rvsmlog.cli.helping import add, group
from rvsmlog.cli.lists import SHOWN, AllOption, CsvOption, Form, LastOption, form_of, how_many
from rvsmlog.cli.nouns import NOUNS
from rvsmlog.cli.options import JsonOption, Registration, StoreOption, author, opened
from rvsmlog.cli.recording import (
    Given,
    ReadingsConfirmed,
    as_option,
    describe,
    field_parameters,
    parameter,
    record_given,
    recorded_object,
    say_recorded,
    shared_parameters,
    understood,
)
from rvsmlog.errors import InputError
from rvsmlog.facts import Logged
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.base import FieldError, Ref
from rvsmlog.records.flights import CrossCheck
from rvsmlog.reports.comparisons import (
    Comparison,
    comparison_lines,
    comparison_object,
    comparisons_of,
    next_steps,
)
from rvsmlog.reports.crosschecks import crosscheck_lines, crosscheck_row
from rvsmlog.reports.csv_text import show_csv
from rvsmlog.reports.states import State, superseded_states
from rvsmlog.reports.text import show, show_json, show_json_rows
from rvsmlog.store.reading.airframes import find_airframe
from rvsmlog.store.reading.lookup import newest_crosschecks, particulars
from rvsmlog.store.reading.reader import strikes, view

KIND = CrossCheck.kind


def make(name: str) -> typer.Typer:
    """Make the noun."""
    app = group("Log and list altimeter cross-checks.")
    recording = NOUNS[name][0]

    def log(**options: Any) -> None:
        guided = options.pop("guided")
        confirmed = options.pop("readings_confirmed")
        given = understood(KIND, options)
        if guided or (_lacks(given) and sys.stdin.isatty()):
            _log_guided(given)
        else:
            _log_in_one_line(given, readings_confirmed=confirmed)

    registration = typer.Argument(
        metavar="[REG]",
        help="Registration; asked for when left out.",
        autocompletion=registrations_of,
    )
    guided = typer.Option("--guided", help="Ask for one field after the other.")
    parameters = [
        parameter("reg", Annotated[str | None, registration], None),
        *field_parameters(recording),
        parameter("guided", Annotated[bool, guided], False),
        parameter("readings_confirmed", ReadingsConfirmed, False),
        *shared_parameters(),
    ]
    describe(log, recording, parameters)
    add(app, recording.name, log)
    add(app, "list", list_checks)
    add_show(app, name, KIND)
    add_import(app, name, (KIND,))
    add(app, "extract", extract)
    add(app, "sheet", sheet)
    add_strike(app, name, KIND)
    return app


def _lacks(given: Given) -> bool:
    """Whether something is missing: what every cross-check needs, or what a correction changes."""
    if given.corrects is not None:
        changes = [text for text in given.texts.values() if text is not None]
        return given.registration is None or not changes
    needed = [given.texts[spec.name] for spec in KIND.fields if spec.required]
    return None in (given.registration, *needed)


def _log_in_one_line(given: Given, *, readings_confirmed: bool) -> None:
    """Record what the command line says, and say what follows from it."""
    if given.registration is None:
        raise InputError("no airframe is named", "name its registration, or use --guided")
    ref, record = record_given(KIND, given, readings_confirmed=readings_confirmed)
    assert isinstance(record, CrossCheck)  # noqa: S101  # its kind says so
    airframe = _airframe(given.where, given.registration)
    compared = comparisons_of(airframe, record)
    if given.as_json:
        show_json(_object(ref, record, compared))
        return
    say_recorded(ref, record, as_json=False, found=follows(given.where, ref, record))
    for comparison in compared:
        show(comparison_lines(comparison))
    if any(comparison.beyond for comparison in compared):
        show(next_steps(airframe.registration, ref.entry, record))


def _airframe(where: str | None, registration: str) -> Airframe:
    """Give an airframe's particulars."""
    with opened(where) as store, store.reading() as connection:
        return particulars(connection, registration).record


def _object(ref: Ref, record: CrossCheck, compared: tuple[Comparison, ...]) -> Mapping[str, Any]:
    """Give a new cross-check as JSON has it, with what was compared."""
    return {
        **recorded_object(ref, record),
        "difference_ft": record.difference_ft,
        "compared": [comparison_object(each) for each in compared],
    }


def _log_guided(given: Given) -> None:
    """Ask for the checks; JSON is one check, and the questions then go to standard error."""
    from rvsmlog.cli.dialogue import Dialogue
    from rvsmlog.cli.guided import Wish, guide

    if given.corrects is not None and not (given.reason or "").strip():
        raise InputError("a correction needs its reason", "say why with --reason TEXT")
    wish = Wish(
        where=given.where,
        by=author(given.by),
        registration=given.registration,
        given=given.texts,
        corrects=given.corrects,
        reason=given.reason,
        one=given.as_json or given.corrects is not None,
    )
    try:
        made = guide(Dialogue(sys.stderr if given.as_json else sys.stdout), wish)
    except FieldError as error:
        raise as_option(error) from None
    if given.as_json:
        ref, record, airframe = made[0]
        show_json(_object(ref, record, comparisons_of(airframe, record)))


def list_checks(
    reg: Registration,
    last: LastOption = None,
    every: AllOption = False,
    store: StoreOption = None,
    csv: CsvOption = False,
    json: JsonOption = False,
) -> None:
    """List the cross-checks and their differences, newest last.

    The screen shows the newest 20 unless told otherwise; JSON and CSV give all.

    Example: rvsmlog crosscheck list QX-ALD --last 50
    """
    form = form_of(csv=csv, json=json, every=every)
    count = how_many(last, SHOWN if form is Form.SCREEN else None)
    with opened(store) as open_store, open_store.reading() as connection:
        airframe = particulars(connection, reg).record
        # One more than asked for tells whether there are more.
        wanted = None if count is None else count + 1
        found = newest_crosschecks(connection, reg, wanted, superseded=every)
        gone = _superseded(connection, reg, found) if every else {}
    shown = found if count is None else found[-count:]
    if form is Form.JSON:
        show_json_rows(crosscheck_row(airframe, each, gone.get(each.ref)) for each in shown)
    elif form is Form.CSV:
        show_csv(KIND, shown, airframe.registration)
    else:
        more = len(found) > len(shown)
        show(crosscheck_lines(airframe, shown, more=more, superseded=gone))


def _superseded(
    connection: Connection, registration: str, found: Sequence[Logged[CrossCheck]]
) -> Mapping[Ref, State]:
    """Say of cross-checks that no longer stand what supersedes them."""
    seen = view(connection, find_airframe(connection, registration))
    return superseded_states(found, seen.corrected, strikes(connection, seen))
