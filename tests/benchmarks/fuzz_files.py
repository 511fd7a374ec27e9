"""Files for the fuzzer: a box full of traps, and sheets, exports, weather and backups, bent."""

import gzip
import json
import os
import random
import shutil
import sqlite3
from collections.abc import Callable, Mapping
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rvsmlog.records.base import RecordKind
from rvsmlog.records.kinds import KINDS
from rvsmlog.records.people import LASTING
from rvsmlog.store.importing.csv_drafts import names_airframe
from rvsmlog.store.tables import table_name
from tests.benchmarks.fuzz_lines import fields
from tests.benchmarks.fuzz_values import PLACES, bent, bent_bytes, hostile
from tests.cli.conftest import REG, Cli, commands
from tests.science.test_igra import OKLAHOMA, TWO_LEVELS
from tests.store.transfers import sealed_anew

HEIGHTS = (
    "valid_time,lat,lon,level_hPa,height_gpm\n"
    "2024-05-03T09:00Z,40,-100,300,9190.1\n2024-05-03T09:00Z,40,-100,250,10398.4\n"
    "2024-05-03T12:00Z,40,-100,300,9191.1\n2024-05-03T12:00Z,40,-100,250,10399.4\n"
)
CLIMB = (
    "valid_time,level,static_air_temperature_c\n2024-05-03T09:10Z,100,-5\n"
    "2024-05-03T09:20Z,200,-25\n2024-05-03T09:30Z,310,-46\n"
)
FLIGHT = "time,primary_1_ft,primary_2_ft,standby_ft,mach\n" + "".join(
    f"2024-05-04T14:{minute:02}Z,{30000 + minute % 3 * 10},29990,30120,0.55\n"
    for minute in range(9)
)
SHEET = (
    "taken_at,phase,level,primary_1_ft,primary_2_ft,standby_ft,pilot,remarks\n"
    "2024-05-05T13:36Z,level,300,30000,29980,30120,,plain\n"
    "2024-05-05T14:33Z,leaving,300,30020,30000,30140,MKO,'=1+1\n"
)
POINTS = "check,point,reading_ft,dwell_s\nscale,0,+0,60\nscale,30000,-10,\ncase-leak,,30,\n"
_HEIGHT_CHECKS = (
    *("crosscheck", "log", REG, "--phase", "level", "--level", "310", "--primary-1-ft", "31000"),
    *("--primary-2-ft", "31010", "--gnss-height-ft", "31300", "--gnss-kind", "mean-sea-level"),
    *("--latitude-deg", "40.1", "--longitude-deg", "-100.2"),
)
_DEEP = 100_000
#: What stands outside the box, and must stay as it is whatever is done in the box.
CANARY = b"not yours\n"


@dataclass(frozen=True)
class Try:
    """One try: its sort, what is typed at the prompt, and what comes through a pipe."""

    sort: str
    words: tuple[str, ...]
    typed: str = ""


def make_master(folder: Path, bomb_mib: int = 300) -> None:
    """Make the files that every box begins with; one unpacks to so many MiB."""
    log = Cli(folder / "log.sqlite3")
    log.ok("store", "init")
    for words in commands():
        log.ok(*words)
    for hour in (9, 10, 11):
        log.ok(*_HEIGHT_CHECKS, "--taken-at", f"2024-05-03T{hour:02}:30Z")
    log("gonogo", REG, "--at", "2024-05-06T08:00Z")
    log.ok("store", "backup", str(folder / "log.backup"))
    log.ok("store", "export", str(folder / "all.jsonl.gz"))
    log.ok("airframe", "export", REG, str(folder / "QX-ABC.jsonl"))
    Cli(folder / "empty.sqlite3").ok("store", "init")
    for name, text in (
        *(("sheet.csv", SHEET), ("heights.csv", HEIGHTS), ("climb.csv", CLIMB)),
        *(("flight.csv", FLIGHT), ("points.csv", POINTS), ("text.txt", "plain\n")),
        ("igra.txt", "\n".join((*TWO_LEVELS, *OKLAHOMA)) + "\n"),
        ("long.csv", "taken_at," + "x" * (3 << 20)),
        ("deep.jsonl", "[" * _DEEP + "]" * _DEEP + "\n"),
    ):
        (folder / name).write_text(text, encoding="utf-8")
    (folder / "garbage").write_bytes(random.Random(1).randbytes(5000))
    with gzip.open(folder / "bomb.jsonl.gz", "wb", compresslevel=9) as packed:
        for _ in range(bomb_mib):
            packed.write(b" " * (1 << 20))


