"""Running commands in this process, on stores that are made once and copied."""

import io
import json
import os
import shlex
import shutil
import sqlite3
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from rvsmlog.cli.app import main
from rvsmlog.store.safekeeping.schema import create_store

#: The airframe of the small log.
REG = "QX-ABC"
#: What makes the small log; its days lie in the past wherever the tests run.
SMALL_LOG = (
    ("operator", "set", "--name", "Quill Air", "--time-zone", "UTC", "--region", "NAM"),
    ("crew", "add", "--code", "MKO", "--name", "M. Kovo"),
    (
        *("airframe", "add", "--registration", REG, "--type-designator", "VK71"),
        *("--serial-number", "1007", "--authority", "us-91", "--rvsm-basis", "group"),
        *("--type-certificate", "after-1997-04-09", "--highest-level", "310"),
        *("--standby-tolerance", "290:180"),
    ),
    (
        *("equipment", "fit", REG, "--function", "altimeter", "--position", "1"),
        *("--fitted-on", "2023-02-03"),
    ),
    (
        *("crosscheck", "log", REG, "--taken-at", "2024-05-01T10:00Z", "--phase", "hourly"),
        *("--primary-1-ft", "31000", "--primary-2-ft", "31040", "--level", "310"),
    ),
)


# In the order of a log, so that entries that are named are there; QX-ABC's logbook begins with
# its particulars as #1. The days lie in the past wherever the tests run.
STORY = """
operator set --name "Quill Air" --time-zone Pacific/Auckland --region NAM
crew add --code MKO --name "M. Kovo" --licence 123
crew train --pilot MKO --completed-on 2024-01-20 --training initial
operator allow --name MKO --may crew,controller,releaser --database-role mko
route set --name NORTH --departure QXAA --destination QXBB --track 45.5
airframe add --registration QX-ABC --type-designator VK71 --serial-number 1007
 --authority us-91 --rvsm-basis group --type-certificate after-1997-04-09 --highest-level 310
equipment fit QX-ABC --function altimeter --position 1 --fitted-on 2023-02-03
equipment fit QX-ABC --function altimeter --position 2 --fitted-on 2023-02-03
equipment swap QX-ABC 2 --other 3 --swapped-at 2024-03-01T15:00Z --cause "fault finding"
equipment remove QX-ABC 2 --removed-on 2024-05-01 --cause "bench test"
equipment work QX-ABC --work static-system-opened,altimeter --done-on 2024-05-01
 --description "drain fitting replaced"
oxygen fit QX-ABC --serves crew --fitted-on 2023-02-03 --service-psi 1850 --unusable-psi 200
 --water-litres 11.5 --crew-masks 2 --crew-delivery demand --crew-modes normal,100-percent
 --quick-donning yes --donning-s 5
oxygen reading QX-ABC --checked-at 2024-05-01T08:20Z --gauge-psi 1720 --cylinder-c 12
defect report QX-ABC --found-at 2024-05-01T10:00Z --function altitude-alerter
 --description "no aural alert"
defect fault QX-ABC --found-at 2024-05-01T10:00Z --description "split at FL300" --level 300
 --primary-1-ft 30000 --primary-2-ft 30240 --subscale-1-hpa "29.92 inHg"
defect defer QX-ABC 9 --category C --mel-reference 34-11-01 --deferred-on 2024-05-01
 --highest-level 280
defect extend QX-ABC 11 --days 10 --granted-on 2024-05-10 --granted-by "J. Doe"
defect rectify QX-ABC 10 --done-at 2024-05-09T16:00Z --work-done "unit replaced"
 --released-by "J. Doe" --licence "AMT 123" --reference WO-77
defect review QX-ABC 9 --conclusion "parts due"
approval add QX-ABC --approval rvsm --registration QX-ABC --holder "Quill Air"
 --issued-on 2024-01-15 --regions NAM,NAT
approval withdraw QX-ABC 15 --withdrawn-on 2024-06-01 --cause "aircraft sold"
test add QX-ABC --test altimeter-static --done-on 2024-03-10 --passed yes
 --tested-altitude-ft 35000
test readings QX-ABC 17 --case-leak-ft 30 --after-effect-ft 10
monitoring add QX-ABC --measured-on 2024-04-02 --method ads-b --ase-ft -35
flight log QX-ABC --off-at 2024-05-01T09:00Z --on-at 2024-05-01T12:10Z --pilot MKO
crosscheck log QX-ABC --taken-at 2024-05-01T10:00Z --phase hourly --primary-1-ft 31000
 --primary-2-ft 31040 --level 310 --static-air-temperature-c -45.5
deviation report QX-ABC --occurred-at 2024-05-01T10:00Z --aad-ft -320
 --description "undershoot in turbulence" --cause turbulence
deviation close QX-ABC 22 --closed-on 2024-05-20 --conclusion "autopilot servo"
 --confirmed-by "J. Doe"
"""


