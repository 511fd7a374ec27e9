"""A bar on the terminal for work that takes more than a moment; nothing anywhere else."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Tell = Callable[[int], None]


@contextmanager
def progress(what: str, total: int, *, least: int) -> Iterator[Tell | None]:
    """Show how far a piece of work has come.

    Parameters
    ----------
    what : str
        What is done, for example ``verifying``.
    total : int
        How much there is to do.
    least : int
        From how much on it is worth a bar: about a second's work.

    Yields
    ------
    callable or None
        To be told how much is done; None where there is no terminal or little to do.
    """
    if total < least or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=total)
        yield lambda done: bar.update(task, completed=done)
