"""A short run of the fuzz benchmark, and proof that its judge can find fault."""

import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from rvsmlog.cli import app
from rvsmlog.store import inputs
from tests.benchmarks.fuzz import Counts, run_batch
from tests.benchmarks.fuzz_files import SORTS, Try, faults_outside, make_box, make_master
from tests.benchmarks.fuzz_judge import judge
from tests.cli.conftest import Ran

BEFORE: tuple[dict[str, dict[str, tuple[int, str]]], set[str]] = ({"log": {"a": (3, "x")}}, set())
GROWN: tuple[dict[str, dict[str, tuple[int, str]]], set[str]] = ({"log": {"a": (4, "y")}}, set())
LOG = Try("command lines", ("crosscheck", "log"))


@pytest.fixture(scope="module")
def master() -> Iterator[Path]:
    """Give the files that every box begins with."""
    fast = Path("/dev/shm")  # noqa: S108  # a folder of our own is made in it
    folder = Path(tempfile.mkdtemp(dir=fast if os.access(fast, os.W_OK) else None))
    (folder / "master").mkdir()
    make_master(folder / "master", bomb_mib=20)
    yield folder / "master"
    shutil.rmtree(folder)


@pytest.mark.skipif(os.name != "posix", reason="the box has pipes and links")
def test_hostile_lines_and_files_do_no_harm(master: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Sixty tries in one box: each is refused in a line, or does just what it says."""
    monkeypatch.setattr(inputs, "LONGEST_WAIT_S", 0.1)
    home, environment = Path.cwd(), dict(os.environ)
    counts = run_batch(master, seed=3, count=60)
    assert counts.faults == []
    assert len(counts.tries) > len(SORTS) / 2
    assert sum(number for (_, status), number in counts.statuses.items() if status == 0) > 0
    assert (Path.cwd(), dict(os.environ)) == (home, environment)


def test_the_fuzzer_finds_a_fault(master: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A program that fails in a way nobody foresaw does not pass."""
    monkeypatch.setattr(inputs, "LONGEST_WAIT_S", 0.1)
    monkeypatch.setattr(app, "take_as_typed", lambda _: 1 // 0)
    counts = Counts()
    counts.add(run_batch(master, seed=3, count=3))
    assert len(counts.faults) >= 1


@pytest.mark.parametrize(
    ("ran", "after", "says"),
    [
        (Ran(status=2, out="", err="error: no\n"), GROWN, "a refusal wrote"),
        (Ran(status=0, out="recorded a#4: x\n", err=""), BEFORE, "grew by 0, reported 1"),
        (Ran(status=0, out="", err=""), GROWN, "grew by 1, reported 0"),
        (Ran(status=2, out="", err="error: no\n"), (BEFORE[0], {"x"}), "a refusal left ['x']"),
        (Ran(status=4, out="recorded a#4: x\n", err=""), GROWN, "status 4"),
        (Ran(status=3, out="", err="error: unexpected fault: X\n"), BEFORE, "unexpected fault"),
        (Ran(status=2, out="", err=""), BEFORE, "no error line, or several"),
        (Ran(status=0, out="a\x1b[31m\n", err=""), BEFORE, "steering character U+001B shown"),
        (Ran(status=0, out="recorded a#4: x\n", err=""), GROWN, None),
        (Ran(status=2, out="", err="error: no\nhint: y\n"), BEFORE, None),
    ],
)
def test_the_judge_says_what_is_wrong(
    ran: Ran,
    after: tuple[dict[str, dict[str, tuple[int, str]]], set[str]],
    says: str | None,
) -> None:
    """Each thing that is held of a try can be found wanting."""
    assert list(judge(LOG, ran, BEFORE, after)) == ([] if says is None else [says])


@pytest.mark.skipif(os.name != "posix", reason="the box has pipes and links")
def test_what_is_done_through_a_link_is_found(master: Path) -> None:
    """The canaries outside tell."""
    box = master.parent / "mine"
    work = make_box(master, box)
    assert faults_outside(box) == []
    (work / "link").write_bytes(b"changed")
    (work / "dangling").write_bytes(b"made")
    (work / "folder" / "log.20200101T000000Z.backup.sqlite3").unlink()
    assert len(faults_outside(box)) == 3
