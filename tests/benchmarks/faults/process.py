"""Real processes that do a command's real work, and can be killed at any instant.

Each is forked from one that has imported everything, so that what is killed is the work and not the
start of Python. Its output goes to a file: what stands there was acknowledged, and nothing else.
"""

import importlib
import os
import pkgutil
import signal
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from tempfile import TemporaryFile
from typing import BinaryIO

import rvsmlog
from rvsmlog.cli.app import main

#: What a process leaves with that meets a fault nobody foresaw.
FAULT = 70
_MOST_READ = 1_000_000
Call = Callable[[], int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ended:
    """How a process ended: its exit status, None when it was killed, and all that it said."""

    status: int | None
    said: str
    complained: str

    @property
    def killed(self) -> bool:
        """Whether it was killed before its end."""
        return self.status is None


@cache
def import_everything() -> None:
    """Import every module of the program, so that a forked process need not."""
    for module in pkgutil.walk_packages(rvsmlog.__path__, "rvsmlog."):
        if module.name != "rvsmlog.__main__":
            importlib.import_module(module.name)
    for name in ("alembic.command", "sqlalchemy.dialects.sqlite", "psycopg"):
        importlib.import_module(name)


def command(*arguments: object) -> Call:
    """Give the call of one command, as a shell would make it."""
    return lambda: main([str(each) for each in arguments])


class Process:
    """A process forked from this one.

    Parameters
    ----------
    call : callable
        What it does; gives its exit status.
    """

    def __init__(self, call: Call) -> None:
        import_everything()
        self._out, self._err = TemporaryFile(), TemporaryFile()  # noqa: SIM115 - closed by end()
        self.pid = os.fork()
        if not self.pid:
            _run(call, self._out, self._err)

    def kill(self) -> None:
        """Kill it: no line of it runs after this."""
        os.kill(self.pid, signal.SIGKILL)

    def wait_for(self, text: str, within_s: float = 60.0) -> None:
        """Wait until it has said something, or for as long as that."""
        until = time.monotonic() + within_s
        # The place in the file is the other process's too: it must not be moved.
        while text.encode() not in os.pread(self._out.fileno(), _MOST_READ, 0):
            if time.monotonic() > until:
                raise AssertionError(f"it did not say {text!r} within {within_s:g} s")
            time.sleep(0.005)

    def end(self) -> Ended:
        """Wait for its end."""
        _, status = os.waitpid(self.pid, 0)
        said, complained = (_text(each) for each in (self._out, self._err))
        left = None if os.WIFSIGNALED(status) else os.WEXITSTATUS(status)
        return Ended(status=left, said=said, complained=complained)


def _run(call: Call, out: BinaryIO, err: BinaryIO) -> None:
    """Run a call in the forked process, which ends with it."""
    status = FAULT
    try:
        os.dup2(out.fileno(), 1)
        os.dup2(err.fileno(), 2)
        sys.stdout = os.fdopen(1, "w", encoding="utf-8", closefd=False)
        sys.stderr = os.fdopen(2, "w", encoding="utf-8", closefd=False)
        os.environ["RVSMLOG_BY"] = "A. Example"
        status = call()
        sys.stdout.flush()
    except BaseException as error:
        sys.stderr.write(f"unforeseen: {error!r}\n")
    finally:
        sys.stderr.flush()
        os._exit(status)


def _text(file: BinaryIO) -> str:
    """Read all that was written to a file, and close it."""
    file.seek(0)
    text = file.read().decode("utf-8", "replace")
    file.close()
    return text


def run(call: Call) -> Ended:
    """Run a process to its end."""
    return Process(call).end()


def run_killed(call: Call, after_s: float) -> Ended:
    """Run a process, and kill it after a time unless it ended before."""
    process = Process(call)
    time.sleep(after_s)
    process.kill()
    return process.end()


def duration_s(call: Call) -> float:
    """Measure how long a process takes that runs to its end."""
    begun = time.perf_counter()
    run(call)
    return time.perf_counter() - begun
