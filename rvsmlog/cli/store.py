"""The store itself: make, describe, upgrade, back up, verify."""

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from rvsmlog.cli.helping import add, group
from rvsmlog.cli.lazy import COMMANDS
from rvsmlog.cli.options import JsonOption, StoreOption, opened
from rvsmlog.dates import now
from rvsmlog.reports.text import Line, show, show_json, wrap

#: Entries from which on a bar is shown: about a second's work.
_WORTH_A_BAR = 50_000

SealsOption = Annotated[
    list[str] | None,
    typer.Option(
        "--seal",
        metavar="LOGBOOK#NUMBER:DIGITS",
        help="A seal printed earlier; may be given several times.",
        show_default=False,
    ),
]


def make(name: str) -> typer.Typer:
    """Make the commands."""
    app = group(COMMANDS[name][1])
    for command in (init, info, upgrade, backup, verify):
        add(app, command.__name__, command)
    return app


def init(store: StoreOption = None, json: JsonOption = False) -> None:
    """Make a new, empty store; nothing is ever overwritten.

    Example: rvsmlog store init --store log.sqlite3
    """
    from rvsmlog.store.connection import default_store
    from rvsmlog.store.schema import create_store

    with create_store(store or default_store()) as made:
        if json:
            show_json({"store": made.name, "made": True})
            return
        show(
            [
                Line(f"made {made.name}", "bold"),
                *wrap("next: `rvsmlog operator set`, then `rvsmlog airframe add`"),
            ]
        )


def info(store: StoreOption = None, json: JsonOption = False) -> None:
    """Describe the store: place, schema, logbooks and their seals.

    Example: rvsmlog store info
    """
    from rvsmlog.store.connection import open_store
    from rvsmlog.store.info import describe

    with open_store(store, any_revision=True) as any_store:
        described = describe(any_store)
    if json:
        show_json(described.as_object())
    else:
        from rvsmlog.reports.verification import info_lines

        show(info_lines(described))


def upgrade(store: StoreOption = None, json: JsonOption = False) -> None:
    """Bring an older store up to the present schema, after a backup.

    Example: rvsmlog store upgrade --store log.sqlite3
    """
    from rvsmlog.store.connection import default_store
    from rvsmlog.store.schema import upgrade_store

    before, after, copy = upgrade_store(store or default_store(), now())
    if json:
        show_json({"before": before, "after": after, "backup": None if copy is None else str(copy)})
        return
    if before == after:
        show(wrap(f"the store has schema {after} already; nothing was done"))
        return
    show(wrap(f"schema {before} became {after}" + (f"; the backup is {copy}" if copy else "")))


def backup(
    file: Annotated[
        str | None,
        typer.Argument(metavar="[FILE]", help="New file; beside the store when left out."),
    ] = None,
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Copy the store while others may go on writing; nothing is ever overwritten.

    Example: rvsmlog store backup log-2026-05-01.sqlite3
    """
    from rvsmlog.store.backup import backup as copy_store

    with opened(store) as open_store:
        target = copy_store(open_store, None if file is None else Path(file), now=now())
    if json:
        show_json({"backup": str(target)})
    else:
        show(wrap(f"copied to {target}"))


def verify(
    seal: SealsOption = None,
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Compute every digest anew; leaves with 1 when anything was changed or a seal does not hold.

    A seal printed earlier, on paper say, also finds a log that was cut short or written anew as a
    whole. Several narrow down where.

    Example: rvsmlog store verify --seal VK71-1007#45:1b4d3e5f60718293a4b5c6d7e8f90a1b
    """
    from rvsmlog.cli.progress import progress
    from rvsmlog.reports.verification import verification_lines, verification_object
    from rvsmlog.store.guards import guard_faults
    from rvsmlog.store.seals import check_claims, parse_claim
    from rvsmlog.store.verify import entries_to_verify
    from rvsmlog.store.verify import verify as verify_store

    claims = [parse_claim(each) for each in seal or ()]
    with opened(store) as open_store, open_store.reading() as connection:
        total = entries_to_verify(connection)
        with progress("verifying", total, least=_WORTH_A_BAR) as tell:
            found = verify_store(connection, tell)
        answers = check_claims(connection, found, claims)
        found = replace(found, faults=(*found.faults, *guard_faults(connection)))
    if json:
        show_json(verification_object(found, answers))
    else:
        show(verification_lines(found, answers))
    sound = not found.faults and all(answer.holds for answer in answers)
    raise typer.Exit(0 if sound else 1)
