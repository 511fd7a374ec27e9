"""Guided entry through a pipe: the order of a paper sheet, each answer checked as it is typed."""

import shlex
from collections.abc import Iterable
from typing import Any

import pytest

from rvsmlog.cli import guided
from rvsmlog.cli.follows import Follows
from tests.cli.conftest import REG, Cli, Ran

LOG = ("crosscheck", "log", REG, "--guided")


def sheet(*answers: str) -> str:
    """Give answers as they come through a pipe, one a line."""
    return "".join(f"{answer}\n" for answer in answers)


def flight(
    *,
    at: str = "2024-05-02T10:00Z",
    phase: str = "hourly",
    one: str = "31000",
    two: str = "31040",
    more: Iterable[str] = ("",) * 8,
) -> tuple[str, ...]:
    """Give the answers of a check in flight: standby to remarks are passed over."""
    return (phase, at, "310", one, two, *more)


def questions(ran: Ran) -> list[str]:
    """Give what was asked, in its order."""
    known = (
        *("Phase", "Time", "Level", "Field elevation", "QNH", "Primary altimeter 1"),
        *("Primary altimeter 2", "Standby", "Transponder", "Mach", "Static air", "Total air"),
        *("GNSS height,", "GNSS height above", "Latitude", "Longitude", "Pilot", "Remarks"),
        "Record it?",
    )
    asked = []
    for line in ran.out.splitlines():
        asked += [name for name in known if line.startswith(name)]
    return asked


def as_a_shell_reads(shown: str) -> list[str]:
    """Split a command that is shown over several lines."""
    return shlex.split(shown.replace("\\\n", " "))


def test_a_check_in_flight_asks_in_the_order_of_a_sheet(small: Cli) -> None:
    """Phase first, then time, level, the altimeters, the witnesses, the conditions, remarks."""
    ran = small.ok(*LOG, typed=sheet(*flight(), "yes", "no"))
    assert questions(ran) == [
        *("Phase", "Time", "Level", "Primary altimeter 1", "Primary altimeter 2", "Standby"),
        *("Transponder", "Mach", "Static air", "Total air", "GNSS height,", "Pilot", "Remarks"),
        "Record it?",
    ]


def test_a_ground_check_asks_for_elevation_and_qnh_instead(small: Cli) -> None:
    """No level, no Mach number, no transponder: they say nothing on the ground."""
    answers = ("ground", "2024-05-02T08:00Z", "1200", "1013", "1210", "1190", "", "", "", "")
    ran = small.ok(*LOG, typed=sheet(*answers, "yes", "no"))
    assert questions(ran) == [
        *("Phase", "Time", "Field elevation", "QNH", "Primary altimeter 1"),
        *("Primary altimeter 2", "Standby", "Static air", "Pilot", "Remarks", "Record it?"),
    ]
    row = small.ok("crosscheck", "list", REG, "--json").json[-1]
    assert (row["field_elevation_ft"], row["qnh_hpa"], row["level"]) == (1200, 1013, None)


def test_a_height_brings_the_questions_about_it(small: Cli) -> None:
    """What a GNSS height is above must be said; where it was read may be."""
    more = ("", "", "0.55", "-45", "", "31350", "", "mean", "51.5", "", "MKO", "smooth")
    ran = small.ok(*LOG, typed=sheet(*flight(more=more), "yes", "no"))
    assert "GNSS height above" in questions(ran)
    assert "this one is needed" in ran.out
    row = small.ok("crosscheck", "list", REG, "--json").json[-1]
    assert {name: row[name] for name in ("gnss_kind", "latitude_deg", "mach", "pilot")} == {
        "gnss_kind": "mean-sea-level",
        "latitude_deg": 51.5,
        "mach": 0.55,
        "pilot": "MKO",
    }
    assert (row["static_air_temperature_c"], row["remarks"]) == (-45, "smooth")


