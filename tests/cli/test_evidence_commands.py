"""Backup, restore, export, import and transfer on the command line."""

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from tests.cli.conftest import REG

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.cli.conftest import Cli, Ran

BOOK = "VK71-1007"


def test_backups_rotate(small: "Cli") -> None:
    """The command says what it verified, and what it removed."""
    folder = small.store.parent / "backups"
    folder.mkdir()
    first = small.ok("store", "backup", str(folder), "--json").json
    assert (first["entries"], first["removed"]) == (5, [])
    old = folder / "log.20200101T000000Z.backup.sqlite3"
    Path(first["backup"]).rename(old)
    ran = small.ok("store", "backup", str(folder), "--keep", "1")
    said = " ".join(ran.out.split())
    assert "5 entries, every digest agrees" in said
    assert f"removed {old}" in said
    assert len(list(folder.iterdir())) == 1


def test_a_number_of_backups_is_one(
    small: "Cli", check_one_line: "Callable[[Ran, int], None]"
) -> None:
    """None, fewer than one, and what is no number leave every file where it is."""
    for keep in ("0", "-1", "all", ""):
        check_one_line(small("store", "backup", "--keep", keep), 2)
    assert [path.name for path in small.store.parent.iterdir()] == ["log.sqlite3"]


def test_a_store_is_restored_by_a_word(
    small: "Cli", check_one_line: "Callable[[Ran, int], None]"
) -> None:
    """Without --replace nothing is touched; with it, the old store is named where it is now."""
    copy = small.store.with_name("copy.sqlite3")
    small.ok("store", "backup", str(copy))
    small.ok("crosscheck", "strike", REG, "3", "--reason", "x")
    before = small.seals()
    check_one_line(small("store", "restore", str(copy)), 3)
    assert small.seals() == before
    ran = small.ok("store", "restore", str(copy), "--replace", "--json").json
    assert small.seals()[BOOK][0] == 3
    assert (ran["store"], ran["entries"]) == (str(small.store), 5)
    small.ok("store", "verify", "--store", ran["kept"])
    other = small.store.with_name("other.sqlite3")
    said = small.ok("store", "restore", str(copy), "--store", str(other)).out
    assert "5 entries, every digest agrees" in " ".join(said.split())


def test_everything_goes_to_another_store(small: "Cli") -> None:
    """Export, import into an empty store, and the same seals; a second import is refused."""
    file = small.store.with_name("all.jsonl.gz")
    made = small.ok("store", "export", str(file), "--json").json
    fresh = ("--store", str(file.with_name("fresh.sqlite3")))
    small.ok("store", "init", *fresh)
    taken = small.ok("store", "import", str(file), *fresh, "--json").json
    assert [each["seal"] for each in taken] == made["seals"]
    assert small("store", "import", str(file), *fresh).status == 2
    again = file.with_name("again.jsonl.gz")
    small.ok("store", "export", str(again), *fresh)
    assert again.read_bytes() == file.read_bytes()


def test_an_aeroplane_is_sold(small: "Cli") -> None:
    """Its log leaves as one file, comes in once, and answers questions at the buyer's."""
    file = small.store.with_name("sold.jsonl")
    said = small.ok("airframe", "export", REG, str(file)).out
    seal = said.splitlines()[-1].strip()
    buyer = ("--store", str(small.store.with_name("buyer.sqlite3")))
    small.ok("store", "init", *buyer)
    first = small.ok("airframe", "import", str(file), *buyer)
    assert f"{BOOK} (QX-ABC): 3 entries added\n  {seal}\n" == first.out
    second = small.ok("airframe", "import", str(file), *buyer, "--json").json
    assert (second["added"], second["registration"]) == (0, REG)
    small.ok("store", "verify", *buyer, "--seal", seal)
    rows = small.ok("crosscheck", "list", REG, *buyer, "--json").json
    assert [(row["entry"], row["recorded_by"]) for row in rows] == [(3, "MKO")]
    assert small("gonogo", REG, "--level", "310", *buyer).status == 1


def test_a_logbook_takes_no_options_of_rows(
    small: "Cli", check_one_line: "Callable[[Ran, int], None]"
) -> None:
    """A file is a logbook or rows by what it holds, whatever its name."""
    file = small.store.with_name("sold.csv")
    small.ok("airframe", "export", REG, str(file))
    ran = small("airframe", "import", str(file), "--kind", "airframe")
    check_one_line(ran, 2)
    assert "holds a logbook, not rows" in ran.err
    assert "nothing new" in small.ok("airframe", "import", str(file)).out
    check_one_line(small("crosscheck", "import", str(file)), 2)


def test_what_is_in_a_file_cannot_steer_a_terminal(
    small: "Cli", check_one_line: "Callable[[Ran, int], None]"
) -> None:
    """A message that repeats a foreign text shows its control characters by number."""
    file = small.store.with_name("sold.jsonl")
    small.ok("airframe", "export", REG, str(file))
    lines = [json.loads(line) for line in file.read_text().splitlines()]
    lines[2]["kind"] = "\x1b[2J\x9b31m\u202e"
    file.write_text("".join(json.dumps(line) + "\n" for line in lines))
    ran = small("airframe", "import", str(file))
    check_one_line(ran, 2)
    assert "x1b[2J" in ran.err
    assert not set("\x1b\x9b\u202e") & set(ran.err)


def test_a_changed_store_is_not_exported(
    small: "Cli", check_one_line: "Callable[[Ran, int], None]"
) -> None:
    """The entry is named, and there is no file."""
    with closing(sqlite3.connect(small.store)) as connection, connection:
        connection.execute("DROP TRIGGER crosscheck_detail_no_update")
        connection.execute("UPDATE crosscheck_detail SET primary_1_ft = 31040")
    file = small.store.with_name("sold.jsonl")
    ran = small("airframe", "export", REG, str(file))
    check_one_line(ran, 3)
    assert f"{BOOK}#3 was changed" in ran.err
    assert not file.exists()


def test_a_sellers_check_is_repeated_at_the_sellers_only(small: "Cli") -> None:
    """What the seller's operator had on record is not in the buyer's store, nor guessed."""
    small("gonogo", REG, "--level", "310")
    assert small("gonogo", REG, "--as-of", "4", "--json").json["repeats"] == 4
    file = small.store.with_name("sold.jsonl")
    small.ok("airframe", "export", REG, str(file))
    buyer = ("--store", str(small.store.with_name("buyer.sqlite3")))
    small.ok("store", "init", *buyer)
    small.ok("airframe", "import", str(file), *buyer)
    for _ in range(2):
        ran = small("gonogo", REG, "--as-of", "4", *buyer)
        assert ran.status == 2
        assert "VK71-1007#4 was made with an operator's logbook that is not this store's" in ran.err
        # The buyer has an entry of that number too now, but not that one.
        small.ok("operator", "set", "--name", "Buyer", "--time-zone", "UTC", *buyer)
    assert small("gonogo", REG, "--as-of", "3", *buyer).status == 1
