"""The list of people, refusals and the clock on the command line."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta

from rvsmlog.reports.text import WIDTH
from tests.cli.conftest import Cli, Ran

FIT = [
    "equipment",
    "fit",
    "QX-ABC",
    "--function",
    "altimeter",
    "--position",
    "2",
    "--fitted-on",
    "2024-02-03",
]


def test_a_refusal_is_one_line_and_a_hint(
    small: Cli, check_one_line: Callable[[Ran, int], None]
) -> None:
    """Who may not record is told so with status 2; the list shows who may, and what was refused."""
    small.ok("operator", "allow", "--name", "MKO", "--may", "controller")
    small.ok("operator", "allow", "--name", "J. Doe", "--may", "crew")
    before = small.seals()
    ran = small(*FIT, "--by", "J. Doe")
    check_one_line(ran, 2)
    assert ran.err.startswith("error: J. Doe (crew) may not record: equipment fitted\n")
    after = small.seals()
    assert {name for name in after if after[name] != before[name]} == {"operator"}
    assert after["operator"][0] == before["operator"][0] + 1
    rows = small.ok("operator", "list", "--kind", "refusal", "--json").json
    assert [(each["name"], each["wanted"], each["recorded_by"]) for each in rows] == [
        ("J. Doe", "equipment", "J. Doe")
    ]
    people = small.ok("operator", "list", "--kind", "person", "--json").json
    assert [(each["name"], each["may"]) for each in people] == [
        ("MKO", ["controller"]),
        ("J. Doe", ["crew"]),
    ]
    small.ok(*FIT)


def test_the_list_says_the_whole_reason_of_a_refusal(small: Cli) -> None:
    """However long names and reasons are, the reason stands beneath, folded and not cut."""
    named = "Johannes Theophilus van den Broek-Featherstonehaugh of Quill Air"
    small.ok("operator", "allow", "--name", "MKO", "--may", "controller")
    small.ok("operator", "allow", "--name", named, "--may", "crew")
    for name in (named, "N. Obody"):
        small(*FIT, "--by", name)
    shown = small.ok("operator", "list", "--kind", "refusal").out
    assert max(map(len, shown.splitlines())) <= WIDTH
    folded = " ".join(shown.split())
    rows = small.ok("operator", "list", "--kind", "refusal", "--json").json
    assert [row["why"] for row in rows] == [
        f"{named} (crew) may not record: equipment fitted",
        "N. Obody is not on the operator's list of people",
    ]
    for row in rows:
        assert f"why: {row['why']}" in folded


def test_a_check_that_is_not_kept_says_so(small: Cli) -> None:
    """The answer comes all the same, with the reason why it was not kept."""
    small.ok("operator", "allow", "--name", "MKO", "--may", "controller")
    small.ok("operator", "allow", "--name", "R. Doe", "--may", "releaser")
    before = small.seals()
    said = small("gonogo", "QX-ABC", "--level", "310", "--by", "R. Doe")
    assert said.status == 1
    assert "not kept: R. Doe (releaser) may not record: go/no-go check" in said.out
    answer = small("gonogo", "QX-ABC", "--level", "310", "--by", "R. Doe", "--json").json
    assert (answer["entry"], answer["not_kept"] is None) == (None, False)
    assert small.seals() == before


def test_the_last_controller_stays(small: Cli, check_one_line: Callable[[Ran, int], None]) -> None:
    """Nobody is locked out: the first is a controller, the last is not struck off."""
    check_one_line(small("operator", "allow", "--name", "MKO", "--may", "crew"), 2)
    made = small.ok("operator", "allow", "--name", "MKO", "--may", "controller", "--json").json
    check_one_line(small("operator", "strike", str(made["entry"]), "--reason", "left"), 2)


def test_the_clock_is_corrected_by_command(
    small: Cli, check_one_line: Callable[[Ran, int], None]
) -> None:
    """A newest entry ahead bars its logbook with status 3; the correction opens it again."""
    assert "ahead" not in small.ok("store", "clock").out
    now = datetime.now(UTC)
    later = int((now + timedelta(days=400)).timestamp()) * 1_000_000
    with closing(sqlite3.connect(small.store)) as connection, connection:
        # As a clock that was ahead would have made it; its digest is not looked at here.
        connection.execute(
            "INSERT INTO entry SELECT logbook_id, max(number) + 1, 'strike', ?, 'MKO', max(number),"
            " 'why', x'00' FROM entry WHERE logbook_id = (SELECT id FROM logbook WHERE name <> "
            "'operator')",
            (later,),
        )
    check_one_line(small(*FIT), 3)
    looked = small.ok("store", "clock").out
    assert "399 d ahead of the clock" in looked
    assert "rvsmlog store clock" in looked
    it_is = now.isoformat()
    check_one_line(small("store", "clock", "--it-is", it_is), 2)
    for reason in ("", "  "):
        check_one_line(small("store", "clock", "--it-is", it_is, "--reason", reason), 2)
    check_one_line(small("store", "clock", "--it-is", "2020-01-01T00:00Z", "--reason", "x"), 2)
    made = small.ok("store", "clock", "--it-is", it_is, "--reason", "wrong year", "--json").json
    assert [each["logbook"] for each in made["corrections"]] != ["operator"]
    assert len(made["corrections"]) == 1
    small.ok(*FIT)


def test_files_have_no_roles(small: Cli, check_one_line: Callable[[Ran, int], None]) -> None:
    """Logins are a server's: on a file the command says so."""
    check_one_line(small("store", "roles"), 3)
