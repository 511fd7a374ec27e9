"""The check as a command: its JSON contract, its exit statuses, repeating it, not recording it."""

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from rvsmlog.findings import Outcome
from rvsmlog.rules import RULEBOOK, RULES
from tests.cli.conftest import REG, Cli, Ran, damage

# The instant of the demo, and of its airframes one that may go and one whose altimeters disagree.
AT = "2026-11-24T08:00Z"
GO, SPLIT = "QX-ALD", "QX-BRE"
# The contract, key by key: what programs rely on.
KEYS = {
    *("airframe", "at", "planned_level", "highest_level", "verdict", "findings", "to_do"),
    *("flight_plan", "seal", "rulebook", "entry", "repeats", "ahead_to", "not_kept", "caution"),
}
FINDING_KEYS = {
    *("rule", "outcome", "highest_level", "says", "values", "limits", "margin", "evidence"),
    *("sources", "remedy"),
}
WHENS = {"before-take-off", "before-entry", "in-level", "each-hour", "leaving", "after-flight"}


def ask(registration: str, *more: str) -> tuple[str, ...]:
    """Give the command that asks about the demo's flight."""
    return ("gonogo", registration, "--at", AT, "--pilot", "IVO", *more)


def test_the_answer_has_exactly_the_keys_of_the_contract(demo: Cli) -> None:
    """A missing key, or a new one that nobody wrote down here, fails."""
    ran = demo(*ask(SPLIT, "--level", "310", "--json"))
    answer = ran.json
    assert set(answer) == KEYS
    assert {frozenset(finding) for finding in answer["findings"]} == {frozenset(FINDING_KEYS)}
    assert set(answer["flight_plan"]) == {"item_10a_w", "item_18", "says", "sources"}
    assert {frozenset(each) for each in answer["seal"]} == {
        frozenset(("logbook", "entry", "digest"))
    }
    assert {frozenset(each) for each in answer["to_do"]} == {
        frozenset(("when", "do", "limits", "sources"))
    }


def test_what_was_asked_stands_in_the_answer(demo: Cli) -> None:
    """Airframe, instant and level come back as they were understood."""
    answer = demo(*ask(SPLIT, "--level", "FL310", "--json")).json
    assert (answer["airframe"], answer["at"], answer["planned_level"]) == (
        SPLIT,
        "2026-11-24T08:00:00Z",
        310,
    )
    assert answer["rulebook"] == RULEBOOK
    assert "pilot in command decide" in answer["caution"]


def check_finding(finding: Mapping[str, Any]) -> None:
    """Check the types of one finding."""
    assert finding["rule"] in {rule.name for rule in RULES}
    assert finding["outcome"] in set(Outcome)
    assert finding["highest_level"] is None or 0 <= finding["highest_level"] <= 660
    assert finding["says"]
    assert isinstance(finding["values"], dict)
    assert isinstance(finding["limits"], dict)
    assert finding["margin"] is None or set(finding["margin"]) == {"value", "unit"}
    assert all(set(ref) == {"logbook", "entry"} for ref in finding["evidence"])
    assert finding["sources"]
    if finding["outcome"] in (Outcome.NOT_MET, Outcome.NOT_ON_RECORD):
        assert finding["remedy"]
        assert finding["highest_level"] is not None


@pytest.mark.parametrize("registration", ["QX-ALD", "QX-BRE", "QX-CYR", "QX-DAN", "QX-ESK"])
def test_every_finding_is_whole(demo: Cli, registration: str) -> None:
    """Each rule answers; each finding has its source, each fault its cost and its remedy."""
    answer = demo(*ask(registration, "--level", "310", "--json", "--dry-run")).json
    for finding in answer["findings"]:
        check_finding(finding)
    assert {finding["rule"] for finding in answer["findings"]} == {rule.name for rule in RULES}
    assert {each["when"] for each in answer["to_do"]} <= WHENS
    levels = [each["highest_level"] for each in answer["findings"]]
    lowest = min(level for level in levels if level is not None)
    assert answer["highest_level"] == (lowest or None)
    assert answer["verdict"] == ("GO" if lowest >= 310 else "NO-GO")


