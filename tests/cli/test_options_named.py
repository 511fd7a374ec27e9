"""What an option says and makes no sense is refused with the option's name before it."""

from collections.abc import Callable

import pytest

from tests.cli.conftest import REG, Cli, Ran

#: Command, option, and what it may not say.
REFUSED = (
    (("gonogo", REG), "--level", "abc"),
    (("gonogo",), "--level", "31000"),
    (("gonogo", REG), "--level", "31"),
    (("gonogo", REG), "--level", "999"),
    (("gonogo", REG), "--at", "soon"),
    (("gonogo",), "--at", "2026-11-24T08:00"),
    (("gonogo", REG), "--on", "2027-02-29"),
    (("gonogo", REG), "--region", "XX"),
    (("gonogo", REG), "--as-of", "before"),
    (("gonogo",), "--as-of", "before"),
    (("gonogo",), "--as-of", "3"),
    (("gonogo", REG), "--as-of", "0"),
    (("gonogo", REG), "--as-of", "99999999999999999"),
    (("gonogo", REG), "--hold-level", "abc"),
    (("levels", REG, "--track", "090"), "--at", "soon"),
    (("oxygen", "need", REG), "--level", "abc"),
    (("board",), "--at", "soon"),
    (("due",), "--at", "soon"),
    (("due", REG), "--at", "soon"),
    (("due",), "--within", "soon"),
    (("defect", "board"), "--at", "soon"),
    (("defect", "board", REG), "--at", "soon"),
    (("monitoring", "plan"), "--at", "soon"),
    (("drift", REG), "--at", "soon"),
    (("dossier", REG, "--json"), "--from", "soon"),
    (("dossier", REG, "--json"), "--to", "soon"),
    (("dossier", REG, "--json"), "--at", "soon"),
    (("crosscheck", "extract", "flight.csv"), "--start", "soon"),
    (("crosscheck", "extract", "flight.csv"), "--lowest-level", "abc"),
    (("crosscheck", "extract", "flight.csv"), "--steady-ft", "abc"),
    (("store", "clock", "--reason", "wrong year"), "--it-is", "soon"),
)


@pytest.mark.parametrize(
    ("command", "option", "text"),
    REFUSED,
    ids=[" ".join((command[0], option, text)) for command, option, text in REFUSED],
)
def test_the_option_is_named(
    small: Cli,
    check_one_line: Callable[[Ran, int], None],
    command: tuple[str, ...],
    option: str,
    text: str,
) -> None:
    """Of several values on one line, which one is meant need not be guessed."""
    ran = small(*command, option, text)
    check_one_line(ran, 2)
    assert ran.err.startswith(f"error: {option}: ")
