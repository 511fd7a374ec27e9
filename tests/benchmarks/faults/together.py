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
from rvsmlog.store.connection import SCHEMA_REVISION, Store, open_store
from rvsmlog.store.reading.books import find_book
from rvsmlog.store.writing.logbook import writing
from tests.benchmarks.faults.jobs import earlier_edition
from tests.benchmarks.faults.kills import Count, show
from tests.benchmarks.faults.process import Call, Ended, Process, command, run
from tests.benchmarks.faults.room import in_plain_words
from tests.benchmarks.faults.scene import (
    OLD_BOOK,
    OLD_REG,
    OLDER,
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
    """Let this edition and the one before meet on one store of the older schema."""
    kind = "SQLite" if scene.fresh is None else "PostgreSQL"
    newer, older, held = Count(), Count(), Count()
    where = scene.store(scene.new_folder(), OLDER[-1])
    before = state(where)
    early: tuple[tuple[str, ...], ...] = (
        check_options("new", 1, OLD_REG),
        *(("crosscheck", "list", OLD_REG), ("store", "verify")),
    )
    for each in early:
        ended = run(command(*each, "--store", where))
        newer.add(str(each[:2]), _refused(ended, "store upgrade"), killed=False)
    held.add("held open", _held_open(scene, where), killed=False)
    later: tuple[tuple[object, ...], ...] = (
        check_options("old", 2, OLD_REG),
        *(("crosscheck", "list", OLD_REG), ("store", "verify"), ("store", "upgrade")),
        *(("gonogo", OLD_REG), ("store", "export", scene.folder / "x.jsonl")),
    )
    for words in later:
        ended = run(earlier_edition(command(*words, "--store", where)))
        older.add(str(words[:2]), _refused(ended, "newer"), killed=False)
    after = state(where)
    if after.revision != SCHEMA_REVISION or after.seals == before.seals or after.faults:
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
    """Upgrade a store that a process of the edition before holds open, then let that write."""
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

    process = Process(earlier_edition(old))
    while "before the upgrade" not in remarks(where):
        time.sleep(0.01)
    upgraded = run(command("store", "upgrade", "--store", where))
    flag.touch()
    ended = process.end()
    lost = [] if upgraded.status == 0 else [f"not upgraded: {upgraded}"]
    if "refused: " not in ended.said or SCHEMA_REVISION not in ended.said:
        lost.append(f"an older program wrote to schema {SCHEMA_REVISION}: {ended}")
    return lost


def _write(store: Store, remark: str) -> None:
    """Add one entry through a store that is open."""
    with writing(store, "A. Example", now) as log:
        book = find_book(log.connection, OLD_BOOK)
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
    for name, days in (("two months ahead", 60), ("ten years ahead", 3650)):
        counts[name] = ahead(scene, name, timedelta(days=days))
    return counts


def ahead(scene: Scene, name: str, by: timedelta) -> Count:
    """Record by a clock far ahead; then nothing is answered or taken till that is put right."""
    count = Count()
    where = scene.store(scene.new_folder(), "half")
    record = command(*check_options("ahead", 1), "--store", where)
    ended = run(_at(now() + by, record))
    count.add(f"{name}: recorded", _ended(ended, 0, ""), killed=False)
    later = command(*check_options("then", 2), "--store", where)
    asked = command("gonogo", REG, "--level", "310", "--store", where)
    for call in (later, asked):
        ended = run(call)
        count.add(name, _ended(ended, _STORE_FAILS, "store clock"), killed=False)
    clock = ("store", "clock", "--it-is", now().isoformat(), "--reason", "far ahead")
    wrong = run(_at(now() + by, command(*clock, "--store", where)))
    count.add(f"{name}: not yet set", _ended(wrong, 2, "not "), killed=False)
    for call in (command(*clock, "--store", where), later):
        count.add(name, _ended(run(call), 0, ""), killed=False)
    answered = run(asked)
    lost = [] if answered.status in (0, 1) else [f"no answer: {answered}"]
    after = state(where)
    lost += after.faults
    if remarks(where) & {"ahead", "then"} != {"ahead", "then"}:
        lost.append("what was recorded is not there")
    count.add(f"{name}: put right", lost, killed=False)
    return count


def _ended(ended: Ended, status: int, says: str) -> list[str]:
    """Hold how a command ended, and what it said of that."""
    fine = ended.status == status and says in ended.complained
    return [] if fine else [f"not as it should have ended: {ended}"]


def _at(instant: datetime, call: Call) -> Call:
    """Give a call with the machine's clock at an instant."""

    def then() -> int:
        for name, module in list(sys.modules.items()):
            if name.startswith("rvsmlog.") and hasattr(module, "now"):
                vars(module)["now"] = lambda: instant
        return call()

    return then