def test_go_leaves_with_0_and_no_go_with_1(demo: Cli) -> None:
    """The exit status is the answer, on the screen and in JSON."""
    for more in ((), ("--json",)):
        go = demo(*ask(GO, "--level", "310", *more))
        split = demo(*ask(SPLIT, "--level", "310", *more))
        assert (go.status, split.status, go.err, split.err) == (0, 1, "", "")


def test_a_split_leaves_the_levels_below_rvsm(demo: Cli) -> None:
    """RVSM airspace begins at FL290 (14 CFR 91 appendix G section 1), so FL280 remains: GO."""
    ran = demo(*ask(SPLIT, "--level", "280", "--json"))
    assert (ran.status, ran.json["verdict"], ran.json["highest_level"]) == (0, "GO", 280)


def test_without_a_level_it_answers_the_highest(demo: Cli) -> None:
    """The question without a level is which may be filed; it is GO while any may."""
    ran = demo(*ask(SPLIT, "--json"))
    assert (ran.status, ran.json["planned_level"], ran.json["highest_level"]) == (0, None, 280)
    screen = demo(*ask(SPLIT)).out
    assert screen.startswith(f"{SPLIT}  Highest level that may be filed: FL280\n")


def test_without_a_level_the_fleet_has_no_word_of_go_either(demo: Cli) -> None:
    """What was not asked about is not answered GO: the fleet reads like the single airframe."""
    screen = demo("gonogo", "--at", AT).out
    assert screen.startswith("Fleet  highest level that may be filed; 2 of 5 no flight\n")
    assert "answer" not in screen
    assert not {"GO", "NO-GO"} & set(screen.replace("`", " ").split())
    rows = dict(line.split()[:2] for line in screen.splitlines() if line.startswith("QX-"))
    assert (rows["QX-ALD"], rows["QX-DAN"]) == ("FL280", "no")
    asked = demo("gonogo", "--level", "280", "--at", AT).out
    assert asked.startswith("Fleet  3 of 5 GO at FL280\n")


def test_margins_between_levels_are_in_feet(demo: Cli) -> None:
    """FL310 planned at FL280: 3,000 ft, not thirty levels; JSON keeps the number it had."""
    above = demo(*ask("QX-ALD", "--level", "280", "--json")).json["findings"]
    (found,) = (each for each in above if each["rule"] == "level-above-certificated")
    assert found["margin"] == {"value": 30, "unit": "levels"}
    screen = " ".join(demo(*ask("QX-ALD", "--level", "280")).out.split())
    assert "highest certificated level FL310 (margin +3,000 ft)" in screen
    assert " levels)" not in screen


def test_one_word_for_what_does_not_apply(demo: Cli) -> None:
    """The screen says it as its heading does; the value in JSON stays."""
    assert {each["outcome"] for each in demo(*ask("QX-ALD", "--json")).json["findings"]} >= {
        "not applicable"
    }
    screen = demo(*ask("QX-ALD")).out
    assert "Does not apply" in screen
    assert "not applicable" not in screen


def test_without_a_registration_it_answers_for_the_fleet(demo: Cli) -> None:
    """One line for each airframe, as JSON an array; NO-GO for any makes the status 1."""
    ran = demo("gonogo", "--level", "310", "--at", AT, "--pilot", "IVO", "--json")
    assert ran.status == 1
    assert {row["registration"]: row["verdict"] for row in ran.json} == {
        "QX-ALD": "GO",
        "QX-BRE": "NO-GO",
        "QX-CYR": "NO-GO",
        "QX-DAN": "NO-GO",
        "QX-ESK": "GO",
    }
    screen = demo("gonogo", "--level", "310", "--at", AT, "--pilot", "IVO").out
    assert [line.split()[0] for line in screen.splitlines() if line.startswith("QX-")] == sorted(
        row["registration"] for row in ran.json
    )


