"""Making the commands of a noun that records and lists entries."""

import typer

from rvsmlog.cli.boards import add_defects, add_fleet
from rvsmlog.cli.entries import add_import, add_show, add_strike
from rvsmlog.cli.helping import group
from rvsmlog.cli.lazy import COMMANDS
from rvsmlog.cli.lists import add_list
from rvsmlog.cli.nouns import ALSO_LISTED, NOUNS
from rvsmlog.cli.recording import add_recording


def make(noun: str) -> typer.Typer:
    """Make the commands of one noun."""
    app = group(COMMANDS[noun][1])
    kinds = tuple(recording.kind for recording in NOUNS[noun])
    for recording in NOUNS[noun]:
        add_recording(app, recording)
    if noun == "airframe":
        from rvsmlog.cli.transfer import add_export

        add_fleet(app)
        add_export(app)
    elif noun == "defect":
        add_defects(app, kinds)
    else:
        add_list(app, noun, kinds + ALSO_LISTED.get(noun, ()))
    if noun == "test":
        from rvsmlog.cli.testing import add_testing

        add_testing(app)
    else:
        add_show(app, noun, kinds[0])
    if noun == "equipment":
        from rvsmlog.cli.units import add_unit_history

        add_unit_history(app)
    if noun == "defect":
        from rvsmlog.cli.upkeep import add_deferral_board

        add_deferral_board(app)
    if noun == "monitoring":
        from rvsmlog.cli.upkeep import add_monitoring_plan

        add_monitoring_plan(app)
    if noun == "oxygen":
        from rvsmlog.cli.flight_questions import add_oxygen_need

        add_oxygen_need(app)
    add_import(app, noun, kinds)
    add_strike(app, noun, kinds[0])
    return app