def test_difference_and_tolerance_are_said_before_the_next_question(small: Cli) -> None:
    """200 ft is the published tolerance (SPA.RVSM.105, NAT Doc 001 3.5.1(f)); 40 ft is within."""
    lines = small.ok(*LOG, typed=sheet(*flight(), "yes", "no")).out.splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("Primary altimeter 2"))
    assert lines[at + 1] == "  altimeters 40 ft apart, tolerance 200 ft: within, 160 ft left"
    assert lines[at + 2].startswith("Standby altimeter")


@pytest.mark.parametrize(
    ("two", "beyond"), [("31200", False), ("30800", False), ("31201", True), ("30799", True)]
)
def test_the_tolerance_itself_is_within(small: Cli, two: str, *, beyond: bool) -> None:
    """Both sides of the published 200 ft: 200 is within, 201 is beyond, said plainly."""
    ran = small.ok(*LOG, typed=sheet(*flight(two=two), "yes", "no"))
    assert ("BEYOND TOLERANCE" in ran.out) is beyond
    assert (f"rvsmlog defect fault {REG}" in ran.out) is beyond


def test_the_tolerance_is_that_of_the_rules(small: Cli) -> None:
    """An airframe's own tighter table counts: what is said at once is what gonogo finds."""
    small.ok(
        *("airframe", "add", "--registration", REG, "--type-designator", "VK71"),
        *("--serial-number", "1007", "--authority", "us-91", "--rvsm-basis", "group"),
        *("--type-certificate", "after-1997-04-09", "--highest-level", "310"),
        *("--primary-tolerance", "290:120,350:150", "--standby-tolerance", "290:180"),
    )
    ran = small.ok(*LOG, typed=sheet(*flight(two="31121"), "yes", "no"))
    assert "BEYOND TOLERANCE: altimeters 121 ft apart, tolerance 120 ft" in ran.out
    answer = small("gonogo", REG, "--level", "310", "--at", "2024-05-03T08:00Z", "--json").json
    found = [each for each in answer["findings"] if each["rule"] == "altimeters-disagree"]
    assert [
        (each["outcome"], each["limits"], each["values"]["difference_ft"]) for each in found
    ] == [("not met", {"tolerance_ft": 120}, -121)]


def test_a_reading_beyond_tolerance_is_recorded_all_the_same(small: Cli) -> None:
    """It says what it means and what to do next, and the entry is there."""
    ran = small.ok(*LOG, typed=sheet(*flight(two="31300"), "yes", "no"))
    text = " ".join(ran.out.split())
    assert "means: one of the altimeters is wrong" in text
    assert "nothing above FL280 may be filed" in text
    assert "pilot in command decide." in text
    assert small.ok("crosscheck", "list", REG, "--json").json[-1]["primary_2_ft"] == 31300


def test_the_command_it_names_reports_the_fault(small: Cli) -> None:
    """The line that is shown can be run as it stands."""
    ran = small.ok(*LOG, typed=sheet(*flight(two="31300"), "yes", "no"))
    shown = ran.out.partition("to report the fault:\n")[2].partition("if it was misread")[0]
    words = as_a_shell_reads(shown)
    assert words[0] == "rvsmlog"
    reported = small.ok(*words[1:], "--json").json
    assert {name: reported[name] for name in ("level", "primary_1_ft", "primary_2_ft")} == {
        "level": 310,
        "primary_1_ft": 31000,
        "primary_2_ft": 31300,
    }
    assert reported["description"] == "see entry #4"


WRONG = {
    "phase": (0, "cruise", "'cruise' is not known here; write one of ground"),
    "naive time": (1, "2024-05-02T10:00", "does not say which time zone"),
    "future": (1, "2190-05-02T10:00Z", "is in the future"),
    "known already": (1, "2024-05-01T10:00Z", "is on record as VK71-1007#3"),
    "feet for a level": (2, "31000", "write 310 or FL310"),
    "letters": (3, "31O00", "'31O00' is no whole number"),
    "absurd altitude": (3, "310000", "310000 is out of range"),
    "needed": (3, "", "this one is needed"),
    "Mach in hundredths": (7, "55", "55 is out of range"),
    "bell": (12, "ding \x07", "control character U+0007"),
}


