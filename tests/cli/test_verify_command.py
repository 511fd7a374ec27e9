"""`store verify` on the command line: seals typed from paper, exit status, JSON."""

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.cli.conftest import Cli, Ran

BOOK = "VK71-1007"


def seal_of(cli: "Cli", digits: int = 32) -> str:
    """Give the airframe's seal as a screen prints it, read without the program."""
    number, digest = cli.seals()[BOOK]
    return f"{BOOK}#{number}:{digest.lower()[:digits]}"


def test_the_printed_seal_is_taken_and_holds(small: "Cli") -> None:
    """What `store verify` prints goes back into it as it stands, and leaves with 0."""
    printed = small.ok("store", "verify").out.split()
    assert seal_of(small) in printed
    ran = small.ok("store", "verify", "--seal", seal_of(small))
    assert f"seal {seal_of(small).partition(':')[0]} holds" in ran.out
    assert "32 of 64 digits compared" in " ".join(ran.out.split())


def test_the_seal_of_a_verdict_is_taken(small: "Cli") -> None:
    """The seal at the foot of a check is taken as it is printed there, with a blank."""
    shown = small("gonogo", "QX-ABC", "--level", "310").out
    line = next(line for line in shown.splitlines() if f"seal {BOOK}" in line)
    small.ok("store", "verify", "--seal", line.strip().removeprefix("seal "))


def test_a_seal_that_does_not_hold_leaves_with_1(small: "Cli") -> None:
    """A verification whose seal does not hold fails, though every digest agrees."""
    seal = seal_of(small)
    wrong = f"{BOOK}#2:{'0' * 32}"
    ran = small("store", "verify", "--seal", seal, "--seal", wrong, "--json")
    assert ran.status == 1
    assert ran.json["as_written"] is True
    assert ran.json["store_as_made"] is True
    assert ran.json["faults"] == []
    first, second = ran.json["seals_checked"]
    assert (first["holds"], first["digits_compared"]) == (True, 32)
    assert (second["holds"], second["outcome"]) == (False, "differs")
    assert ran.json["seals"][-1]["digest"].startswith(seal.partition(":")[2])


def test_a_dropped_trigger_leaves_with_1(small: "Cli") -> None:
    """A store whose guards were taken away fails, though every entry is as written."""
    with closing(sqlite3.connect(small.store)) as connection, connection:
        connection.execute("DROP TRIGGER entry_no_update")
    ran = small("store", "verify")
    assert ran.status == 1
    assert ran.out.startswith("as written: ")
    assert "the store has lost its trigger entry_no_update" in ran.out


def test_no_seal_is_bad_input(small: "Cli", check_one_line: "Callable[[Ran, int], None]") -> None:
    """What cannot be a seal is one line and a hint."""
    for wrong in ("x", f"{BOOK}#1:123", "\x1b[31m#1:aaaaaaaaaaaaaaaaaaaaaaaa"):
        ran = small("store", "verify", "--seal", wrong)
        if "#1:a" not in wrong:
            check_one_line(ran, 2)
        assert "\x1b" not in ran.out + ran.err
