"""The store itself: make, describe, upgrade, back up, restore, verify, export and import."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rvsmlog.cli.copying import copy
from rvsmlog.cli.helping import add, group
from rvsmlog.cli.lazy import COMMANDS
from rvsmlog.cli.options import JsonOption, StoreOption, author, opened
from rvsmlog.dates import now
from rvsmlog.errors import InputError, StoreError
from rvsmlog.records.fields import Whole
from rvsmlog.reports.text import Line, show, show_json, wrap

if TYPE_CHECKING:
    from rvsmlog.store.connection import Store

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
    for command in (init, info, upgrade, backup, restore, verify, export):
        add(app, command.__name__, command)
    add(app, "import", take_in)
    add(app, "copy", copy)
    from rvsmlog.cli.keeping import clock, roles

    add(app, "clock", clock)
    add(app, "roles", roles)
    return app


def init(store: StoreOption = None, json: JsonOption = False) -> None:
    """Make a new, empty store; nothing is ever overwritten.

    Example: rvsmlog store init --store log.sqlite3
    """
    from rvsmlog.store.connection import default_store
    from rvsmlog.store.safekeeping.schema import create_store

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
    """Describe the store: place, schema, what is missing or off, logbooks and their seals.

    Example: rvsmlog store info
    """
    from rvsmlog.reports.verification import info_lines, looked_object
    from rvsmlog.store.connection import open_store
    from rvsmlog.store.reading.info import describe
    from rvsmlog.store.safekeeping.self_check import self_check

    with open_store(store, any_revision=True) as any_store:
        described, looked = describe(any_store), self_check(any_store, now())
    if json:
        show_json({**described.as_object(), "self_check": looked_object(looked)})
    else:
        show(info_lines(described, looked))


def upgrade(store: StoreOption = None, json: JsonOption = False) -> None:
    """Bring an older store up to the present schema, after a backup.

    Example: rvsmlog store upgrade --store demo.sqlite3
    """
    from rvsmlog.store.connection import default_store
    from rvsmlog.store.safekeeping.schema import upgrade_store

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
        typer.Argument(
            metavar="[FILE]", help="New file, or a folder; beside the store when left out."
        ),
    ] = None,
    keep: Annotated[
        str | None,
        typer.Option(
            "--keep",
            metavar="N",
            help="Leave the newest N backups of the store in that folder, remove older ones.",
            show_default=False,
        ),
    ] = None,
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Copy the store while others may go on writing, and verify the copy.

    Nothing is ever overwritten; --keep removes only files that are named as this command names
    them, such as log.20260501T120000Z.backup.sqlite3.

    Example: rvsmlog store backup demo.backup.sqlite3
    """
    from rvsmlog.cli.progress import progress
    from rvsmlog.store.safekeeping.backup import backup as copy_store

    most = None if keep is None else _count("--keep", keep)
    with (
        opened(store) as open_store,
        progress("verifying", _entries(open_store), least=_WORTH_A_BAR) as tell,
    ):
        target = None if file is None else Path(file)
        made = copy_store(open_store, target, now=now(), keep=most, progress=tell)
    if json:
        removed = [str(each) for each in made.removed]
        show_json({"backup": str(made.file), "entries": made.entries, "removed": removed})
        return
    verified = "" if made.entries is None else f": {made.entries:,} entries, every digest agrees"
    show(wrap(f"copied to {made.file}{verified}", hanging=2))
    for each in made.removed:
        show(wrap(f"removed {each}", hanging=2))


