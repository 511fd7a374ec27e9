"""The store's clock, and the roles of its people on a server."""

from typing import Annotated

import typer

from rvsmlog.cli.options import AuthorOption, JsonOption, StoreOption, author, opened, said
from rvsmlog.dates import now, parse_instant
from rvsmlog.errors import InputError
from rvsmlog.records.base import FieldError
from rvsmlog.reports.text import show, show_json


def clock(
    it_is: Annotated[
        str | None,
        typer.Option(
            "--it-is",
            metavar="INSTANT",
            help="The time now by a clock that you trust: corrects the logbooks' time.",
            show_default=False,
        ),
    ] = None,
    reason: Annotated[
        str | None,
        typer.Option("--reason", metavar="TEXT", help="Why the clock was wrong, with --it-is."),
    ] = None,
    store: StoreOption = None,
    by: AuthorOption = None,
    json: JsonOption = False,
) -> None:
    """Hold the machine's clock against the logbooks; enter that it had been ahead.

    Entries are made in the order of time, so one made while the clock was ahead bars all later
    ones. With --it-is, each such logbook gets an entry that says so, and goes on from the right
    time. Nothing on record changes; the false times stay readable.

    Example: rvsmlog store clock --it-is 2026-05-01T12:00Z --reason "wrong year after repair"
    """
    from rvsmlog.reports.clock import clock_lines, clock_object
    from rvsmlog.store.writing.clock import correct_clock, look_at_clock

    if (it_is is None) != (reason is None):
        raise InputError("--it-is and --reason go together", "give both, or neither to look only")
    right = said("--it-is", it_is, parse_instant)
    with opened(store) as open_store:
        if right is not None and reason is not None:
            try:
                state = correct_clock(open_store, right, reason, by=author(by), clock=now)
            except FieldError as error:
                # The entry's one field is given by this option.
                raise InputError(f"--reason: {error.fault}", error.hint) from None
        else:
            state = look_at_clock(open_store, now())
    if json:
        show_json(clock_object(state))
    else:
        show(clock_lines(state))


def roles(
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Print the statements; run nothing.")
    ] = False,
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Have a PostgreSQL server itself refuse what a person may not record.

    Makes the group roles rvsmlog_crew, rvsmlog_controller and rvsmlog_releaser with their rights,
    and puts into them the logins that people on the operator's list name. To be run by the owner
    of the store's tables, who may create roles; again after each change of the list, and after an
    upgrade. Logins are made by whoever runs the server.

    Example: rvsmlog store roles --store postgresql+psycopg://owner@server/rvsmlog
    """
    from rvsmlog.reports.roles import roles_lines, roles_object
    from rvsmlog.store.writing.roles import make_roles

    with opened(store) as open_store:
        made = make_roles(open_store, now().date(), run=not dry_run)
    if json:
        show_json(roles_object(made))
    elif dry_run:
        for statement in made.statements:
            typer.echo(f"{statement};")
    else:
        show(roles_lines(made))
