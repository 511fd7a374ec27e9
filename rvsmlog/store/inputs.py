"""Files that are read: opened so that nothing is waited for without end."""

import os
import select
import stat
from pathlib import Path
from typing import BinaryIO

from rvsmlog.errors import InputError

#: How long a pipe may keep a reader waiting for its first byte.
LONGEST_WAIT_S = 5.0


def open_input(path: Path, wanted: str) -> BinaryIO:
    """Open a file, or a pipe that somebody writes to, for reading.

    Parameters
    ----------
    path : Path
        What was named.
    wanted : str
        What should be named, for the error text: ``a CSV file``.

    Raises
    ------
    InputError
        When it cannot be read, is a folder, or is a pipe to which nobody writes.
    """
    try:
        # A pipe without a writer would keep a plain open waiting.
        flags = getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
        number = os.open(path, os.O_RDONLY | flags)
    except (OSError, ValueError) as error:  # a zero byte in a name is a ValueError
        says = error.strerror if isinstance(error, OSError) else error
        raise InputError(f"{path} cannot be read: {says}", f"name {wanted}") from None
    try:
        _check(number, path, wanted)
        if os.name == "posix":
            os.set_blocking(number, True)
        return os.fdopen(number, "rb")
    except BaseException:
        os.close(number)
        raise


def _check(number: int, path: Path, wanted: str) -> None:
    """Refuse a folder, and a pipe that stays empty."""
    mode = os.fstat(number).st_mode
    if stat.S_ISDIR(mode):
        raise InputError(f"{path} cannot be read: it is a folder", f"name {wanted}")
    if stat.S_ISFIFO(mode) and os.name == "posix":
        poll = select.poll()
        poll.register(number, select.POLLIN)
        if not poll.poll(LONGEST_WAIT_S * 1000):
            raise InputError(f"{path} cannot be read: nobody writes to this pipe", f"name {wanted}")
