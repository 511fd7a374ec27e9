"""The catalogue of rules."""

from typing import Annotated

import typer

from rvsmlog.cli.completing import rule_names
from rvsmlog.cli.helping import single
from rvsmlog.cli.options import JsonOption
from rvsmlog.reports.rules import find_rule, page_lines, rule_object
from rvsmlog.reports.text import Line, show, show_json, wrap
from rvsmlog.rules import RULEBOOK, RULES


def make(name: str) -> typer.Typer:
    """Make the command."""
    return single(name, rules)


def rules(
    name: Annotated[
        str | None,
        typer.Argument(metavar="[NAME]", help="A rule, for its page.", autocompletion=rule_names),
    ] = None,
    json: JsonOption = False,
) -> None:
    """List the rules, or show one with its sources.

    Example: rvsmlog rules altimeters-disagree
    """
    chosen = RULES if name is None else (find_rule(name),)
    if json:
        show_json([rule_object(rule) for rule in chosen])
        return
    if name is not None:
        show(page_lines(chosen[0]))
        return
    lines = [Line(f"Rules, {RULEBOOK}", "bold"), Line("")]
    for rule in RULES:
        lines += wrap(rule.name, style="bold") + wrap(rule.summary, 4, 4)
    show([*lines, Line(""), *wrap("One rule's page: `rvsmlog rules NAME`")])
