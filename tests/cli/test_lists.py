"""Lists: the newest last, how entries stand, how many are shown, the columns that tell."""

import re

import pytest

from rvsmlog.cli.lists import SHOWN
from tests.cli.conftest import REG, Cli

LOG = ("crosscheck", "log", REG, "--phase", "hourly", "--level", "310", "--primary-1-ft", "31000")


def log_checks(cli: Cli, count: int) -> None:
    """Log cross-checks by the minute, out of the order of time."""
    for minute in reversed(range(count)):
        cli.ok(*LOG, "--taken-at", f"2024-05-02T10:{minute:02}Z", "--primary-2-ft", "31000")


def test_cross_checks_stand_in_the_order_of_time(small: Cli) -> None:
    """The newest last, whenever it was entered."""
    log_checks(small, 4)
    rows = small.ok("crosscheck", "list", REG, "--json").json
    taken = [each["taken_at"] for each in rows]
    assert taken == sorted(taken)
    screen = small.ok("crosscheck", "list", REG).out.splitlines()
    assert [line.split()[1] for line in screen[2:-2]] == [each[:16] + "Z" for each in taken]


def test_a_screen_shows_the_newest_and_json_all(small: Cli) -> None:
    """Twenty unless told otherwise, with a word that there are more."""
    log_checks(small, SHOWN + 2)
    screen = small.ok("crosscheck", "list", REG).out.splitlines()
    assert len([line for line in screen if line.startswith("#")]) == SHOWN == 20
    assert screen[0] == f"{REG}  altimeter cross-check, feet: the newest 20; more with --last N"
    assert len(small.ok("crosscheck", "list", REG, "--json").json) == SHOWN + 3
    some = small.ok("crosscheck", "list", REG, "--last", "3", "--json").json
    assert [each["taken_at"][11:16] for each in some] == ["10:19", "10:20", "10:21"]
    every = small.ok("crosscheck", "list", REG, "--last", "100").out
    assert "more with" not in every
    assert every.count("\n#") == SHOWN + 3


def test_a_corrected_check_leaves_no_gap_in_the_newest(small: Cli) -> None:
    """--last counts what stands, not what was corrected."""
    log_checks(small, 3)
    newest = small.ok("crosscheck", "list", REG, "--last", "1", "--json").json[0]
    small.ok(
        *(*LOG, "--taken-at", newest["taken_at"], "--primary-2-ft", "31010"),
        *("--corrects", str(newest["entry"]), "--reason", "misread"),
    )
    some = small.ok("crosscheck", "list", REG, "--last", "3", "--json").json
    assert [each["taken_at"][11:16] for each in some] == ["10:00", "10:01", "10:02"]


def test_the_difference_and_what_is_beyond_stand_in_the_list(small: Cli) -> None:
    """Published limits are 200 ft between primaries and 125 ft of correspondence.

    NAT Doc 001 3.5.1(f) and 14 CFR 43 appendix E (c); 180 ft of the standby altimeter is the
    airframe's own.
    """
    small.ok(
        *(*LOG, "--taken-at", "2024-05-02T10:00Z", "--primary-2-ft", "31201"),
        *("--standby-ft", "31020", "--transponder-ft", "30874"),
    )
    row = small.ok("crosscheck", "list", REG, "--json").json[-1]
    assert (row["difference_ft"], row["tolerance_ft"]) == (-201, 200)
    assert row["beyond"] == ["primaries", "standby", "transponder"]
    screen = small.ok("crosscheck", "list", REG).out
    assert (
        "#4     2024-05-02T10:00Z  hourly  FL310  31000  31201  -201    200\n"
        "       beyond tolerance: primaries, standby, transponder\n"
    ) in screen


@pytest.mark.parametrize(
    ("one", "two", "beyond"),
    [("1275", "1125", False), ("1276", "1200", True), ("1200", "1124", True)],
)
def test_a_ground_check_is_held_against_the_elevation(
    small: Cli, one: str, two: str, *, beyond: bool
) -> None:
    """75 ft from the known elevation (AC 91-85B, SPA.RVSM.105 pre-flight), both sides of it."""
    ran = small.ok(
        *("crosscheck", "log", REG, "--taken-at", "2024-05-02T08:00Z", "--phase", "ground"),
        *("--field-elevation-ft", "1200", "--qnh-hpa", "1013", "--primary-1-ft", one),
        *("--primary-2-ft", two, "--json"),
    )
    assert any(each["beyond"] for each in ran.json["compared"]) is beyond
    row = small.ok("crosscheck", "list", REG, "--json").json[-1]
    assert row["beyond"] == (["elevation"] if beyond else [])