def make_box(master: Path, box: Path) -> Path:
    """Make a box: canaries, and in it the folder to work in, with traps in its way."""
    work = box / "work"
    (box / "outside").mkdir(parents=True)
    (box / "outside" / "canary").write_bytes(CANARY)
    shutil.copytree(master, work)
    (work / "folder").mkdir()
    (work / "link").symlink_to("../outside/canary")
    (work / "dangling").symlink_to("../outside/made")
    (work / "loop").symlink_to("loop")
    # Named as a backup of this store is, but a link: rotation must neither follow nor remove it.
    old = work / "folder" / "log.20200101T000000Z.backup.sqlite3"
    old.symlink_to("../../outside/canary")
    os.mkfifo(work / "pipe")
    (work / "zero").symlink_to("/dev/zero")
    shutil.copy(work / "log.sqlite3", work / "readonly.sqlite3")
    (work / "readonly.sqlite3").chmod(0o400)
    with (work / "sparse.csv").open("wb") as handle:
        handle.truncate(1 << 30)
    return work


def faults_outside(box: Path) -> list[str]:
    """Say what was done outside the folder to work in."""
    found = []
    if (box / "outside" / "canary").read_bytes() != CANARY:
        found.append("the canary was changed through a link")
    if {each.name for each in (box / "outside").iterdir()} != {"canary"}:
        found.append("a file was made outside through a link")
    if not (box / "work" / "folder" / "log.20200101T000000Z.backup.sqlite3").is_symlink():
        found.append("a link named like a backup was removed")
    return found


def _written(rng: random.Random, name: str, text: str) -> str:
    """Write a file of the box, its bytes bent every now and then."""
    content = text.encode("utf-8", "surrogatepass")
    Path(name).write_bytes(bent_bytes(rng, content) if rng.random() < 0.3 else content)
    return name


def _cell(rng: random.Random, text: str) -> str:
    """Write a cell, hostile or badly quoted every now and then."""
    if rng.random() < 0.08:
        text = hostile(rng)
    if rng.random() < 0.05:
        return text
    return '"' + text.replace('"', '""') + '"' if set(text) & set(',"\r\n') else text


#: Made by commands alone; and a list of people, which would have all that follows refused.
_NO_ROWS = ("gonogo", "static-error", "person", *LASTING)


def sheet(rng: random.Random) -> Try:
    """Give rows of a kind of record, and the command that imports them."""
    kind = rng.choice([kind for kind in KINDS if kind.name not in _NO_ROWS])
    under = names_airframe(kind)
    beside = under and rng.random() < 0.5
    rows = [fields(rng, kind) for _ in range(rng.choice((1, 1, 3, 20)))]
    names = [name for name in kind.by_name if any(name in row for row in rows)]
    heads = ["airframe", *names] if beside else names
    lines = [",".join(_cell(rng, name) if rng.random() < 0.02 else name for name in heads)]
    for row in rows:
        cells = [_cell(rng, row.get(name, "")) for name in names]
        lines.append(",".join([REG, *cells] if beside else cells))
    text = "\n".join(lines) + rng.choice(("", "\n", "\r\n", "\n\n,,\n"))
    words = [_noun(kind), "import", _written(rng, "fuzzed.csv", text), "--kind", kind.name]
    words += ["--airframe", REG] if under and not beside else []
    words += ["--skip-bad", f"rejects{rng.random()}.csv"] if rng.random() < 0.3 else []
    return Try("CSV rows", (*words, *(["--json"] if rng.random() < 0.2 else [])))


def _noun(kind: RecordKind) -> str:
    from rvsmlog.cli.nouns import NOUNS

    return next(
        noun for noun, found in NOUNS.items() if kind in (recording.kind for recording in found)
    )


def bent_sheet(rng: random.Random) -> Try:
    """Give one of the plain sheets with its text bent."""
    name, words = rng.choice(
        (
            (SHEET, ("crosscheck", "import", "fuzzed.csv", "--airframe", REG)),
            (SHEET, ("crosscheck", "import", "fuzzed.csv", "--airframe", REG, "--skip-bad", "rej")),
            (POINTS, ("test", "import-points", REG, "17", "fuzzed.csv")),
        )
    )
    _written(rng, "fuzzed.csv", bent(rng, name))
    Path("rej").unlink(missing_ok=True)
    return Try("CSV rows", words)