def test_an_airframe_that_cannot_be_judged(
    demo: Cli, check_one_line: Callable[[Ran, int], None]
) -> None:
    """It is named with the reason that a check of it gives, with its status; the others stand."""
    damage(demo, SPLIT)
    single = demo(*ask(SPLIT))
    check_one_line(single, 3)
    reason = single.err.splitlines()[0].removeprefix("error: ")
    for command, key in ((("board",), "highest_level"), (("gonogo", "--pilot", "IVO"), "verdict")):
        ran = demo(*command, "--at", AT, "--json")
        assert ran.status == 3
        rows = {row["registration"]: row for row in ran.json}
        assert len(rows) == 5
        assert {name: row["not_judged"] for name, row in rows.items() if row["not_judged"]} == {
            SPLIT: reason
        }
        assert rows[SPLIT][key] in (None, "not judged")
        assert rows["QX-ALD"]["highest_level"] == 310
        screen = demo(*command, "--at", AT)
        assert screen.status == 3
        assert "1 not judged" in screen.out.splitlines()[0]
        assert f"{SPLIT} is not judged: " in screen.out
        assert max(map(len, screen.out.splitlines())) <= 80


def test_the_page_of_a_fleet_with_one_that_cannot_be_judged(demo: Cli, tmp_path: Path) -> None:
    """It is written, names the reason, and the status tells."""
    damage(demo, SPLIT)
    target = tmp_path / "board.html"
    assert demo("board", "--at", AT, "--out", str(target)).status == 3
    written = target.read_text(encoding="utf-8")
    assert "the store is damaged: done_on of an entry" in written


def test_the_fleet_is_also_shown_without_a_command(demo: Cli) -> None:
    """The program's name alone shows one line for each airframe."""
    alone, fleet = demo.ok(), demo("gonogo", "--json").json
    first_words = [line.split(" ")[0] for line in alone.out.splitlines()]
    assert [row["registration"] for row in fleet] == [
        word for word in first_words if word.startswith("QX-")
    ]


def test_the_check_is_an_entry(demo: Cli) -> None:
    """It is the logbook's next entry, and its page says what was asked and answered."""
    before = demo.seals()["VK71-1019"][0]
    answer = demo(*ask(SPLIT, "--level", "310", "--json")).json
    assert answer["entry"] == before + 1
    assert demo.seals()["VK71-1019"][0] == before + 1
    page = demo.ok("airframe", "show", SPLIT, str(answer["entry"]), "--json").json
    assert page["kind"] == "gonogo"
    assert {name: page["fields"][name] for name in ("verdict", "planned_level", "pilot")} == {
        "verdict": "NO-GO",
        "planned_level": 310,
        "pilot": "IVO",
    }


def test_a_dry_run_writes_nothing(demo: Cli) -> None:
    """Neither an entry nor a logbook changes; the answer says so."""
    before = demo.seals()
    answer = demo(*ask(SPLIT, "--level", "310", "--dry-run", "--json")).json
    assert answer["entry"] is None
    assert "this check is not recorded" in demo(*ask(SPLIT, "--dry-run")).out
    assert demo.seals() == before


def test_the_fleet_and_a_repeated_check_write_nothing(demo: Cli) -> None:
    """A glance is no check, and a check repeated was recorded the first time."""
    entry = demo(*ask(SPLIT, "--level", "310", "--json")).json["entry"]
    before = demo.seals()
    demo("gonogo")
    demo("gonogo", SPLIT, "--as-of", str(entry))
    assert demo.seals() == before


def worsen(cli: Cli) -> None:
    """Enter what makes the answer another one: a defect of today's records."""
    cli.ok(
        *("defect", "report", GO, "--found-at", "2026-11-01T08:00Z", "--function", "altimeter"),
        *("--position", "1", "--description", "sticks"),
    )
    cli.ok("operator", "set", "--name", "Another", "--time-zone", "Pacific/Auckland")


def test_a_check_repeats_byte_for_byte_after_later_entries(demo: Cli) -> None:
    """--as-of a check's entry gives the same answer, whatever was entered since."""
    first = demo(*ask(GO, "--level", "310", "--json"))
    entry = first.json["entry"]
    worsen(demo)
    assert demo(*ask(GO, "--level", "310", "--dry-run")).status == 1
    again = demo("gonogo", GO, "--as-of", str(entry), "--json")
    assert again.status == first.status == 0
    assert (again.json["entry"], again.json["repeats"]) == (None, entry)
    as_first = again.out.replace('"entry": null', f'"entry": {entry}').replace(
        f'"repeats": {entry}', '"repeats": null'
    )
    assert as_first == first.out
    assert demo("gonogo", GO, "--as-of", f"#{entry}", "--json").out == again.out