def restore(
    file: Annotated[str, typer.Argument(metavar="FILE", help="A backup.")],
    replace: Annotated[
        bool,
        typer.Option("--replace", help="Replace a store that is there; it is kept beside it."),
    ] = False,
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Make a store of a backup, after verifying every digest in it.

    What stands at the place is not touched without --replace.

    Example: rvsmlog store restore demo.backup.sqlite3 --store restored.sqlite3
    """
    from rvsmlog.cli.progress import progress
    from rvsmlog.store.connection import default_store, open_store
    from rvsmlog.store.safekeeping.restore import restore as restore_store

    try:
        with open_store(file) as source:
            total = _entries(source)
    except StoreError:
        total = 0  # the restoring itself says what is wrong with it
    with progress("verifying", total, least=_WORTH_A_BAR) as tell:
        made = restore_store(
            Path(file), store or default_store(), now=now(), replace=replace, progress=tell
        )
    if json:
        kept = None if made.kept is None else str(made.kept)
        show_json({"store": str(made.store), "entries": made.entries, "kept": kept})
        return
    if made.entries is None:
        show(wrap(f"restored {made.store}; its schema is older: run `rvsmlog store upgrade`"))
    else:
        show(wrap(f"restored {made.store}: {made.entries:,} entries, every digest agrees"))
    if made.kept is not None:
        show(wrap(f"the store that was there is now {made.kept}"))


def export(
    file: Annotated[
        str, typer.Argument(metavar="FILE", help="New file; compressed if it ends in .gz.")
    ],
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Write all logbooks with their digests to a JSON Lines file.

    The same logbooks give the same bytes. Every digest is verified on the way.

    Example: rvsmlog store export demo.jsonl.gz
    """
    from rvsmlog.cli.progress import progress
    from rvsmlog.reports.transfer import exported_lines, exported_object
    from rvsmlog.store.safekeeping.export import export_store

    with (
        opened(store) as open_store,
        progress("exporting", _entries(open_store), least=_WORTH_A_BAR) as tell,
    ):
        made = export_store(open_store, Path(file), tell)
    if json:
        show_json(exported_object(made))
    else:
        show(exported_lines(made))


def take_in(
    file: Annotated[str, typer.Argument(metavar="FILE", help="A file made by `store export`.")],
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Take all logbooks of an export into an empty store: all of them, or none.

    Numbers, authors, times and seals stay as they were; every digest is computed anew.

    Example: rvsmlog store import demo.jsonl.gz --store log.sqlite3
    """
    from rvsmlog.cli.transfer import reading
    from rvsmlog.reports.transfer import taken_lines, taken_object
    from rvsmlog.store.safekeeping.transfer import import_store

    with opened(store) as open_store, reading(Path(file)) as tell:
        taken = import_store(open_store, Path(file), by=author(None), clock=now, progress=tell)
    if json:
        show_json([taken_object(each) for each in taken])
    else:
        for each in taken:
            show(taken_lines(each))


def _count(option: str, text: str) -> int:
    """Read how many."""
    try:
        return Whole("how many", low=1, high=100_000).parse(text)
    except InputError as error:
        raise InputError(f"{option}: {error.message}", error.hint) from None


def _entries(store: "Store") -> int:
    """Give how many entries a store holds."""
    from rvsmlog.store.safekeeping.verify import entries_to_verify

    with store.reading() as connection:
        return entries_to_verify(connection)


def verify(
    seal: SealsOption = None,
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Compute every digest anew; leaves with 1 when anything was changed or a seal does not hold.

    A seal printed earlier, on paper say, also finds a log that was cut short or written anew as a
    whole. Several narrow down where.

    Example: rvsmlog store verify
    """
    from rvsmlog.cli.progress import progress
    from rvsmlog.reports.verification import verification_lines, verification_object
    from rvsmlog.store.safekeeping.seals import parse_claim
    from rvsmlog.store.safekeeping.soundness import verify_store

    claims = [parse_claim(each) for each in seal or ()]
    with (
        opened(store) as open_store,
        progress("verifying", _entries(open_store), least=_WORTH_A_BAR) as tell,
    ):
        found = verify_store(open_store, claims, tell)
    if json:
        show_json(verification_object(found.verification, found.answers))
    else:
        show(verification_lines(found.verification, found.answers))
    raise typer.Exit(0 if found.sound else 1)