def transfer(rng: random.Random) -> Try:
    """Give an export with lines bent, exchanged or forged, and the command that takes it in."""
    whole = rng.random() < 0.4
    packed = Path("all.jsonl.gz").read_bytes()
    text = gzip.decompress(packed).decode() if whole else Path("QX-ABC.jsonl").read_text("ascii")
    lines: list[Any] = [json.loads(line) for line in text.splitlines()]
    for _ in range(rng.choice((0, 1, 1, 2))):
        _bend_lines(rng, lines)
    with suppress(Exception):  # what cannot be sealed is sent as it is
        lines = sealed_anew(lines) if rng.random() < 0.6 else lines
    written = "".join(json.dumps(line) + "\n" for line in lines)
    written = bent(rng, written) if rng.random() < 0.2 else written
    name = rng.choice(("fuzzed.jsonl", "fuzzed.jsonl.gz"))
    content = written.encode("utf-8", "surrogatepass")
    content = gzip.compress(content, 1) if name.endswith(".gz") else content
    Path(name).write_bytes(bent_bytes(rng, content) if rng.random() < 0.2 else content)
    noun = "store" if whole else "airframe"
    where = rng.choice(("empty.sqlite3", "empty.sqlite3", "log.sqlite3"))
    return Try("transfer files", (noun, "import", name, "--store", where))


def _bend_lines(rng: random.Random, lines: list[Any]) -> None:
    """Make one change to the lines of an export."""
    at = rng.randrange(len(lines))
    what = rng.random()
    if what < 0.1:
        del lines[at]
    elif what < 0.2:
        lines.insert(rng.randrange(len(lines)), lines[at])
    elif what < 0.25:
        lines[at] = rng.choice((None, 3, [], "x", [[]] * 1000, {}, _nested(200)))
    else:
        within = lines[at].get("fields") if isinstance(lines[at], dict) else None
        target = within if within and rng.random() < 0.6 else lines[at]
        if isinstance(target, dict) and target:
            key = rng.choice(list(target))
            if rng.random() < 0.1:
                target[hostile(rng)] = target.pop(key)
            else:
                target[key] = _value(rng, target[key])


def _value(rng: random.Random, value: Any) -> Any:
    """Give another value, of the same type or of any."""
    if isinstance(value, int) and rng.random() < 0.6:
        return value + rng.choice((-1, 1, 10**6, 10**15, 10**400, -(10**9), -value))
    if isinstance(value, str) and rng.random() < 0.6:
        return rng.choice((bent(rng, value), hostile(rng)))
    others: tuple[Any, ...] = (
        None,
        True,
        -0.0,
        1e308,
        float("nan"),
        [],
        {},
        0,
        2**63,
        "",
        _nested(50),
        0.5,
    )
    return rng.choice(others)


def _nested(depth: int) -> Any:
    value: Any = 1
    for _ in range(depth):
        value = [value]
    return value


def weather(rng: random.Random) -> Try:
    """Give a file of weather or flight data, and the command that reads it."""
    igra = "\n".join((*TWO_LEVELS, *OKLAHOMA)).replace("2010 06 01 00", "2024 05 03 12") + "\n"
    text, words = rng.choice(
        (
            (HEIGHTS, ("static-error", REG, "--heights", "fuzzed.csv", "--kind-confirmed")),
            (CLIMB, ("static-error", REG, "--climb", "fuzzed.csv", "--kind-confirmed")),
            (igra, ("static-error", REG, "--soundings", "fuzzed.csv", "--kind-confirmed")),
            (FLIGHT, ("crosscheck", "extract", "fuzzed.csv", "--json")),
            (FLIGHT, ("crosscheck", "extract", "fuzzed.csv", "--record", REG)),
        )
    )
    for _ in range(rng.randrange(4)):
        text = bent(rng, text)
    if rng.random() < 0.1:
        cells = text.split(",")
        cells[rng.randrange(len(cells))] = hostile(rng)
        text = ",".join(cells)
    _written(rng, "fuzzed.csv", text)
    also = ("--record",) if words[0] == "static-error" and rng.random() < 0.3 else ()
    return Try("weather and flight data", (*words, *also))


