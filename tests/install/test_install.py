"""What is built can be installed, and works outside the checkout: as a wheel and editable.

The fresh environments borrow the libraries of the one that runs the tests, so that nothing has to
be fetched; rvsmlog itself they get from what was built here.
"""

import json
import os
import subprocess
import sys
import sysconfig
import tarfile
import venv
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest

pytestmark = pytest.mark.install

CHECKOUT = Path(__file__).parents[2]
ASKED = ("--level", "310", "--pilot", "IVO", "--at", "2026-11-24T08:00Z")


def environment(home: Path) -> dict[str, str]:
    """Give an environment in which neither this one's settings nor its user's files show."""
    kept = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("PYTHON", "RVSMLOG", "COV", "XDG", "VIRTUAL_ENV"))
    }
    return kept | {"HOME": str(home), "XDG_DATA_HOME": str(home / "data")}


@dataclass(frozen=True, slots=True)
class Installed:
    """A fresh virtual environment with rvsmlog in it, and a folder outside the checkout."""

    folder: Path
    work: Path

    @property
    def programs(self) -> Path:
        """Where its programs lie."""
        return self.folder / ("Scripts" if os.name == "nt" else "bin")

    def python(self, code: str) -> str:
        """Run a line of Python in it."""
        return self._run(["python", "-c", code]).stdout.strip()

    def rvsmlog(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        """Run the program as a person would."""
        return self._run(["rvsmlog", *arguments])

    def _run(self, command: Sequence[str]) -> subprocess.CompletedProcess[str]:
        program, *arguments = command
        return subprocess.run(
            [self.programs / program, *arguments],
            cwd=self.work,
            env=environment(self.work),
            text=True,
            capture_output=True,
            check=False,
        )


@pytest.fixture(scope="session")
def dist(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the source distribution, and the wheel from it."""
    folder = tmp_path_factory.mktemp("dist")
    command = [sys.executable, "-m", "build", "--no-isolation", "--outdir", str(folder)]
    subprocess.run([*command, str(CHECKOUT)], check=True, capture_output=True)
    return folder


def fresh(folder: Path, *what: str) -> Installed:
    """Make an environment, lend it the libraries, and install rvsmlog into it."""
    venv.create(folder, with_pip=False, symlinks=os.name != "nt")
    work = folder.parent / "work"
    work.mkdir()
    made = Installed(folder, work)
    paths = dict.fromkeys(sysconfig.get_path(name) for name in ("purelib", "platlib"))
    site = made.python("import sysconfig; print(sysconfig.get_path('purelib'))")
    (Path(site) / "borrowed.pth").write_text("".join(f"{path}\n" for path in paths), "utf-8")
    pip = [sys.executable, "-m", "pip", "--python", str(made.programs / "python"), "install"]
    offline = ["--no-deps", "--no-index", "--no-build-isolation", "--quiet"]
    subprocess.run([*pip, *offline, *what], env=environment(work), check=True)
    return made


@pytest.fixture(scope="session", params=["wheel", "editable"])
def installed(
    request: pytest.FixtureRequest, dist: Path, tmp_path_factory: pytest.TempPathFactory
) -> Installed:
    """Install each way in an environment of its own."""
    folder = tmp_path_factory.mktemp(request.param) / "env"
    if request.param == "wheel":
        (wheel,) = dist.glob("*.whl")
        made = fresh(folder, str(wheel))
        assert made.python("import rvsmlog; print(rvsmlog.__file__)").startswith(str(folder))
    else:
        made = fresh(folder, "-e", str(CHECKOUT))
        assert made.python("import rvsmlog; print(rvsmlog.__file__)").startswith(str(CHECKOUT))
    return made


def test_a_store_is_made_and_upgraded(installed: Installed) -> None:
    """The migrations are found: a new store is made, and has nothing left to upgrade."""
    made = installed.rvsmlog("store", "init", "--store", "log.sqlite3")
    assert (made.returncode, made.stderr) == (0, "")
    upgraded = installed.rvsmlog("store", "upgrade", "--store", "log.sqlite3", "--json")
    assert upgraded.returncode == 0
    answer = json.loads(upgraded.stdout)
    assert answer["before"] == answer["after"]
    verified = installed.rvsmlog("store", "verify", "--store", "log.sqlite3")
    assert verified.returncode == 0


def test_the_demo_is_built_and_judged(installed: Installed) -> None:
    """The sample data are found: the demo is made, one aeroplane goes, another does not."""
    made = installed.rvsmlog("demo", "--store", "demo.sqlite3", "--json")
    assert (made.returncode, made.stderr) == (0, "")
    assert len(json.loads(made.stdout)["fleet"]) == 5
    for registration, status, verdict in (("QX-ALD", 0, "GO"), ("QX-BRE", 1, "NO-GO")):
        asked = installed.rvsmlog(
            "gonogo", registration, *ASKED, "--store", "demo.sqlite3", "--json"
        )
        assert (asked.returncode, asked.stderr) == (status, "")
        assert json.loads(asked.stdout)["verdict"] == verdict


def test_pages_are_written(installed: Installed) -> None:
    """The pages' templates are found: board, dossier and sheet come from the program installed."""
    made = installed.rvsmlog("demo", "--store", "pages.sqlite3")
    assert made.returncode == 0
    at = ("--at", "2026-11-24T08:00Z", "--store", "pages.sqlite3")
    for name, command in (
        ("board.html", ("board",)),
        ("dossier.html", ("dossier", "QX-ALD")),
        ("sheet.html", ("crosscheck", "sheet", "QX-ALD", "--level", "310")),
    ):
        done = installed.rvsmlog(*command, "--out", name, *at)
        assert (done.returncode, done.stderr) == (0, "")
        page = (installed.work / name).read_text(encoding="utf-8")
        assert page.startswith("<!doctype html>")
        assert page.rstrip().endswith("</html>")


def test_without_a_name_the_demo_goes_to_the_user_s_data(installed: Installed) -> None:
    """The demo's own file lies in the user's data folder, nowhere else."""
    made = installed.rvsmlog("demo", "--json")
    assert made.returncode == 0
    assert Path(json.loads(made.stdout)["store"]).name == "demo.sqlite3"
    assert list((installed.work / "data").rglob("rvsmlog.sqlite3")) == []


def test_an_error_is_one_line_and_a_hint(installed: Installed) -> None:
    """A missing store leaves with 3, and nothing is made on the way."""
    asked = installed.rvsmlog("gonogo", "QX-ALD", "--store", "nowhere.sqlite3")
    assert asked.returncode == 3
    assert [line.partition(":")[0] for line in asked.stderr.splitlines()] == ["error", "hint"]
    assert not (installed.work / "nowhere.sqlite3").exists()


def test_the_wheel_carries_what_the_program_needs(dist: Path) -> None:
    """Migrations and sample data travel inside the package; tests and caches do not."""
    (wheel,) = dist.glob("*.whl")
    names = zipfile.ZipFile(wheel).namelist()
    assert "rvsmlog/_shipped/migrations/versions/0001_first_store.py" in names
    assert "rvsmlog/_shipped/sample_data/demo.json" in names
    assert "rvsmlog/_shipped/sample_data/crosschecks.csv" in names
    assert "rvsmlog/py.typed" in names
    assert "rvsmlog/pages/templates/base.html" in names
    assert [name for name in names if "__pycache__" in name or name.startswith("tests/")] == []
    assert {name.partition("/")[0].partition("-")[0] for name in names} == {"rvsmlog"}


def test_the_source_distribution_is_whole(dist: Path) -> None:
    """Everything that is tested and documented is in it."""
    (sdist,) = dist.glob("*.tar.gz")
    with tarfile.open(sdist) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}
    for name in (
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "migrations/env.py",
        "migrations/versions/0001_first_store.py",
        "sample_data/make_demo.py",
        "sample_data/crosschecks.csv",
        "tests/install/test_install.py",
    ):
        assert name in names
