"""The demo: an invented operator's store to explore."""

import os
import shlex

import typer

from rvsmlog.cli.helping import single
from rvsmlog.cli.options import JsonOption, StoreOption
from rvsmlog.dates import now, show_instant
from rvsmlog.reports.text import WIDTH, Line, escape, show, show_json, wrap
from rvsmlog.store.connection import STORE_VARIABLE, open_store
from rvsmlog.store.importing.demo import Demo, DemoStore, demo_store
from rvsmlog.store.importing.demo import demo as read_demo
from rvsmlog.verdict import CAUTION

# A blank and a backslash at the end of a line that goes on.
_CONTINUED = len(" \\")


def make(name: str) -> typer.Typer:
    """Make the command."""
    return single(name, demo)


def demo(store: StoreOption = None, json: JsonOption = False) -> None:
    """Build an invented operator's store, and show what its fleet may file.

    The store named by --store or RVSMLOG_STORE is made when there is none yet. One that holds
    other records is never touched: the demo then has a file of its own.

    Example: rvsmlog demo --store demo.sqlite3
    """
    from rvsmlog.reports.fleet import fleet_lines, fleet_objects, fleet_rows
    from rvsmlog.store.writing.checks import Asked
    from rvsmlog.store.writing.fleet import each_check

    named = store or os.environ.get(STORE_VARIABLE, "").strip() or None
    about, place = read_demo(), demo_store(named, now)
    asked = Asked(registration="", at=about.at, level=about.level, pilot=about.pilot)
    with open_store(place.where) as opened:
        rows = fleet_rows(each_check(opened, asked, about.at))
        where = opened.name
    if json:
        show_json(
            {
                "store": where,
                "made": place.made,
                "operator": about.operator,
                "at": about.at,
                "pilot": about.pilot,
                "fleet": fleet_objects(rows),
                "try": [f"rvsmlog {each} --store {shlex.quote(where)}" for each in about.commands],
                "caution": CAUTION,
            }
        )
        return
    show([*_opening(about, place, where), Line(""), *fleet_lines(rows), *_onward(about, where)])


def _opening(about: Demo, place: DemoStore, where: str) -> list[Line]:
    """Say what was made, and where."""
    lines = []
    if place.kept_clear_of is not None:
        lines += wrap(f"left alone: {place.kept_clear_of} is no demo store", style="bold")
    done = "made the demo store" if place.made else "the demo store was there already:"
    lines.append(Line(f"{done} {escape(where)}", "bold"))
    lines += wrap(
        f"{about.operator}, its people, aeroplanes and readings are invented. The flights end "
        f"with {about.ends_on}; ask about {show_instant(about.at)}.",
        2,
        2,
    )
    return lines


def _onward(about: Demo, where: str) -> list[Line]:
    """Say how to go on exploring; each command can be copied as it stands."""
    lines = [Line(""), Line("Go on with", "bold")]
    for command in about.commands:
        first, rest = f"  rvsmlog {command}", f"--store {escape(shlex.quote(where))}"
        if len(f"{first} {rest}") <= WIDTH:
            lines.append(Line(f"{first} {rest}"))
            continue
        if len(first) + _CONTINUED > WIDTH:
            first, mark, last = first.rpartition(" --")
            rest = f"{mark.strip()}{last} {rest}"
        lines += [Line(f"{first} \\"), Line(f"    {rest}")]
    return lines
