"""Drift between the altimeters."""

from pathlib import Path
from typing import Annotated

import typer

from rvsmlog.cli.helping import single
from rvsmlog.cli.options import (
    ForWhenOption,
    JsonOption,
    Registration,
    StoreOption,
    instant_of,
    opened,
)
from rvsmlog.errors import InputError
from rvsmlog.reports.text import show, show_json, wrap

_PlotOption = Annotated[
    str | None,
    typer.Option(
        "--plot", metavar="FILE", help="Draw it too, as .svg, or as .png with matplotlib."
    ),
]


def make(name: str) -> typer.Typer:
    """Make the command."""
    return single(name, drift)


def drift(
    reg: Registration,
    at: ForWhenOption = None,
    plot: _PlotOption = None,
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Show whether the altimeters drift apart, which moved, and when the limit is reached.

    Example: rvsmlog drift QX-ALD --plot drift.svg
    """
    from rvsmlog.answers.drift_analysis import analysed
    from rvsmlog.facts import Question
    from rvsmlog.reports.drift_screen import drift_lines, drift_object
    from rvsmlog.store.reading.airframes import find_airframe
    from rvsmlog.store.reading.drift_reader import every_point
    from rvsmlog.store.reading.facts_reader import read_facts
    from rvsmlog.store.reading.reader import view

    with opened(store) as open_store, open_store.reading() as connection:
        instant = instant_of(open_store, at, reg)
        book = find_airframe(connection, reg)
        facts = read_facts(connection, book, Question(at=instant))
        history = () if plot is None else every_point(connection, view(connection, book), instant)
    found = analysed(facts)
    if plot is not None:
        from rvsmlog.pages.plot_svg import write_plot
        from rvsmlog.reports.drift_plot import drift_plot

        if not found.bands:
            raise InputError("there is nothing to draw", "log cross-checks in flight first")
        write_plot(drift_plot(found, history), Path(plot))
    if json:
        show_json(drift_object(found))
        return
    show(drift_lines(found))
    if plot is not None:
        show(wrap(f"written: {plot}", 0, 2))
