"""The one error base class: a message that names the fault and a hint that mends it."""

import sys
from collections.abc import Iterable

#: Whether Python left docstrings out, from this grade on, and what is said then.
LACKS_DOCSTRINGS = sys.flags.optimize >= 2  # noqa: PLR2004  # the grade of -OO
NO_DOCSTRINGS = (
    "Python was told to leave docstrings out (-OO or PYTHONOPTIMIZE), and the rules' own pages are "
    "some: rvsmlog does not run so"
)
WANTS_DOCSTRINGS = "unset PYTHONOPTIMIZE; -O alone does no harm"
#: What to do where it is not known whether something was recorded.
LOOK_FIRST = "look with `list` or `store info` before it is typed again"


def did_you_mean(word: str, words: Iterable[str]) -> str:
    """Give the start of a hint that names the nearest word; ``""`` where none is near.

    Examples
    --------
    >>> did_you_mean("hourli", ("ground", "hourly"))
    'did you mean hourly? '
    """
    from difflib import get_close_matches  # only where something is wrong

    by_lower = {each.lower(): each for each in words}
    near = get_close_matches(word.strip().lower(), by_lower, n=1)
    return f"did you mean {by_lower[near[0]]}? " if near else ""


class RvsmlogError(Exception):
    """A fault the user can act on.

    Parameters
    ----------
    message : str
        What is wrong, in one line, with the offending value.
    hint : str, optional
        What to do about it, in one line.
    """

    #: Exit status of the command line when this error ends a command.
    exit_status = 2

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint


class InputError(RvsmlogError):
    """Bad usage or bad input; nothing was written."""


class OutOfRangeError(InputError):
    """A number outside the range for which a formula or a table is defined."""


class RefusedError(RvsmlogError):
    """Somebody may not record that; it was not."""


class StoreError(RvsmlogError):
    """The store cannot be used."""

    exit_status = 3


class LostTableError(StoreError):
    """A table is not there."""


class DeniedError(StoreError):
    """The server does not let this login do that."""


class OutputError(RvsmlogError):
    """The answer cannot be written where it should go; what was recorded stays recorded."""

    exit_status = 3