def test_a_check_repeats_on_the_screen_too(demo: Cli) -> None:
    """Only the line that names the entry differs."""
    first = demo(*ask(GO, "--level", "310")).out.splitlines()
    entry = demo.seals()["VK71-1012"][0]
    worsen(demo)
    again = demo("gonogo", GO, "--as-of", str(entry)).out.splitlines()
    differ = [pair for pair in zip(first, again, strict=True) if pair[0] != pair[1]]
    assert differ == [
        (f"  this check is VK71-1012#{entry}", f"  repeats the check VK71-1012#{entry}")
    ]


def test_as_of_an_instant_takes_what_was_known_then(small: Cli) -> None:
    """Before the airframe was entered nothing was known of it, and that is an error."""
    ran = small("gonogo", REG, "--as-of", "2000-01-01T00:00Z")
    assert (ran.status, ran.out) == (2, "")
    assert "had no particulars at entry 0" in ran.err
    assert small("gonogo", REG, "--as-of", "2100-01-01T00:00Z", "--json").json["airframe"] == REG


def test_missing_evidence_is_never_a_pass(small: Cli) -> None:
    """A log that holds next to nothing is NO-GO, and says what to record."""
    ran = small("gonogo", REG, "--level", "310", "--at", "2024-05-02T08:00Z", "--json")
    assert (ran.status, ran.json["verdict"]) == (1, "NO-GO")
    missing = [each for each in ran.json["findings"] if each["outcome"] == "not on record"]
    assert {"rvsm-approval-missing", "static-test-overdue", "transponder-test-overdue"} <= {
        each["rule"] for each in missing
    }
    assert all(each["remedy"] for each in missing)


def test_sources_are_written_out_when_asked(demo: Cli) -> None:
    """--sources puts the published source under each fault."""
    plain = demo(*ask(SPLIT, "--level", "310", "--dry-run")).out
    full = demo(*ask(SPLIT, "--level", "310", "--dry-run", "--sources")).out
    assert "source:" not in plain
    assert "source: ICAO NAT Doc 001, 3.5.1(f)" in " ".join(full.split())


def test_the_answer_leads_and_closes_the_screen(demo: Cli) -> None:
    """The first line is the answer, the last lines are the answer and the caution."""
    lines = demo(*ask(SPLIT, "--level", "310")).out.splitlines()
    assert lines[0] == f"{SPLIT}  NO-GO at FL310: highest level FL280"
    assert lines[-3] == lines[0]
    assert " ".join(lines[-2:]).endswith("the pilot in command decide.")


def test_json_is_one_value_with_nothing_around_it(demo: Cli) -> None:
    """Standard output parses as a whole."""
    ran = demo(*ask(GO, "--json"))
    assert json.dumps(ran.json, indent=2, ensure_ascii=False) + "\n" == ran.out


def test_no_minutes_of_hold_say_that_nothing_forbids_going_down(demo: Cli) -> None:
    """As the help has it: 0 needs no level, and is said, not assumed; minutes want one."""
    names = [each["says"] for each in demo(*ask(GO, "--json")).json["findings"]]
    assert any("nothing forbids a descent" in each for each in names)
    free = demo(*ask(GO, "--hold-minutes", "0", "--json")).json["findings"]
    assert not any("nothing forbids a descent" in each["says"] for each in free)
    refused = demo(*ask(GO, "--hold-minutes", "10"))
    assert (refused.status, refused.err.splitlines()[0]) == (2, "error: the hold lacks its level")


def test_a_level_of_the_other_tracks_is_told(demo: Cli) -> None:
    """91.179: FL310 is an odd level, of tracks 000 to 179; it may be used, and hardly filed."""
    east = demo(*ask(GO, "--level", "310", "--track", "95"))
    west = demo(*ask(GO, "--level", "310", "--track", "275"))
    assert "no cruising level" not in east.out
    assert "FL310 is no cruising level of track 275" in " ".join(west.out.split())
