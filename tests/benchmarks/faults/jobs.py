"""What is killed: for each sort of command, a try to make, and what must hold after the kill.

A judge returns what was lost or half done, in words; nothing when all is well.
"""

import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from rvsmlog.store.connection import SCHEMA_REVISION
from rvsmlog.store.importing.demo import is_demo
from tests.benchmarks.faults.process import Call, Ended, command
from tests.benchmarks.faults.scene import (
    OLDER,
    REG,
    ROWS,
    Scene,
    State,
    check_options,
    parts,
    remarks,
    state,
    write_rows,
)

#: Rows of a CSV file of several batches.
_MANY_ROWS = 2600
#: A judge of what stands after a process ended: what it said, and whether it was tried again.
Judge = Callable[[Ended], list[str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Try:
    """One command to be killed.

    Parameters
    ----------
    call : callable
        The command.
    judge : callable
        Looks at what stands after the kill.
    again : callable
        Looks at what stands after the same command was run once more, to its end.
    folder : Path
        Where no draft may be left after that.
    lasts : bool
        Whether the store goes on from try to try, and others read it meanwhile.
    """

    call: Call
    judge: Judge
    again: Judge
    folder: Path
    lasts: bool = False


Job = Callable[[Scene], Try]


def _sound(where: str | Path) -> tuple[State, list[str]]:
    """Open and verify a store."""
    found = state(where)
    return found, [f"verification: {fault}" for fault in found.faults]


def _all_or_none(found: int, before: int, more: int, ended: Ended) -> list[str]:
    """Hold that there are all new entries or none; all of them when that was acknowledged."""
    lost = [] if found in (before, before + more) else [f"{found - before} of {more} entries"]
    if ended.status == 0 and found != before + more:
        lost.append(f"acknowledged, but {found - before} of {more} entries are there")
    return lost


def record(scene: Scene) -> Try:
    """Log one cross-check, into one store that goes on from try to try."""
    where = scene.lasting or scene.store(scene.folder, "half")
    scene.lasting = where
    before, number = state(where), scene.next_number()
    mark = f"try {number}"

    def judge(ended: Ended) -> list[str]:
        found, lost = _sound(where)
        lost += _all_or_none(found.entries, before.entries, 1, ended)
        there = mark in remarks(where)
        if there != (found.entries > before.entries):
            lost.append("half an entry")
        if "recorded " in ended.said and not there:
            lost.append("said `recorded`, but it is not there")
        return lost

    def again(ended: Ended) -> list[str]:
        found, lost = _sound(where)
        fine = found.entries == before.entries + 1
        fine = fine and (ended.status == 0 or "is on record as" in ended.complained)
        return lost + ([] if fine else [f"again: {ended}"])

    return Try(
        call=command(*check_options(mark, number), "--store", where),
        judge=judge,
        again=again,
        folder=scene.folder,
        lasts=True,
    )


def csv_import(scene: Scene) -> Try:
    """Import a CSV file; every other time with a bad row that goes into a file of rejects.

    Every third file is big enough for rows to be inserted in another thread.
    """
    place = scene.new_folder()
    where = scene.store(place, "half")
    before, skips = state(where), scene.tries % 2 == 0
    count = _MANY_ROWS if scene.tries % 3 == 0 else ROWS
    rows = write_rows(place / "rows.csv", range(ROWS, ROWS + count), bad=skips)
    rejects = place / "rejects.csv"
    options = ("--skip-bad", rejects) if skips else ()

    def judge(ended: Ended) -> list[str]:
        found, lost = _sound(where)
        lost += _all_or_none(found.entries, before.entries, count, ended)
        if rejects.exists() and found.entries == before.entries:
            lost.append("rejects without the import")
        return lost

    def again(ended: Ended) -> list[str]:
        found, lost = _sound(where)
        done = found.entries == before.entries + count
        told = "already on record" in ended.complained + ended.said or rejects.exists()
        fine = done and (ended.status == 0 or (ended.status == 2 and told))
        return lost + ([] if fine else [f"again: {ended}"])

    return Try(
        call=command(
            *("crosscheck", "import", rows, "--airframe", REG, *options), "--store", where
        ),
        judge=judge,
        again=again,
        folder=place,
    )


def backup(scene: Scene) -> Try:
    """Back up into a folder that keeps the newest three."""
    place = scene.new_folder()
    where = scene.store(place, "half")
    folder = place / "backups"
    folder.mkdir()
    for stamp in ("20200101T000000Z", "20200102T000000Z", "20200103T000000Z"):
        shutil.copyfile(where, folder / f"log.{stamp}.backup.sqlite3")
    wanted = state(where)

    def judge(ended: Ended) -> list[str]:
        _, lost = _sound(where)
        made = sorted(folder.glob("*.backup.sqlite3"))
        lost += [f"{each.name} is not whole" for each in made if state(each) != wanted]
        if len(made) not in (3, 4):
            lost.append(f"{len(made)} backups are left")
        if ended.status == 0 and (len(made) != 3 or made[-1].name < "log.2021"):
            lost.append("acknowledged, but not there, or not rotated")
        return lost

    def again(ended: Ended) -> list[str]:
        made = sorted(folder.glob("*.backup.sqlite3"))
        fine = ended.status == 0 and len(made) == 3 and all(state(each) == wanted for each in made)
        return [] if fine else [f"again: {ended}, {len(made)} backups"]

    return Try(
        call=command("store", "backup", folder, "--keep", 3, "--store", where),
        judge=judge,
        again=again,
        folder=folder,
    )


def earlier_edition(call: Call) -> Call:
    """Give a call as the edition before would make it, which knows the schema before."""

    def as_earlier_edition() -> int:
        import sys

        for name, module in list(sys.modules.items()):
            if name.startswith("rvsmlog.") and hasattr(module, "SCHEMA_REVISION"):
                vars(module)["SCHEMA_REVISION"] = OLDER[-1]
        return call()

    return as_earlier_edition


def upgrade(scene: Scene) -> Try:
    """Upgrade a store of each older schema by turns, after a backup."""
    place = scene.new_folder()
    old = OLDER[scene.tries % len(OLDER)]
    wanted = {SCHEMA_REVISION: parts(scene.store(place, "half"))}
    (place / "log.sqlite3").unlink(missing_ok=True)
    where = scene.store(place, old)
    before = state(where)
    wanted[old] = parts(where)

    def judge(ended: Ended) -> list[str]:
        found, lost = _sound(where)
        if found.seals != before.seals:
            lost.append("the seals changed")
        if parts(where) != wanted[found.revision]:
            lost.append(f"half a schema at {found.revision}")
        if ended.status == 0 and found.revision != SCHEMA_REVISION:
            lost.append("acknowledged, but not upgraded")
        copies = list(place.glob("*.backup.sqlite3"))
        lost += [f"{each.name} is not whole" for each in copies if state(each) != before]
        if scene.fresh is None and found.revision == SCHEMA_REVISION and not copies:
            lost.append("upgraded without a backup")
        return lost

    def again(ended: Ended) -> list[str]:
        lost = judge(ended)
        return lost if ended.status == 0 else [*lost, f"again: {ended}"]

    return Try(
        call=command("store", "upgrade", "--store", where),
        judge=judge,
        again=again,
        folder=place,
    )


def restore(scene: Scene) -> Try:
    """Restore a backup, every other time over a store that is there."""
    place = scene.new_folder()
    source = place / "copy.sqlite3"
    shutil.copyfile(scene.patterns / "whole.sqlite3", source)
    replaces = scene.tries % 2 == 0
    where = place / "log.sqlite3"
    if replaces:
        scene.store(place, "half")
    old, new = (state(scene.patterns / f"{each}.sqlite3") for each in ("half", "whole"))
    options = ("--replace",) if replaces else ()

    def judge(ended: Ended) -> list[str]:
        allowed = [old, new] if replaces else [new]
        lost: list[str] = []
        if where.exists() or replaces:
            found, lost = _sound(where)
            if found not in allowed:
                lost.append("neither the old store nor the new one")
            if ended.status == 0 and found != new:
                lost.append("acknowledged, but not restored")
        elif ended.status == 0:
            lost.append("acknowledged, but not there")
        lost += [
            "the kept store changed" for each in place.glob("*.replaced*") if state(each) != old
        ]
        return lost

    def again(ended: Ended) -> list[str]:
        done = where.exists() and state(where) == new
        fine = done and (ended.status == 0 or "exists already" in ended.complained)
        return [] if fine else [f"again: {ended}"]

    return Try(
        call=command("store", "restore", source, *options, "--store", where),
        judge=judge,
        again=again,
        folder=place,
    )


def export(scene: Scene) -> Try:
    """Export a store, every other time one aeroplane."""
    place = scene.new_folder()
    where, out = scene.store(place, "whole"), place / "out.jsonl.gz"
    alone = scene.tries % 2 == 0
    wanted = (scene.patterns / f"whole{'-airframe' if alone else ''}.jsonl.gz").read_bytes()
    words = ("airframe", "export", REG) if alone else ("store", "export")

    def judge(ended: Ended) -> list[str]:
        _, lost = _sound(where)
        if out.exists() and out.read_bytes() != wanted:
            lost.append("half a file")
        missing = ended.status == 0 and not out.exists()
        return [*lost, "acknowledged, but not there"] if missing else lost

    def again(ended: Ended) -> list[str]:
        fine = out.exists() and out.read_bytes() == wanted
        fine = fine and (ended.status == 0 or "exists already" in ended.complained)
        return [] if fine else [f"again: {ended}"]

    return Try(call=command(*words, out, "--store", where), judge=judge, again=again, folder=place)


def _taking_in(scene: Scene, words: tuple[str, ...], begin: str, source: str, refused: str) -> Try:
    """Take a file in: the store is as before or as its source."""
    place = scene.new_folder()
    where = scene.store(place, begin)
    before, after = state(where), state(scene.patterns / "whole.sqlite3").seals
    if "airframe" in words and begin == "empty":
        after = {name: seal for name, seal in after.items() if name != "operator"}

    def judge(ended: Ended) -> list[str]:
        found, lost = _sound(where)
        if found.seals not in (before.seals, after):
            lost.append("half a history")
        if ended.status == 0 and found.seals != after:
            lost.append("acknowledged, but not there")
        return lost

    def again(ended: Ended) -> list[str]:
        found, lost = _sound(where)
        fine = ended.status == 0 or (refused and refused in ended.complained)
        return lost + ([] if fine and found.seals == after else [f"again: {ended}"])

    call = command(*words, scene.patterns / source, "--store", where)
    return Try(call=call, judge=judge, again=again, folder=place)


def take_store_in(scene: Scene) -> Try:
    """Take a whole store's export into an empty one."""
    return _taking_in(scene, ("store", "import"), "empty", "whole.jsonl.gz", "holds the logbook")


def take_airframe_in(scene: Scene) -> Try:
    """Take an aeroplane's logbook in: new here, or to be brought up to date."""
    begin = "half" if scene.tries % 2 else "empty"
    return _taking_in(scene, ("airframe", "import"), begin, "whole-airframe.jsonl.gz", "")


def init(scene: Scene) -> Try:
    """Make a new store."""
    return _making(scene, ("store", "init"), lambda where: state(where).entries == 0)


def demo(scene: Scene) -> Try:
    """Build the demo's store and check its fleet."""
    return _making(scene, ("demo",), is_demo)


def _making(scene: Scene, words: tuple[str, ...], whole: Callable[[str], bool]) -> Try:
    """Make a store where none is."""
    place = scene.new_folder()
    where = place / "log.sqlite3"

    def judge(ended: Ended) -> list[str]:
        if not where.exists():
            return ["acknowledged, but not there"] if ended.status == 0 else []
        _, lost = _sound(where)
        return lost if whole(str(where)) else [*lost, "half a store"]

    def again(ended: Ended) -> list[str]:
        lost = judge(ended)
        fine = where.exists() and (ended.status == 0 or "exists already" in ended.complained)
        return lost if fine else [*lost, f"again: {ended}"]

    return Try(call=command(*words, "--store", where), judge=judge, again=again, folder=place)


#: Each sort with its share of the tries, in percent; the first on the real disk, each by itself.
SORTS: Mapping[str, tuple[Job, int]] = {
    "single records": (record, 26),
    "CSV imports": (csv_import, 16),
    "backups, rotation": (backup, 11),
    "migrations": (upgrade, 11),
    "restore": (restore, 8),
    "exports": (export, 6),
    "store import": (take_store_in, 6),
    "airframe import": (take_airframe_in, 8),
    "new stores": (init, 6),
    "demo building": (demo, 2),
}
#: Those that a store on a server takes part in, its client being killed.
ON_SERVER: Mapping[str, tuple[Job, int]] = {
    "single records": (record, 40),
    "CSV imports": (csv_import, 20),
    "migrations": (upgrade, 15),
    "store import": (take_store_in, 10),
    "airframe import": (take_airframe_in, 15),
}
