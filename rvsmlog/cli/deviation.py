"""Altitude deviations: recorded with their sort and due time, closed, and written as a report."""

from typing import Annotated, Any

import typer

from rvsmlog.answers.deviation_report import due_text, sort_text
from rvsmlog.cli.entries import add_import, add_show, add_strike
from rvsmlog.cli.helping import add, group
from rvsmlog.cli.lists import add_list
from rvsmlog.cli.nouns import NOUNS
from rvsmlog.cli.options import JsonOption, Registration, StoreOption, opened
from rvsmlog.cli.recording import (
    add_recording,
    describe,
    field_parameters,
    parameter,
    record_given,
    recorded_object,
    say_recorded,
    shared_parameters,
    understood,
)
from rvsmlog.dates import now
from rvsmlog.records.flights import Deviation
from rvsmlog.records.trade_fields import EntryNumber
from rvsmlog.reports.deviation import report_lines, report_object
from rvsmlog.reports.text import show, show_json, wrap
from rvsmlog.store.reading.deviations import report_of

KIND = Deviation.kind


def make(name: str) -> typer.Typer:
    """Make the noun."""
    app = group("Report, close and write up altitude deviations.")
    recordings = NOUNS[name]
    describe(
        report,
        recordings[0],
        [
            parameter("reg", Registration),
            *field_parameters(recordings[0]),
            *shared_parameters(),
        ],
    )
    add(app, recordings[0].name, report)
    for recording in recordings[1:]:
        add_recording(app, recording)
    add(app, "text", text)
    kinds = tuple(recording.kind for recording in recordings)
    add_list(app, name, kinds)
    add_show(app, name, KIND)
    add_import(app, name, kinds)
    add_strike(app, name, KIND)
    return app


def report(**options: Any) -> None:
    """Record a deviation, and say how it is sorted and until when a report is due."""
    given = understood(KIND, options)
    ref, record = record_given(KIND, given)
    assert isinstance(record, Deviation)  # noqa: S101  # its kind says so
    assert given.registration is not None  # noqa: S101  # the parser asks for it
    with opened(given.where) as store:
        made = report_of(store, given.registration, ref.entry)
    if given.as_json:
        show_json({**recorded_object(ref, record), "report": report_object(made, now())})
        return
    say_recorded(ref, record, as_json=False)
    show(wrap(sort_text(record), 2, 4))
    show(wrap(due_text(made, now()), 2, 4))
    if made.reportable and made.closed_by is None:
        show(
            wrap(
                "The aeroplane stays below RVSM airspace until `rvsmlog deviation close` says what "
                "was found and done.",
                2,
                4,
            )
        )
    if made.closed_by is not None:
        show(wrap(f"closed by #{made.closed_by}", 2, 4))
    show(wrap(f"The report: `rvsmlog deviation text {given.registration} {ref.entry}`", 2, 4))


def text(
    reg: Registration,
    number: Annotated[str, typer.Argument(metavar="ENTRY", help="The deviation's entry.")],
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Write the report of a deviation as text or JSON, to check and send.

    Example: rvsmlog deviation text QX-ALD 39
    """
    with opened(store) as open_store:
        made = report_of(open_store, reg, EntryNumber("entry").parse(number))
    if json:
        show_json(report_object(made, now()))
    else:
        show(report_lines(made, now()))