@pytest.mark.parametrize(("place", "wrong", "said"), WRONG.values(), ids=WRONG)
def test_a_wrong_answer_is_asked_again(small: Cli, place: int, wrong: str, said: str) -> None:
    """The same question comes again, with what is wanted; the right answer then counts."""
    answers = [*flight(), "yes", "no"]
    ran = small.ok(*LOG, typed=sheet(*answers[:place], wrong, *answers[place:]))
    assert said in " ".join(ran.out.split())
    asked = questions(ran)
    assert asked[place] == asked[place + 1]
    assert len(small.ok("crosscheck", "list", REG, "--json").json) == 2
    assert "\x07" not in ran.out


def test_an_unlikely_altitude_must_be_typed_twice(small: Cli) -> None:
    """3100 for 31000 is a slip; typed again it is kept, for a log keeps what was read."""
    once = small.ok(*LOG, typed=sheet(*flight(one="3100")[:4], *flight()[3:], "yes", "no"))
    assert "3100 ft is 27900 ft from FL310: type it again to keep it" in once.out
    kept = flight(at="2024-05-02T11:00Z", one="3100")
    small.ok(*LOG, typed=sheet(*kept[:4], "3100", *kept[4:], "yes", "no"))
    rows = small.ok("crosscheck", "list", REG, "--json").json
    assert [row["primary_1_ft"] for row in rows[-2:]] == [31000, 3100]


@pytest.mark.parametrize("place", range(13))
def test_a_question_mark_explains_every_field(small: Cli, place: int) -> None:
    """It tells what is wanted and asks again."""
    answers = [*flight(), "yes", "no"]
    ran = small.ok(*LOG, typed=sheet(*answers[:place], "?", *answers[place:]))
    asked = questions(ran)
    assert asked[place] == asked[place + 1]


def test_short_answers_are_shown_in_full(small: Cli) -> None:
    """A number of a choice, a word begun, a time of day and a level with its letters."""
    first = (*flight(phase="2"), "yes", "yes")
    second = (*flight(phase="lea", at="12:30Z"), "yes", "no")
    ran = small.ok(*LOG, typed=sheet(*first, *second))
    assert "  = before-entry\n" in ran.out
    assert "  = leaving\n" in ran.out
    # Nearest to the check before, whatever the day is now.
    assert "  = 2024-05-02T12:30Z\n" in ran.out
    rows = small.ok("crosscheck", "list", REG, "--json").json
    assert [(row["phase"], row["taken_at"]) for row in rows[1:]] == [
        ("before-entry", "2024-05-02T10:00:00Z"),
        ("leaving", "2024-05-02T12:30:00Z"),
    ]


def test_the_next_check_keeps_time_and_pilot(small: Cli) -> None:
    """Enter takes the time and the pilot of the check before."""
    first = (*flight(phase="before-entry", more=("",) * 6 + ("MKO", "")), "yes", "yes")
    second = ("level", "", "310", "31000", "31040", *("",) * 8, "yes", "no")
    small.ok(*LOG, typed=sheet(*first, *second))
    rows = small.ok("crosscheck", "list", REG, "--json").json
    assert [(row["phase"], row["taken_at"], row["pilot"]) for row in rows[1:]] == [
        ("before-entry", "2024-05-02T10:00:00Z", "MKO"),
        ("level", "2024-05-02T10:00:00Z", "MKO"),
    ]


def test_a_field_may_be_changed_before_it_is_recorded(small: Cli) -> None:
    """Its name asks it anew; Enter keeps what it was, a minus sign empties what is optional."""
    changes = ("primary-2", "31050", "mach", "0.61", "mach", "-", "altimeter", "rem", "calm")
    small.ok(*LOG, typed=sheet(*flight(), *changes, "yes", "no"))
    row = small.ok("crosscheck", "list", REG, "--json").json[-1]
    assert (row["primary_2_ft"], row["mach"], row["remarks"]) == (31050, None, "calm")