def test_the_list_agrees_with_the_check(small: Cli) -> None:
    """What the list marks is what the rules find at the same limit."""
    small.ok(
        *(*LOG, "--taken-at", "2024-05-02T10:00Z", "--primary-2-ft", "31040"),
        *("--standby-ft", "31190", "--transponder-ft", "31166"),
    )
    row = small.ok("crosscheck", "list", REG, "--json").json[-1]
    answer = small("gonogo", REG, "--at", "2024-05-03T08:00Z", "--level", "310", "--json").json
    outcome = {each["rule"]: each["outcome"] for each in answer["findings"]}
    rules = {
        "primaries": "altimeters-disagree",
        "standby": "standby-disagrees",
        "transponder": "transponder-altitude-disagrees",
    }
    assert row["beyond"] == ["standby", "transponder"]
    assert {what: outcome[rule] for what, rule in rules.items()} == {
        "primaries": "met",
        "standby": "not met",
        "transponder": "not met",
    }


def test_equipment_shows_what_is_fitted_and_what_was_removed(small: Cli) -> None:
    """With the day and the entry that removed it."""
    small.ok("equipment", "remove", REG, "2", "--removed-on", "2024-05-03")
    rows = small.ok("equipment", "list", REG, "--kind", "equipment", "--json").json
    assert [(each["state"], each["state_since"], each["state_by"]) for each in rows] == [
        ("removed", "2024-05-03", 4)
    ]
    assert "#2     removed 2024-05-03  altimeter" in small.ok("equipment", "list", REG).out
    small.ok("equipment", "strike", REG, "4", "--reason", "not done")
    rows = small.ok("equipment", "list", REG, "--kind", "equipment", "--json").json
    assert [(each["state"], each["state_since"], each["state_by"]) for each in rows] == [
        ("fitted", None, None)
    ]


def report(cli: Cli, description: str) -> str:
    """Report a defect and give its entry."""
    reported = cli.ok(
        *("defect", "report", REG, "--found-at", "2024-05-02T10:00Z", "--function", "acas"),
        *("--description", description, "--json"),
    )
    return str(reported.json["entry"])


def test_defects_show_as_open_deferred_or_rectified(small: Cli) -> None:
    """A small board: each with how it stands and what was recorded about it."""
    stands, carried, mended = (report(small, text) for text in ("first", "second", "third"))
    small.ok(
        *("defect", "defer", REG, carried, "--category", "C", "--mel-reference", "34-43-1"),
        *("--deferred-on", "2024-05-02", "--highest-level", "280"),
    )
    small.ok("defect", "review", REG, carried, "--conclusion", "part ordered")
    small.ok(
        *("defect", "rectify", REG, mended, "--done-at", "2024-05-03T10:00Z"),
        *("--work-done", "unit changed", "--released-by", "J. Doe", "--licence", "1"),
        *("--reference", "W1"),
    )
    screen = small.ok("defect", "list", REG).out
    assert screen.startswith(f"{REG}  defects: 1 open, 1 deferred, 1 rectified\n")
    assert f"#{stands} acas, 2024-05-02T10:00Z: open\n" in screen
    assert "whether an extension counts: `rvsmlog defect board`" in " ".join(screen.split())
    assert f"#{carried} acas, 2024-05-02T10:00Z: deferred 2024-05-02\n" in screen
    assert "category C, item 34-43-1, FL280 at most" in screen
    assert "part ordered" in screen
    assert f"#{mended} acas, 2024-05-02T10:00Z: rectified 2024-05-03\n" in screen
    rows = small.ok("defect", "list", REG, "--json").json
    assert {each["entry"]: each.get("state") for each in rows if each["kind"] == "defect"} == {
        int(stands): "open",
        int(carried): "deferred",
        int(mended): "rectified",
    }
    standing = small.ok("defect", "list", REG, "--open", "--json").json
    assert [each["entry"] for each in standing] == [int(stands), int(carried)]
    assert "third" not in small.ok("defect", "list", REG, "--open").out


def test_no_defect_is_said(small: Cli) -> None:
    """An empty board says that nothing is on record, or that nothing is open."""
    assert small.ok("defect", "list", REG).out == f"{REG}  no defect on record yet\n"
    entry = report(small, "first")
    small.ok(
        *("defect", "rectify", REG, entry, "--done-at", "2024-05-03T10:00Z", "--work-done", "set"),
        *("--released-by", "J. Doe", "--licence", "1", "--reference", "W1"),
    )
    assert small.ok("defect", "list", REG, "--open").out == f"{REG}  no open defect on record\n"
    assert small("defect", "list", REG, "--open", "--last", "1").status == 2


