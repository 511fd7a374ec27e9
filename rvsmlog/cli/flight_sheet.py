"""The in-flight sheet: a file for the tablet, and for the printer."""

from pathlib import Path
from typing import Annotated

import typer

from rvsmlog.cli.flight_options import with_flight
from rvsmlog.cli.flight_questions import asked_of, checked_once
from rvsmlog.cli.options import (
    ForWhenOption,
    JsonOption,
    LevelOption,
    PilotOption,
    RegionOption,
    Registration,
    StoreOption,
)
from rvsmlog.dates import now
from rvsmlog.facts import NOTHING_SAID, FlightData
from rvsmlog.reports.text import Line, show, show_json, wrap
from rvsmlog.units import show_level
from rvsmlog.verdict import CAUTION, Answer, Verdict


@with_flight
def sheet(
    reg: Registration,
    out: Annotated[
        str,
        typer.Option(
            "--out",
            metavar="FILE",
            help="The page; an earlier sheet is replaced, any other file left alone. [required]",
        ),
    ],
    level: LevelOption = None,
    at: ForWhenOption = None,
    region: RegionOption = None,
    pilot: PilotOption = None,
    store: StoreOption = None,
    json: JsonOption = False,
    flight: FlightData = NOTHING_SAID,
) -> None:
    """Write the sheet for a flight's cross-checks: for a tablet without network, and for paper.

    It holds this airframe's tolerances, says at once what is beyond them and what to do, keeps what
    is typed, and gives it back as a file for `rvsmlog crosscheck import`. Nothing is recorded.

    JSON is the check that the sheet rests on, as `rvsmlog gonogo` gives it.

    Example: rvsmlog crosscheck sheet QX-ALD --level 310 --pilot IVO --at 2026-11-24T08:00Z
        --out sheet.html
    """
    from rvsmlog.pages.flight_sheet import KIND, sheet_page
    from rvsmlog.pages.page import write_page
    from rvsmlog.reports.verdict_json import verdict_object

    asked = asked_of(reg, flight, level=level, at=at, region=region, pilot=pilot)
    made = checked_once(store, asked)
    write_page(Path(out), KIND, sheet_page(made, made_at=now()))
    if json:
        show_json(verdict_object(made))
        return
    show([*wrap(f"written: {out}", 0, 2), *_stands(made.verdict), *wrap(CAUTION)])


def _stands(verdict: Verdict) -> list[Line]:
    """Say how the flight stands, for a sheet alone is no go-ahead."""
    planned, highest = verdict.planned_level, verdict.highest_level
    usable = "no flight" if highest is None else f"highest level {show_level(highest)}"
    if planned is None:
        return wrap(f"{verdict.airframe}  {usable}", 0, 2)
    answer = f"{verdict.airframe}  {verdict.answer.value} at {show_level(planned)}"
    if verdict.answer is Answer.GO:
        return wrap(answer, 0, 2)
    return wrap(f"{answer}: {usable}; why: `rvsmlog gonogo {verdict.airframe}`", 0, 2)