def test_a_changed_phase_asks_for_what_it_needs(small: Cli) -> None:
    """A ground check that becomes one in flight asks for the level, and drops the elevation."""
    ground = ("ground", "2024-05-02T08:00Z", "1200", "1013", "1210", "1190", *("",) * 4)
    changes = ("phase", "leaving", "12", *("",) * 4)
    small.ok(*LOG, typed=sheet(*ground, *changes, "yes", "no"))
    row = small.ok("crosscheck", "list", REG, "--json").json[-1]
    assert (row["phase"], row["level"], row["primary_1_ft"]) == ("leaving", 12, 1210)
    assert (row["field_elevation_ft"], row["qnh_hpa"]) == (None, None)


def test_the_whole_sheet_is_shown_as_a_command(small: Cli) -> None:
    """The line under the sheet enters the same check when it is run as it stands."""
    answers = flight(more=("", "", "0.55", *("",) * 4, "it's calm"))
    ran = small(*LOG, typed=sheet(*answers, "no", "no"))
    shown = ran.out.partition("in one line:\n")[2].partition("Record it?")[0]
    words = as_a_shell_reads(shown)
    small.ok(*words[1:])
    row = small.ok("crosscheck", "list", REG, "--json").json[-1]
    assert (row["taken_at"], row["mach"], row["remarks"]) == (
        "2024-05-02T10:00:00Z",
        0.55,
        "it's calm",
    )


def test_what_the_command_line_gave_is_not_asked(small: Cli) -> None:
    """Options given beside --guided stand on the sheet; the others are asked."""
    given = ("--phase", "hourly", "--taken-at", "2024-05-02T10:00Z", "--level", "310")
    ran = small.ok(*LOG, *given, "--mach", "0.5", typed=sheet("31000", "31040", *("",) * 7, "yes"))
    assert questions(ran)[:2] == ["Primary altimeter 1", "Primary altimeter 2"]
    assert "Mach" not in questions(ran)
    assert small.ok("crosscheck", "list", REG, "--json").json[-1]["mach"] == 0.5


def test_what_the_command_line_gave_wrongly_is_refused_at_once(small: Cli) -> None:
    """An option that is no value is an error before the first question."""
    ran = small(*LOG, "--level", "31000", typed=sheet(*flight()))
    assert (ran.status, questions(ran)) == (2, [])
    assert ran.err.startswith("error: --level: '31000' looks like feet")


def test_the_only_airframe_is_offered(small: Cli) -> None:
    """Without a registration the airframe is asked for; Enter takes the only one."""
    ran = small.ok("crosscheck", "log", "--guided", typed=sheet("", *flight(), "yes", "no"))
    assert f"airframe [{REG}]: " in ran.out
    wrong = small.ok(
        *("crosscheck", "log", "--guided"),
        typed=sheet("QX-ABD", "?", "qxabc", *flight(at="2024-05-02T11:00Z"), "yes", "no"),
    )
    assert "did you mean QX-ABC?" in wrong.out


@pytest.mark.parametrize("earlier", [0, 1])
def test_ctrl_c_between_the_commit_and_its_report(
    small: Cli, monkeypatch: pytest.MonkeyPatch, earlier: int
) -> None:
    """The check is on record by then, and it is not said that it was not written."""
    told: list[object] = []

    def stopped(*given: object) -> Any:
        told.append(given)
        if len(told) > earlier:
            raise KeyboardInterrupt
        return Follows()

    monkeypatch.setattr(guided, "follows", stopped)
    before = small.seals()["VK71-1007"][0]
    answers = (*flight(), "yes", "yes", *flight(at="2024-05-02T11:00Z"), "yes", "no")
    ran = small(*LOG, typed=sheet(*answers))
    assert ran.status == 3
    assert ran.err == (
        "error: stopped before it said so: what was to be recorded is on record\n"
        "hint: look with `list` or `store info` before it is typed again\n"
    )
    assert small.seals()["VK71-1007"][0] == before + earlier + 1


@pytest.mark.parametrize("count", range(14))
def test_an_end_of_input_writes_nothing(small: Cli, count: int) -> None:
    """Wherever the answers end before the sheet is confirmed: status 2, the same seals."""
    before = small.seals()
    ran = small(*LOG, typed=sheet(*flight()[:count]))
    assert ran.status == 2
    assert ran.err == (
        "error: stopped before the end: this check was not written\nhint: nothing was written\n"
    )
    assert small.seals() == before