def test_a_list_of_all_defects_shows_what_was_corrected_and_struck_out(small: Cli) -> None:
    """As in every other list, each marked with the entry that supersedes it; rectified ones too."""
    long = "third, of which there is so much to say that the row is wider than the screen"
    misread, twice, mended = (report(small, text) for text in ("first", "second", long))
    small.ok(
        *("defect", "report", REG, "--corrects", misread, "--description", "other"),
        *("--reason", "misread"),
    )
    small.ok("defect", "strike", REG, twice, "--reason", "entered twice")
    small.ok(
        *("defect", "rectify", REG, mended, "--done-at", "2024-05-03T10:00Z"),
        *("--work-done", "unit changed", "--released-by", "J. Doe", "--licence", "1"),
        *("--reference", "W1"),
    )
    rows = small.ok("defect", "list", REG, "--all", "--kind", "defect", "--json").json
    assert {each["entry"]: (each["state"], each["state_by"]) for each in rows} == {
        4: ("corrected", 7),
        5: ("struck out", 8),
        6: ("rectified", 9),
        7: ("open", None),
    }
    standing = small.ok("defect", "list", REG, "--kind", "defect", "--json").json
    assert [each["entry"] for each in standing] == [6, 7]
    screen = small.ok("defect", "list", REG, "--all").out
    assert "corrected by #7" in screen
    assert "struck out by #8" in screen
    assert "rectification: 1 on record" in screen
    # Its day stands whole in the list of rectifications rather than cut short in this column.
    assert re.search(r"^#6 +rectified +2024-05-02T10:00Z ", screen, re.MULTILINE)
    assert max(map(len, screen.splitlines())) <= 80
    for also in ("--csv", "--open"):
        ran = small("defect", "list", REG, "--all", also)
        assert (ran.status, ran.out) == (2, "")


def test_an_approval_shows_that_it_was_withdrawn(small: Cli) -> None:
    """With the first day on which it no longer counts."""
    small.ok(
        *("approval", "add", REG, "--approval", "mel", "--registration", REG),
        *("--holder", "Quill Air", "--issued-on", "2024-01-15"),
    )
    assert "in force" in small.ok("approval", "list", REG).out
    small.ok("approval", "withdraw", REG, "4", "--withdrawn-on", "2024-06-01", "--cause", "sold")
    assert "withdrawn 2024-06-01" in small.ok("approval", "list", REG).out


def test_an_approval_under_another_authority_is_not_called_in_force(small: Cli) -> None:
    """Once the particulars state another, it counts for nothing until it is entered again."""
    paper = (
        *("approval", "add", REG, "--approval", "mel", "--registration", REG),
        *("--holder", "Quill Air", "--issued-on", "2024-01-15"),
    )
    small.ok(*paper)
    small.ok(
        *("airframe", "add", "--registration", REG, "--type-designator", "VK71"),
        *("--serial-number", "1007", "--authority", "eu-nco", "--rvsm-basis", "group"),
        *("--type-certificate", "after-1997-04-09", "--highest-level", "310"),
    )
    shown = small.ok("approval", "list", REG).out
    assert "entered under us-91" in shown
    assert "in force" not in shown
    small.ok(*paper)
    assert "in force" in small.ok("approval", "list", REG).out
    states = [each["state"] for each in small.ok("approval", "list", REG, "--json").json]
    assert states == ["entered under us-91", "in force"]
    small.ok("approval", "withdraw", REG, "4", "--withdrawn-on", "2024-06-01", "--cause", "sold")
    assert "withdrawn 2024-06-01" in small.ok("approval", "list", REG).out


def test_the_fleet_has_a_row_for_each_airframe(small: Cli) -> None:
    """As it is now: rows of JSON carry the registration."""
    small.ok(
        *("airframe", "add", "--registration", "QX-NEW", "--type-designator", "VK71"),
        *("--serial-number", "1007", "--authority", "us-91", "--rvsm-basis", "group"),
        *("--type-certificate", "after-1997-04-09", "--highest-level", "310"),
    )
    rows = small.ok("airframe", "list", "--json").json
    assert [(each["registration"], each["serial_number"]) for each in rows] == [("QX-NEW", "1007")]
    assert small("crosscheck", "list", REG).status == 2
    assert len(small.ok("crosscheck", "list", "qxnew", "--json").json) == 1


def test_flights_are_shown_newest_last_and_counted(demo: Cli) -> None:
    """They come by the hundred: the screen shows twenty and says of how many."""
    rows = demo.ok("flight", "list", "QX-BRE", "--json").json
    screen = demo.ok("flight", "list", "QX-BRE").out.splitlines()
    shown = [line for line in screen if line.startswith("#")]
    assert [line.split()[0] for line in shown] == [f"#{each['entry']}" for each in rows[-SHOWN:]]
    assert screen[0] == f"QX-BRE  flight: the newest 20 of {len(rows)}; more with --last N"


def test_serial_numbers_of_a_whole_aeroplane_stand_whole(small: Cli) -> None:
    """Where the day of a removal has no room, the list of removals says it."""
    small.ok(
        *(
            "equipment",
            "fit",
            REG,
            "--function",
            "cabin-pressure-control",
            "--position",
            "co-pilot",
        ),
        *("--serial-number", "SN-2019-0457", "--fitted-on", "2024-05-04"),
    )
    small.ok("equipment", "remove", REG, "2", "--removed-on", "2024-05-03", "--cause", "bench")
    shown = small.ok("equipment", "list", REG).out
    assert "SN-2019-0457" in shown
    assert "2024-05-03" in shown
    assert max(map(len, shown.splitlines())) <= 80
