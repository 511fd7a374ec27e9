"""One piece of work beside the others: what a batch wrote is inserted while the next is made ready.

The database's part of an import takes as long as Python's or longer, and while a statement runs the
driver lets other threads go on. One thread inserts, therefore, and the caller's goes on with the
file. Never do both use the connection: whoever wants it waits till what was begun is done.
"""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from threading import Event, Lock, Thread

#: How long a thread keeps the interpreter while another waits for it, seconds. Python's own 5 ms
#: are as long as it takes to insert a thousand rows.
_TURN_SECONDS = 0.0002


class Beside:
    """Does one piece of work at a time in a thread of its own.

    What goes wrong in it is raised where the work is waited for, then and ever after: nothing may
    follow what failed.

    Parameters
    ----------
    cut : callable, optional
        Makes the work fail that goes on, where it may wait for an answer that never comes.
    """

    def __init__(self, cut: Callable[[], None] | None = None) -> None:
        self._cut = cut
        self._ended: Event | None = None
        self._fault: BaseException | None = None
        self._lock = Lock()
        self._given_up = False

    def begin(self, work: Callable[[], None]) -> None:
        """Begin a piece of work, when the one before it is done."""
        self.wait()
        self._ended = ended = Event()
        try:
            Thread(target=self._do, args=(work, ended), name="rvsmlog-insert").start()
        except RuntimeError:  # no more threads are to be had: one after the other, then
            self._do(work, ended)

    def wait(self) -> None:
        """Wait till what was begun is done; raise what went wrong in it."""
        if self._ended is not None:
            self._ended.wait()
        if self._fault is not None:
            raise self._fault

    def give_up(self) -> None:
        """Wait till nothing goes on, and let nothing begin any more, whatever became of it.

        Who presses Ctrl-C waits too, for as long as a batch takes: a transaction must not be rolled
        back under a statement. Who presses it again meanwhile has the work cut, where that can be.
        """
        self._given_up = True
        stopped: KeyboardInterrupt | None = None
        while True:
            try:
                with self._lock:
                    break
            except KeyboardInterrupt as stop:
                stopped = stop
                self._cut_off()
        if stopped is not None:
            raise stopped

    def _cut_off(self) -> None:
        """Have the work cut; Ctrl-C meanwhile hurries that, and the work is waited for as ever."""
        if self._cut is not None:
            with suppress(KeyboardInterrupt):
                self._cut()

    def _do(self, work: Callable[[], None], ended: Event) -> None:
        try:
            with self._lock:
                if not self._given_up:
                    work()
        except BaseException as fault:  # raised again where it is waited for
            self._fault = fault
        finally:
            ended.set()


@contextmanager
def short_turns() -> Iterator[None]:
    """Let threads take turns often, for a program that has the process to itself.

    It holds for every thread of the process, so that the library leaves it to its caller.
    """
    before = sys.getswitchinterval()
    sys.setswitchinterval(_TURN_SECONDS)
    try:
        yield
    finally:
        sys.setswitchinterval(before)
