"""A store on a write-protected medium is read as it stands; any doubt, and it is not.

What the system says of a device is set here, as a test has no write-protected one; the folder is
one in which the reader may write nothing. The names are Linux's ("ro" of a block device, from
memory: Documentation/ABI/stable/sysfs-block).
"""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest

from rvsmlog.library import create_store, now, record
from rvsmlog.store import medium
from rvsmlog.store.medium import unchanging

pytestmark = pytest.mark.skipif(not hasattr(os, "ST_RDONLY"), reason="tells nothing of its mounts")
_MOUNTED = 0 if os.name != "posix" else os.ST_RDONLY


#: Laid out as proc_pid_mountinfo(5) has it (from memory); the second is the store's.
MOUNTS = """\
22 27 0:21 / /proc rw,relatime - proc proc rw
36 35 DEVICE / /media/card ro,noatime shared:1 - vfat /dev/mmcblk0p1 ro,fmask=0022
"""


@pytest.fixture
def elsewhere(folder: Path) -> Path:
    """Make a store with a pilot, before the system says anything of a device."""
    path = folder / "elsewhere.sqlite3"
    with create_store(path) as store:
        operator = {"name": "Quill Air", "time_zone": "UTC", "region": "NAM"}
        record(store, "operator", operator, by="M. Example", clock=now)
        pilot = {"code": "IVO", "name": "A. Pilot"}
        record(store, "pilot", pilot, by="M. Example", clock=now)
    return path


