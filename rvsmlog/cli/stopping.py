"""What is said when somebody stops a command: how far what it was to record had come."""

from typing import TYPE_CHECKING

from rvsmlog.errors import LOOK_FIRST

if TYPE_CHECKING:
    from rvsmlog.store.connection import Store

#: The stores that the command has opened.
OPENED: list["Store"] = []


def leave_quietly() -> None:
    """Keep to one line where somebody stops the command.

    What the database's library and its driver then say of a connection that they give up, with a
    traceback, stands in the way of it.
    """
    import logging  # here only: a command that opens no store does without

    for name in ("sqlalchemy", "psycopg"):
        logger = logging.getLogger(name)
        if not logger.handlers:
            logger.addHandler(logging.NullHandler())


def stopped() -> tuple[str, str, int]:
    """Give the message, the hint and the exit status of a command that was stopped.

    What was committed is on record though it was not reported any more, and status 2 says that
    nothing was written.
    """
    kept = {store.kept for store in OPENED}
    if None in kept:
        return "stopped while it was being recorded: it may be on record", LOOK_FIRST, 3
    if True in kept:
        return "stopped before it said so: what was to be recorded is on record", LOOK_FIRST, 3
    hint = "nothing was written but what was reported as recorded"
    return "stopped before the end", hint, 2


def is_untold(told: int) -> bool:
    """Whether more was recorded, or may have been, than was told of.

    Parameters
    ----------
    told : int
        How many recordings were told of, each into a store that was opened for it.
    """
    kept = [store.kept for store in OPENED]
    return None in kept or kept.count(True) > told
