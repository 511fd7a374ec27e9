"""Several at once: eight writers, some of them killed; two editions; a clock that is wrong."""

import random
import sys
import time
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path

from rvsmlog.cli.app import main
from rvsmlog.dates import now
from rvsmlog.errors import StoreError
from rvsmlog.records.kinds import KIND
from rvsmlog.store.books import find_book
from rvsmlog.store.connection import Store, open_store
from rvsmlog.store.logbook import writing
from tests.benchmarks.faults.jobs import NEXT_REVISION, next_edition
from tests.benchmarks.faults.kills import Count, show
from tests.benchmarks.faults.process import Call, Ended, Process, command, run
from tests.benchmarks.faults.room import in_plain_words
from tests.benchmarks.faults.scene import (
    BOOK,
    REG,
    Scene,
    check_options,
    crosscheck,
    remarks,
    state,
)
from tests.benchmarks.faults.server import served

WRITERS = 8
_STORE_FAILS = 3


def together(tries: int, rng: random.Random, folder: Path) -> int:
    """Run all of these."""
    each = max(3, tries // 50)
    lite = Scene(folder / "lite")
    lite.folder.mkdir()
    where = lite.store(lite.new_folder(), "half")
    counts = {"SQLite": writers(where, each, rng)}
    bad = 0
    (folder / "server").mkdir()
    with served(folder / "server") as server:
        counts["PostgreSQL"] = writers(server.fresh("half"), each, rng)
        bad += show("two editions", {**editions(lite), **editions(server.scene)})
    bad += show(f"{WRITERS} writers, each {each}", counts)
    return bad + show("a wrong clock", clocks(lite))


def writers(where: str, each: int, rng: random.Random) -> Count:
    """Have eight processes record at once; every fourth is killed at some instant, for another.

    A try is one writer. It lost something when an entry that it acknowledged is not there; what is
    wrong with the logbook as a whole counts for the last.
    """
    before, count = state(where), Count()
    working = {number: Process(_writer(where, number, each)) for number in range(WRITERS)}
    ended: dict[int, Ended] = {}
    for number in range(0, WRITERS, 4):
        working[number].wait_for("mark ")
        time.sleep(rng.uniform(0.0, 0.3))
        working[number].kill()
        ended[number] = working.pop(number).end()
        working[WRITERS + number] = Process(_writer(where, WRITERS + number, each))
    ended |= {number: process.end() for number, process in working.items()}
    there, after = remarks(where), state(where)
    said = 0
    for number, writer in ended.items():
        marks = {line for line in writer.said.splitlines() if line.startswith("mark ")}
        said += len(marks)
        lost = [f"acknowledged, but not there: {mark}" for mark in marks - there]
        if not writer.killed and (writer.status or len(marks) != each):
            lost.append(f"stopped: {writer}")
        count.add(f"writer {number}", lost, killed=writer.killed)
    wrong = [*after.faults]
    more = after.entries - before.entries
    if not said <= more <= said + count.killed:
        wrong.append(f"{more} entries for {said} acknowledged")
    count.add("the logbook", wrong, killed=False)
    return count


def _writer(where: str, writer: int, each: int) -> Call:
    """Record some entries by one command each, and acknowledge each."""

    def call() -> int:
        for number in range(each):
            mark = f"mark {writer} {number}"
            status = main([*check_options(mark, writer * 20_000 + number), "--store", where])
            if status:
                return status
            sys.stdout.write(f"{mark}\n")
            sys.stdout.flush()
        return 0

    return call


def editions(scene: Scene) -> Mapping[str, Count]:
    """Let this edition and the next meet on one store."""
    kind = "SQLite" if scene.fresh is None else "PostgreSQL"
    newer, older, held = Count(), Count(), Count()
    where = scene.store(scene.new_folder(), "half")
    before = state(where)
    early: tuple[tuple[str, ...], ...] = (
        *(check_options("new", 1), ("crosscheck", "list", REG), ("store", "verify")),
    )
    for each in early:
        ended = run(next_edition(scene.folder, command(*each, "--store", where)))
        newer.add(str(each[:2]), _refused(ended, "store upgrade"), killed=False)
    held.add("held open", _held_open(scene, where), killed=False)
    later: tuple[tuple[object, ...], ...] = (
        *(check_options("old", 2), ("crosscheck", "list", REG), ("store", "verify")),
        *(("store", "upgrade"), ("gonogo", REG), ("store", "export", scene.folder / "x.jsonl")),
    )
    for words in later:
        ended = run(command(*words, "--store", where))
        older.add(str(words[:2]), _refused(ended, "newer"), killed=False)
    after = state(where)
    if after.revision != NEXT_REVISION or after.seals == before.seals or after.faults:
        older.add("after", [f"not as it should be: {after}"], killed=False)
    return {
        f"newer on older, {kind}": newer,
        f"older on newer, {kind}": older,
        f"upgraded under it, {kind}": held,
    }


def _refused(ended: Ended, says: str) -> list[str]:
    """Hold that a command was refused in plain words."""
    fine = ended.status == _STORE_FAILS and says in ended.complained
    return in_plain_words(ended) if fine else [f"not refused: {ended}"]


def _held_open(scene: Scene, where: str) -> list[str]:
    """Upgrade a store that a process of this edition holds open, then let that write."""
    flag = scene.folder / "upgraded"
    flag.unlink(missing_ok=True)

    def old() -> int:
        with open_store(where) as store:
            _write(store, "before the upgrade")
            sys.stdout.write("first\n")
            sys.stdout.flush()
            while not flag.exists():
                time.sleep(0.01)
            try:
                _write(store, "after the upgrade")
            except StoreError as error:
                sys.stdout.write(f"refused: {error.message}\n")
                return 0
        return 1

    process = Process(old)
    while "before the upgrade" not in remarks(where):
        time.sleep(0.01)
    upgraded = run(next_edition(scene.folder, command("store", "upgrade", "--store", where)))
    flag.touch()
    ended = process.end()
    lost = [] if upgraded.status == 0 else [f"not upgraded: {upgraded}"]
    if "refused: " not in ended.said or NEXT_REVISION not in ended.said:
        lost.append(f"an older program wrote to schema {NEXT_REVISION}: {ended}")
    return lost


def _write(store: Store, remark: str) -> None:
    """Add one entry through a store that is open."""
    with writing(store, "A. Example", now) as log:
        book = find_book(log.connection, BOOK)
        assert book is not None
        record = KIND["crosscheck"].parse(crosscheck(1000 + len(remark), remark))
        log.append(book, record)


def clocks(scene: Scene) -> Mapping[str, Count]:
    """Record by a clock that is behind or ahead: no entry is made before the one before it."""
    counts = {}
    for name, by, accepted in (
        ("5 minutes back", timedelta(minutes=-5), True),
        ("an hour back", timedelta(hours=-1), False),
        ("a month back", timedelta(days=-30), False),
    ):
        count = counts[name] = Count()
        where = scene.store(scene.new_folder(), "half")
        run(command(*check_options("now", 1), "--store", where))
        before = state(where)
        ended = run(_at(now() + by, command(*check_options("then", 2), "--store", where)))
        after = state(where)
        lost = [*after.faults, *in_plain_words(ended)]
        if (after.entries > before.entries, ended.status == 0) != (accepted, accepted):
            lost.append(f"{after.entries - before.entries} entries: {ended}")
        count.add(name, lost, killed=False)
        again = run(command(*check_options("then", 3), "--store", where))
        count.add(name, [f"{again}"] if again.status else [], killed=False)
    return counts


def _at(instant: datetime, call: Call) -> Call:
    """Give a call with the machine's clock at an instant."""

    def then() -> int:
        for name, module in list(sys.modules.items()):
            if name.startswith("rvsmlog.") and hasattr(module, "now"):
                vars(module)["now"] = lambda: instant
        return call()

    return then
