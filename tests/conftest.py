"""What all tests share: how they are dealt out, compiled and counted; the demo store."""

import gc
import os
import shutil
import sys
from pathlib import Path

import pytest
from hypothesis import settings

# How long an example takes says something of the machine only: no test fails by that. Where CI is
# set, the library takes a profile of its own, which is so too and fixes chance.
settings.register_profile("any machine", deadline=None)
if not os.environ.get("CI"):
    settings.load_profile("any machine")

#: Times a line is counted in vain before the counter takes itself out of all lines seen by then.
#: Each time it looks through every function of the program: after 50, its default, a worker did
#: so some hundred times, which was a fifth of its work.
_COUNTED_IN_VAIN = 20_000


def _count_lines_cheaply() -> None:
    """Tell the coverage counter of this worker, where there is one; what it counts is the same."""
    plugin = sys.modules.get("slipcover.pytest_plugin")
    counter = getattr(plugin, "_slipcover_instance", None)
    if counter is not None:
        counter.d_miss_threshold = _COUNTED_IN_VAIN


# Before the first module of the program is loaded, which is when its lines get their counters.
_count_lines_cheaply()


def pytest_configure(config: pytest.Config) -> None:
    """Let compiled modules be kept also where the environment forbids to keep them beside sources.

    Hundreds of tests start the program as a process of its own, and compiling it and its libraries
    takes three times as long as all else. What is compiled goes to pytest's cache then, and from
    there to every process, the workers of a parallel run included.
    """
    cache = getattr(config, "cache", None)
    if cache is None or not os.environ.pop("PYTHONDONTWRITEBYTECODE", ""):
        return
    kept = Path(cache.mkdir("bytecode"))
    os.environ.setdefault("PYTHONPYCACHEPREFIX", str(kept))
    sys.pycache_prefix = os.environ["PYTHONPYCACHEPREFIX"]
    sys.dont_write_bytecode = False


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: object) -> object:
    """Let a worker that is done take half of what another has left.

    By default the last hundreds are dealt out before they are begun, and one worker stood idle for
    as long as the other took for the slow half of them. Each begins with a half of its own, so that
    what a folder shares is made once.
    """
    from xdist.scheduler import WorkStealingScheduling

    return WorkStealingScheduling(config, log) if config.getvalue("dist") == "load" else None


def pytest_collection_finish() -> None:
    """Leave thousands of collected tests and their libraries out of every search for garbage.

    They live as long as the run does. What a test leaves behind is searched for as before.
    """
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the file of a demo store, for reading and to be copied; all workers share its making."""
    from rvsmlog.dates import now
    from rvsmlog.errors import StoreError
    from rvsmlog.store.importing.demo import build_demo

    folder = tmp_path_factory.getbasetemp()
    shared = (folder.parent if "PYTEST_XDIST_WORKER" in os.environ else folder) / "demo.sqlite3"
    if not shared.exists():
        try:
            build_demo(str(shared), now)  # which puts it there whole
        except StoreError:
            if not shared.exists():  # else another worker was first
                raise
    return Path(shutil.copy(shared, tmp_path_factory.mktemp("demo") / "demo.sqlite3"))