def test_no_leaves_nothing(small: Cli) -> None:
    """A sheet that is given up is not recorded."""
    before = small.seals()
    ran = small(*LOG, typed=sheet(*flight(), "no", "no"))
    assert (ran.status, ran.err.splitlines()[0]) == (2, "error: nothing was recorded")
    assert small.seals() == before


def test_what_was_recorded_stands_when_the_next_is_broken_off(small: Cli) -> None:
    """The message names the entries on record."""
    ran = small(*LOG, typed=sheet(*flight(), "yes", "yes", "hourly"))
    assert ran.status == 2
    assert "hint: on record: VK71-1007#4\n" in ran.err
    assert small.seals()["VK71-1007"][0] == 4


def test_json_is_one_check_alone_on_standard_output(small: Cli) -> None:
    """Questions go to standard error; the answer is one object, and no other check is asked."""
    ran = small(*LOG, "--json", typed=sheet(*flight(two="31300"), "yes"))
    assert ran.status == 0
    assert (ran.json["entry"], ran.json["difference_ft"]) == (4, -300)
    assert [(each["what"], each["limit_ft"], each["beyond"]) for each in ran.json["compared"]] == [
        ("primaries", 200, True)
    ]
    assert "Primary altimeter 1" in ran.err


def test_a_correction_may_be_guided(small: Cli) -> None:
    """It takes the reason at once, and there is no other check after it."""
    told = ("--corrects", "3", "--reason", "misread")
    missing = small(*LOG, "--corrects", "3", typed=sheet(*flight()))
    assert (missing.status, questions(missing)) == (2, [])
    small.ok(*LOG, *told, typed=sheet(*flight(at="2024-05-01T10:00Z", two="31060"), "yes"))
    rows = small.ok("crosscheck", "list", REG, "--json").json
    assert [(row["entry"], row["primary_2_ft"]) for row in rows] == [(4, 31060)]


def test_a_guided_correction_offers_what_stands(small: Cli) -> None:
    """Enter keeps what the entry says, a dash empties it; the one line says the same."""
    small.ok(
        *("crosscheck", "log", REG, "--corrects", "3", "--reason", "misread"),
        *("--remarks", "light chop", "--qnh-hpa", "1013"),
    )
    told = ("--corrects", "4", "--reason", "digit slip")
    answers = (*("",) * 4, "31020", *("",) * 7, "-", "", "yes")
    ran = small.ok(*LOG, *told, typed=sheet(*answers))
    assert "Primary altimeter 2, ft [31040]: " in ran.out
    (row,) = small.ok("crosscheck", "list", REG, "--json").json
    assert [row[name] for name in ("entry", "taken_at", "primary_1_ft", "primary_2_ft")] == [
        *(5, "2024-05-01T10:00:00Z", 31000, 31020),
    ]
    assert (row["remarks"], row["qnh_hpa"], row["level"]) == (None, 1013.0, 310)
    shown = ran.out.partition("in one line:\n")[2].partition("Record it?")[0]
    words = as_a_shell_reads(shown)
    assert words[-4:] == ["--corrects", "4", "--reason", "digit slip"]
    assert words[words.index("--remarks") + 1] == ""


def test_terminal_sequences_in_answers_are_made_visible(small: Cli) -> None:
    """What comes through a pipe is echoed without steering the terminal."""
    ran = small(*LOG, typed=sheet("\x1b[2Jhourly", "\x9b31m"))
    assert "\x1b" not in ran.out
    assert "\x9b" not in ran.out
    assert "\\u001b[2Jhourly" in ran.out


def test_without_a_terminal_nothing_is_asked(small: Cli) -> None:
    """A line that lacks something is an error in a script, not a question that hangs."""
    ran = small("crosscheck", "log", REG, "--phase", "hourly", typed=sheet("2024-05-02T10:00Z"))
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.startswith("error: --taken-at: is missing")