@pytest.fixture
def device(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give the description of the device on which the folder is: read-only and write-protected."""
    number = folder.stat().st_dev
    name = f"{os.major(number)}:{os.minor(number)}"
    described = folder / "devices" / name
    described.mkdir(parents=True)
    (described / "ro").write_text("1\n")
    (folder / "mounts").write_text(MOUNTS.replace("DEVICE", name))
    monkeypatch.setattr(medium, "DEVICES", described.parent)
    monkeypatch.setattr(medium, "MOUNTS", folder / "mounts")
    monkeypatch.setattr(os, "statvfs", lambda _: SimpleNamespace(f_flag=_MOUNTED))
    return described


def test_a_file_on_a_write_protected_medium_never_changes(device: Path, folder: Path) -> None:
    """A link leads to what stands there."""
    path = folder / "log.sqlite3"
    path.write_bytes(b"store")
    (folder / "link").symlink_to(path)
    assert unchanging(path)
    assert unchanging(folder / "link")


def moved(path: Path) -> None:
    """Put a link in a file's place; a log lies beside the file."""
    path.rename(path.with_name("other"))
    path.symlink_to(path.with_name("other"))
    path.with_name("other-wal").touch()


def made_of(device: Path, kind: str) -> None:
    """Have a device be one that is made of something else: what describes it is a link there."""
    real = device.parents[1] / "sys" / "devices" / kind / device.name
    real.parent.mkdir(parents=True)
    device.rename(real)
    device.symlink_to(real)


def mounts(device: Path, change: Callable[[str], str]) -> None:
    """Change what the system says of its mounts."""
    path = device.parents[1] / "mounts"
    path.write_text(change(path.read_text()))


def mounted_twice(text: str) -> str:
    """Give the mounts with another one of the same device, whose file system is for writing."""
    name = text.splitlines()[1].split()[2]
    return f"{text}37 35 {name} / /srv rw shared:2 - vfat /dev/mmcblk0p1 rw,fmask=0022\n"


DOUBTS: dict[str, Callable[[Path, Path, pytest.MonkeyPatch], object]] = {
    "mounted for writing": lambda _device, _path, patch: patch.setattr(
        os, "statvfs", lambda _: SimpleNamespace(f_flag=0)
    ),
    # As the mount of a folder of a disk that is written elsewhere, read-only there.
    "device not protected": lambda device, _path, _patch: (device / "ro").write_text("0\n"),
    # As a file system of the network, or of several others laid over each other.
    "no device": lambda device, _path, _patch: shutil.rmtree(device),
    # "losetup --read-only --partscan": what tells of the file stands with the whole, not the part.
    "part of a file": lambda device, _path, _patch: made_of(device, "virtual/block/loop0"),
    "made of other devices": lambda device, _path, _patch: made_of(device, "virtual/block"),
    "lent by another machine": lambda device, _path, _patch: made_of(device, "pci0/virtio1/block"),
    # "blockdev --setro" of a disk that is mounted for writing already, seen through a second mount.
    "file system for writing": lambda device, _path, _patch: mounts(
        device, lambda text: text.replace("mmcblk0p1 ro", "mmcblk0p1 rw")
    ),
    "for writing elsewhere": lambda device, _path, _patch: mounts(device, mounted_twice),
    "no such mount": lambda device, _path, _patch: mounts(device, lambda _: ""),
    "no mounts": lambda device, _path, _patch: (device.parents[1] / "mounts").unlink(),
    "nothing said": lambda device, _path, _patch: (device / "ro").write_text(""),
    "log beside": lambda _device, path, _patch: path.with_name("log.sqlite3-wal").touch(),
    "journal beside": lambda _device, path, _patch: path.with_name("log.sqlite3-journal").touch(),
    "log beside what a link leads to": lambda _device, path, _patch: moved(path),
    "no file": lambda _device, path, _patch: path.unlink(),
    "no such system": lambda _device, _path, patch: patch.delattr(os, "statvfs"),
}


@pytest.mark.parametrize("doubt", DOUBTS.values(), ids=DOUBTS)
def test_any_doubt_and_it_may_change(
    device: Path,
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    doubt: Callable[[Path, Path, pytest.MonkeyPatch], object],
) -> None:
    """Each of the reasons by itself is enough."""
    path = folder / "log.sqlite3"
    path.write_bytes(b"store")
    assert unchanging(path)
    doubt(device, path, monkeypatch)
    assert not unchanging(path)


def test_the_machine_s_own_disk_is_no_such_medium(folder: Path) -> None:
    """What is written to in this very moment."""
    path = folder / "log.sqlite3"
    path.write_bytes(b"store")
    assert not unchanging(path)


# Loads all it needs, then goes on as a user who may write nothing there: modes do not bind root.
RUN = """
import os, shlex, sys
from pathlib import Path
from types import SimpleNamespace
from rvsmlog.cli.app import main
from rvsmlog.store import medium
store, devices, mounts, elsewhere, *lines = sys.argv[1:]
os.environ.update(RVSMLOG_STORE=store, RVSMLOG_BY="MKO")
main(["store", "info", "--store", elsewhere])
medium.DEVICES, medium.MOUNTS, ask = Path(devices), Path(mounts), os.statvfs
def statvfs(path):
    told = ask(path)
    names = [name for name in dir(told) if name.startswith("f_")]
    told = {name: getattr(told, name) for name in names}
    return SimpleNamespace(**told | {"f_flag": os.ST_RDONLY})
os.statvfs = statvfs
os.setuid(65534)
for line in lines:
    print("===", main(shlex.split(line)), flush=True)
"""


@pytest.mark.skipif(
    os.name != "posix" or os.geteuid() != 0, reason="needs a second user, whom only root can be"
)
@pytest.mark.parametrize("protected", [True, False])
def test_a_store_there_is_read_and_nothing_is_left_beside_it(
    elsewhere: Path, device: Path, folder: Path, protected: bool
) -> None:
    """In write-ahead mode, as the program makes them; what would write is refused plainly."""
    place = folder / "medium"
    place.mkdir()
    path = Path(shutil.copy(elsewhere, place / "log.sqlite3"))
    path.chmod(0o444)
    place.chmod(0o555)
    (device / "ro").write_text("1" if protected else "0")
    (folder / "own").mkdir(mode=0o777)
    (folder / "own").chmod(0o777)
    folder.chmod(0o755)
    before = path.read_bytes()
    assert before[18:20] == b"\2\2"  # in write-ahead mode
    lines = (
        *("store info", "crew list", "store verify"),
        *(f"store backup {folder}/own/copy.sqlite3", 'crew add --code MKO --name "M. Kovo"'),
    )
    done = subprocess.run(
        (
            sys.executable,
            "-c",
            RUN,
            str(path),
            str(device.parent),
            str(folder / "mounts"),
            str(elsewhere),
            *lines,
        ),
        capture_output=True,
        text=True,
        check=False,
    )
    said = [line for line in done.stdout.splitlines() if line.startswith("===")]
    refused = "=== 3"
    expected = ["=== 0"] * 4 + [refused] if protected else [refused] * 5
    assert said == expected, done.stdout + done.stderr
    assert ("A. Pilot" in done.stdout) is protected
    assert [each.name for each in place.iterdir()] == ["log.sqlite3"]
    assert path.read_bytes() == before
    assert "copy it into a folder of your own" in done.stderr
