"""On a real terminal: questions, editing, Ctrl-C, colours, and none where they are not wanted."""

import os
import re
import select
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.cli.conftest import REG, Cli

pty = pytest.importorskip("pty", reason="this system has no pseudo-terminals")
_LONGEST_S = 30
# The new session takes the terminal as its own, so that Ctrl-C reaches it, as from a shell.
_ON_ITS_TERMINAL = """
import fcntl, signal, termios
fcntl.ioctl(0, termios.TIOCSCTTY, 0)
signal.signal(signal.SIGINT, signal.default_int_handler)
from rvsmlog.__main__ import run
run()
"""
_COLOUR = re.compile(rb"\x1b\[[0-9;]*m")


class Terminal:
    """A command that runs on a pseudo-terminal of 24 lines and 80 columns."""

    def __init__(self, process: subprocess.Popen[bytes], handle: int) -> None:
        self.process = process
        self.handle = handle
        self.seen = b""

    def wait_for(self, text: str) -> None:
        """Read until a text has appeared since the last time."""
        end = time.monotonic() + _LONGEST_S
        while text.encode() not in self.seen:
            assert time.monotonic() < end, self.seen
            self._read(end)
        self.seen = self.seen.partition(text.encode())[2]

    def type(self, text: str) -> None:
        """Type something."""
        os.write(self.handle, text.encode())

    def interrupt(self) -> None:
        """Press Ctrl-C, and again if nothing comes of it, as a person would."""
        for _ in range(5):
            self.type("\x03")
            try:
                self.process.wait(5)
            except subprocess.TimeoutExpired:
                continue
            return

    def finish(self) -> tuple[int, bytes]:
        """Read to the end; give the exit status and what was seen."""
        end = time.monotonic() + _LONGEST_S
        while self._read(end):
            assert time.monotonic() < end, self.seen
        return self.process.wait(_LONGEST_S), self.seen

    def _read(self, end: float) -> bool:
        """Read what there is; False once the command has closed the terminal."""
        ready, _, _ = select.select([self.handle], [], [], max(end - time.monotonic(), 0.1))
        try:
            content = os.read(self.handle, 65536) if ready else b""
        except OSError:
            return False  # Linux says so when the other side is closed
        self.seen += content
        return bool(content) or not ready


@contextmanager
def terminal(store: Path, words: Sequence[str], **environment: str) -> Iterator[Terminal]:
    """Run a command on a pseudo-terminal."""
    ours, theirs = os.openpty()
    names = {
        name: os.environ[name] for name in ("PATH", "HOME", "PYTHONPATH") if name in os.environ
    }
    process = subprocess.Popen(
        [sys.executable, "-c", _ON_ITS_TERMINAL, *words],
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        start_new_session=True,
        env={
            **names,
            "RVSMLOG_STORE": str(store),
            "RVSMLOG_BY": "MKO",
            "TERM": "xterm-256color",
            "LANG": "C.UTF-8",
            "COLUMNS": "80",
            "LINES": "24",
            **environment,
        },
    )
    os.close(theirs)
    try:
        yield Terminal(process, ours)
    finally:
        process.kill()
        process.wait()
        os.close(ours)


def test_a_line_that_lacks_something_is_asked_for(small: Cli) -> None:
    """At a terminal the missing fields are asked for; a slip can be deleted before Enter."""
    log = ("crosscheck", "log", REG, "--phase", "hourly", "--taken-at", "2024-05-02T10:00Z")
    with terminal(small.store, log) as screen:
        screen.wait_for("Level held: ")
        screen.type("311\x7f0\r")
        for question, answer in (
            ("Primary altimeter 1, ft: ", "31000"),
            ("Primary altimeter 2, ft: ", "31240"),
        ):
            screen.wait_for(question)
            screen.type(answer + "\r")
        screen.wait_for("BEYOND TOLERANCE: altimeters 240 ft apart, tolerance 200 ft")
        screen.wait_for("Standby altimeter, ft (Enter: none): ")
        screen.type("\r" * 8)
        screen.wait_for("Record it? yes, no, or a field to change: ")
        screen.type("yes\r")
        screen.wait_for("recorded VK71-1007#4: altimeter cross-check")
        screen.wait_for("Another check of this airframe? yes or no: ")
        screen.type("\x04")
        status, _ = screen.finish()
    assert status == 0
    row = small.ok("crosscheck", "list", REG, "--json").json[-1]
    assert (row["level"], row["difference_ft"]) == (310, -240)


def test_ctrl_c_writes_nothing(small: Cli) -> None:
    """It leaves with 2 and one line, without a traceback."""
    before = small.seals()
    with terminal(small.store, ("crosscheck", "log", REG)) as screen:
        screen.wait_for("Phase: ")
        screen.type("hourly\r")
        screen.wait_for("Time, UTC: ")
        screen.interrupt()
        status, seen = screen.finish()
    assert status == 2
    assert b"error: stopped before the end: this check was not written" in seen
    assert b"Traceback" not in seen
    assert small.seals() == before


@pytest.mark.parametrize(
    ("environment", "coloured"),
    [({}, True), ({"NO_COLOR": "1"}, False), ({"TERM": "dumb"}, False)],
    ids=["terminal", "NO_COLOR", "dumb"],
)
def test_colours_only_where_they_are_wanted(
    small: Cli, environment: dict[str, str], *, coloured: bool
) -> None:
    """A terminal gets them unless NO_COLOR or its name says otherwise; the text is the same."""
    words = ("gonogo", REG, "--at", "2024-05-02T08:00Z", "--dry-run")
    with terminal(small.store, words, **environment) as screen:
        status, seen = screen.finish()
    assert status == 1
    assert bool(_COLOUR.search(seen)) is coloured
    assert b"\x1b" not in _COLOUR.sub(b"", seen)
    plain = small(*words).out
    assert _COLOUR.sub(b"", seen).decode().replace("\r\n", "\n") == plain
