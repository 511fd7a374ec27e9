"""A deviation's report as text and as JSON, in a layout of our own."""

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from rvsmlog.answers.deviation_report import SOURCES, DeviationReport, due_text
from rvsmlog.reports.text import Line, wrap
from rvsmlog.verdict import CAUTION

_TITLE_COLUMN = 36


def report_lines(report: DeviationReport, now: datetime) -> Iterator[Line]:
    """Lay out the report of a deviation.

    Parameters
    ----------
    report : DeviationReport
        What it says.
    now : datetime
        The present instant, for how the report stands.
    """
    yield Line("ALTITUDE DEVIATION REPORT", "bold")
    yield Line("")
    for title, value in report.fields.items():
        yield from wrap(f"{title + ':':<{_TITLE_COLUMN}}{value}", 0, _TITLE_COLUMN)
    yield Line("")
    yield from wrap(
        f"{'state of the report:':<{_TITLE_COLUMN}}{due_text(report, now)}", 0, _TITLE_COLUMN
    )
    yield from wrap(f"{'log entry:':<{_TITLE_COLUMN}}{report.entry}", 0, _TITLE_COLUMN)
    if report.seal is not None:
        sealed = f"{report.seal.logbook}#{report.seal.entry} {report.seal.digest[:32]}"
        yield from wrap(f"{'seal of the logbook:':<{_TITLE_COLUMN}}{sealed}", 0, _TITLE_COLUMN)
    if report.reportable and not report.closed:
        yield Line("")
        yield from wrap(
            "Not closed: the log keeps the aeroplane below RVSM airspace until a closure says what "
            "was found and done, and who confirmed it.",
            style="bold",
        )
    yield Line("")
    yield from wrap(
        "Check every line before sending it; the form and the addressee are the authority's. "
        + CAUTION,
        style="italic",
    )


def report_object(report: DeviationReport, now: datetime) -> Mapping[str, Any]:
    """Give the report of a deviation as JSON has it."""
    return {
        "entry": report.entry,
        "reportable": report.reportable,
        "sorts": [
            {
                "sort": size.name.removesuffix("_ft"),
                "size_ft": size.size_ft,
                "limit_ft": size.limit_ft,
                "reportable": size.reportable,
            }
            for size in report.sizes
        ],
        "due_at": report.due_at,
        "reported_at": report.reported_at,
        "stands": due_text(report, now),
        "closed": report.closed,
        "fields": dict(report.fields),
        "seal": None
        if report.seal is None
        else {
            "logbook": report.seal.logbook,
            "entry": report.seal.entry,
            "digest": report.seal.digest,
        },
        "sources": SOURCES,
        "caution": CAUTION,
    }