def commands() -> tuple[tuple[str, ...], ...]:
    """Split the story into commands."""
    return tuple(
        tuple(shlex.split(line)) for line in STORY.replace("\n ", " ").splitlines() if line
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """What a command did."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """Its standard output as JSON."""
        return json.loads(self.out)


class Cli:
    """Runs commands in this process on one store."""

    def __init__(self, store: Path) -> None:
        self.store = store

    def __call__(self, *arguments: str, typed: str | None = None) -> Ran:
        """Run one command; ``typed`` is what comes through a pipe."""
        out, err = io.StringIO(), io.StringIO()
        with _environment(RVSMLOG_STORE=str(self.store), RVSMLOG_BY="MKO"):
            before, sys.stdin = sys.stdin, io.StringIO(typed or "")
            try:
                with redirect_stdout(out), redirect_stderr(err):
                    status = main(arguments)
            finally:
                sys.stdin = before
        return Ran(status=status, out=out.getvalue(), err=err.getvalue())

    def ok(self, *arguments: str, typed: str | None = None) -> Ran:
        """Run a command that must succeed."""
        ran = self(*arguments, typed=typed)
        assert (ran.status, ran.err) == (0, ""), (arguments, ran)
        return ran

    def seals(self) -> Mapping[str, tuple[int, str]]:
        """Give the newest entry and digest of each logbook, read without the program."""
        with closing(sqlite3.connect(f"file:{self.store}?mode=ro", uri=True)) as connection:
            rows = connection.execute(
                "SELECT b.name, e.number, hex(e.digest) FROM logbook b JOIN entry e "
                "ON e.logbook_id = b.id ORDER BY e.number"
            ).fetchall()
        return {name: (number, digest) for name, number, digest in rows}


@contextmanager
def past_the_triggers(cli: Cli) -> Iterator[sqlite3.Connection]:
    """Write to a store past every trigger."""
    with closing(sqlite3.connect(cli.store)) as connection, connection:
        for (name,) in connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        yield connection


def damage(cli: Cli, *registrations: str) -> None:
    """Let the days of work on some airframes, and of their tests, be none."""
    with past_the_triggers(cli) as connection:
        for table in ("work_detail", "test_detail"):
            connection.executemany(
                f"UPDATE {table} SET done_on = 'soon' WHERE logbook_id IN "  # noqa: S608  # of ours
                "(SELECT logbook_id FROM airframe_detail WHERE registration = ?)",
                [(registration,) for registration in registrations],
            )


@contextmanager
def _environment(**names: str) -> Iterator[None]:
    """Set environment variables for a while."""
    before = {name: os.environ.get(name) for name in names}
    os.environ.update(names)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


@pytest.fixture(scope="session")
def short_folder() -> Iterator[Path]:
    """Give a folder with a short path, so that screens that show it stay narrow."""
    folder = Path(tempfile.mkdtemp(prefix="r"))
    yield folder
    shutil.rmtree(folder)


@pytest.fixture(scope="session")
def masters(short_folder: Path, request: pytest.FixtureRequest) -> Callable[[str], Path]:
    """Make each kind of store once."""
    made: dict[str, Path] = {}

    def master(name: str) -> Path:
        if name not in made:
            path = short_folder / f"{name}.sqlite3"
            if name == "demo":
                shutil.copy(request.getfixturevalue("demo_file"), path)
            else:
                _MAKERS[name](path)
            made[name] = path
        return made[name]

    return master


def _make_empty(path: Path) -> None:
    create_store(str(path)).close()


def _make_small(path: Path) -> None:
    _make_empty(path)
    cli = Cli(path)
    for arguments in SMALL_LOG:
        cli.ok(*arguments)


_MAKERS: Mapping[str, Callable[[Path], None]] = {
    "empty": _make_empty,
    "small": _make_small,
}


@pytest.fixture
def copy_of(masters: Callable[[str], Path], short_folder: Path) -> Iterator[Callable[[str], Cli]]:
    """Give a command line on a copy of a store that may be written to."""
    folder = Path(tempfile.mkdtemp(prefix="c", dir=short_folder))

    def copy(name: str) -> Cli:
        return Cli(Path(shutil.copy(masters(name), folder / "log.sqlite3")))

    yield copy
    shutil.rmtree(folder)


@pytest.fixture
def empty(copy_of: Callable[[str], Cli]) -> Cli:
    """Give a command line on a store without entries."""
    return copy_of("empty")


@pytest.fixture
def small(copy_of: Callable[[str], Cli]) -> Cli:
    """Give a command line on a log with one airframe and a few entries."""
    return copy_of("small")


@pytest.fixture
def demo(copy_of: Callable[[str], Cli]) -> Cli:
    """Give a command line on the demo store."""
    return copy_of("demo")


@pytest.fixture
def check_one_line() -> Callable[[Ran, int], None]:
    """Give a check that an error is one line and at most one hint, and no output."""

    def check(ran: Ran, status: int) -> None:
        assert ran.status == status, ran
        assert ran.out == ""
        lines = ran.err.splitlines()
        assert lines[0].startswith("error: "), ran.err
        assert len(lines[0]) > len("error: ")
        assert [line.startswith("hint: ") for line in lines[1:]] == [True] * (len(lines) - 1)
        assert len(lines) <= 2
        assert "Traceback" not in ran.err
        assert "unexpected fault" not in ran.err

    return check