def backup(rng: random.Random) -> Try:
    """Give a damaged store, and a command that restores or reads it."""
    if rng.random() < 0.5:
        Path("fuzzed.backup").write_bytes(bent_bytes(rng, Path("log.backup").read_bytes()))
    else:
        shutil.copyfile("log.backup", "fuzzed.backup")
        with closing(sqlite3.connect("fuzzed.backup")) as lite, suppress(sqlite3.Error):
            _damage(rng, lite)
    for left in ("restored.sqlite3", "fuzzed.backup-wal", "fuzzed.backup-shm"):
        Path(left).unlink(missing_ok=True)
    words = rng.choice(
        (
            ("store", "restore", "fuzzed.backup", "--store", "restored.sqlite3"),
            ("store", "restore", "fuzzed.backup", "--store", "empty.sqlite3", "--replace"),
            ("store", "verify", "--store", "fuzzed.backup"),
            ("store", "info", "--store", "fuzzed.backup"),
            ("store", "upgrade", "--store", "fuzzed.backup"),
            ("store", "export", f"e{rng.random()}.jsonl", "--store", "fuzzed.backup"),
            ("gonogo", REG, "--dry-run", "--store", "fuzzed.backup"),
            ("crosscheck", "list", REG, "--csv", "--store", "fuzzed.backup"),
            ("due", "--store", "fuzzed.backup"),
        )
    )
    return Try("damaged stores", words)


def _damage(rng: random.Random, lite: sqlite3.Connection) -> None:
    """Change a store past the program."""
    for (name,) in lite.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        lite.execute(f"DROP TRIGGER {name}")
    kind = rng.choice(KINDS)
    table = rng.choice(("entry", "logbook", "alembic_version", "derived", table_name(kind)))
    columns = [row[1] for row in lite.execute(f"PRAGMA table_info({table})")]
    what = rng.random()
    if what < 0.15:
        lite.execute(f"DROP TABLE {table}")
    elif what < 0.3:
        lite.execute(f"DELETE FROM {table}")  # noqa: S608 - our own names
    else:
        # What cannot be written as a text becomes one all the same, as in a file with flipped bits.
        said = hostile(rng).encode("utf-8", "surrogatepass")
        value, to = rng.choice(
            (
                *((each, "?") for each in (None, b"\xff", "x" * 3000, 2**62, -1, 1e300)),
                (said, "CAST(? AS TEXT)"),
            )
        )
        column = rng.choice(columns)
        lite.execute(f"UPDATE OR IGNORE {table} SET {column} = {to}", (value,))  # noqa: S608 - our own names
    lite.commit()


def trap(rng: random.Random) -> Try:
    """Give a command that reads or makes a file, and a place that is none, or too much."""
    place = rng.choice(PLACES)
    words = rng.choice(
        (
            *(("crosscheck", "import", place, "--airframe", REG), ("airframe", "import", place)),
            *(("store", "import", place), ("crosscheck", "extract", place)),
            *(("static-error", REG, "--heights", place), ("static-error", REG, "--climb", place)),
            *(
                ("static-error", REG, "--soundings", place),
                ("test", "import-points", REG, "17", place),
            ),
            *(("store", "restore", place, "--store", "r.sqlite3"), ("store", "backup", place)),
            *(("store", "backup", place, "--keep", "1"), ("store", "export", place)),
            *(("airframe", "export", REG, place), ("due", REG, "--ics", place)),
            *(("drift", REG, "--plot", place), ("store", "info", "--store", place)),
            *(("store", "init", "--store", place), ("store", "verify", "--store", place)),
            *(("demo", "--store", place), ("store", "upgrade", "--store", place)),
            ("crosscheck", "import", "sheet.csv", "--airframe", REG, "--skip-bad", place),
            ("crosscheck", "extract", "flight.csv", "--out", place),
            ("crosscheck", "extract", "flight.csv", "--out", place, "--record", "QX-NIL"),
        )
    )
    return Try("places that are traps", words)


SORTS: Mapping[Callable[[random.Random], Try], int] = {
    sheet: 12,
    bent_sheet: 4,
    transfer: 10,
    weather: 7,
    backup: 4,
    trap: 3,
}
