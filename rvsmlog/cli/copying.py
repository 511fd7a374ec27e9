"""A whole store copied to another place: from a file to a server, or back."""

from typing import Annotated

import typer

from rvsmlog.cli.options import JsonOption, StoreOption, author, opened
from rvsmlog.cli.progress import progress
from rvsmlog.dates import now
from rvsmlog.reports.text import show, show_json, wrap

#: Entries from which on a bar is shown: about a second's work.
_WORTH_A_BAR = 10_000


def copy(
    to: Annotated[
        str,
        typer.Argument(metavar="TO", help="A new file, or an empty PostgreSQL database."),
    ],
    store: StoreOption = None,
    json: JsonOption = False,
) -> None:
    """Copy the whole store into an empty one: a file to a server, a server to a file.

    The store itself stays as it is. Every digest is computed anew on both sides, and the seals are
    compared before anything is kept.

    Example: rvsmlog store copy postgresql+psycopg://rvsmlog@localhost/rvsmlog
    """
    from rvsmlog.reports.transfer import taken_lines, taken_object
    from rvsmlog.store.safekeeping.copying import copy_store
    from rvsmlog.store.safekeeping.schema import open_or_create
    from rvsmlog.store.safekeeping.verify import entries_to_verify

    with opened(store) as source, open_or_create(to) as target:
        with source.reading() as connection:
            total = entries_to_verify(connection)
        with progress("copying", total, least=_WORTH_A_BAR) as tell:
            taken = copy_store(source, target, by=author(None), clock=now, progress=tell)
        name = target.name
    if json:
        show_json([taken_object(each) for each in taken])
        return
    show(wrap(f"copied to {name}", 0, 2, "bold"))
    for each in taken:
        show(taken_lines(each))
