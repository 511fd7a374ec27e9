"""What the program says leads on: each text names what can be typed, and hides no loss."""

import shlex

import pytest

from rvsmlog.dates import ago
from tests.cli.conftest import REG, Cli

PARTICULARS = (
    *("airframe", "add", "--registration", REG, "--type-designator", "VK71"),
    *("--serial-number", "1007", "--authority", "us-91", "--rvsm-basis", "group"),
    *("--type-certificate", "after-1997-04-09", "--highest-level", "310"),
)
CHANGE = ("--corrects", "1", "--reason", "left out")


def flat(text: str) -> str:
    """Join what was wrapped."""
    return " ".join(text.split())


def test_particulars_entered_anew_say_what_they_no_longer_say(small: Cli) -> None:
    """The newest entry takes the place of all, so a limit of its own must not vanish unseen."""
    ran = small.ok(*PARTICULARS)
    assert "takes the place of #1: --standby-tolerance" in flat(ran.out)
    assert "--corrects 4 --reason TEXT" in flat(ran.out)
    again = small.ok(*PARTICULARS, "--json").json
    assert again["no_longer_said"] == []


def test_a_correction_of_particulars_keeps_the_rest_and_warns_of_nothing(small: Cli) -> None:
    """What a correction leaves out stays as it was."""
    ran = small.ok(
        *("airframe", "add", "--registration", REG, *CHANGE, "--max-differential-psi", "6.2")
    )
    assert len(ran.out.splitlines()) == 1
    (airframe,) = small.ok("airframe", "list", "--json").json
    assert (airframe["max_differential_psi"], airframe["standby_tolerance"]) == (6.2, [[290, 180]])


def test_one_field_of_the_particulars_alone_is_told_how(small: Cli) -> None:
    """Who gives the one field that changes is told of --corrects, not only of the next field."""
    ran = small("airframe", "add", "--registration", REG, "--max-differential-psi", "6.2")
    assert ran.status == 2
    assert "--corrects ENTRY --reason TEXT" in ran.err


def test_the_fleet_list_names_the_entry_that_is_corrected(small: Cli) -> None:
    """The number that --corrects wants is on the list."""
    assert small.ok("airframe", "list").out.splitlines()[-1].endswith("#1")


def test_a_wrong_number_is_called_what_the_help_calls_it(small: Cli) -> None:
    """The entry that a command is about is an argument: no option is named that it lacks."""
    ran = small("test", "readings", REG, "3", "--case-leak-ft", "30")
    assert ran.err.startswith("error: ENTRY: VK71-1007#3 is an altimeter cross-check")
    assert "the lists show the numbers" in ran.err


@pytest.mark.parametrize("reading", ["3100", "31300"])
def test_a_reading_beyond_tolerance_may_be_a_slip(small: Cli, reading: str) -> None:
    """Beside the fault's command there is the one that corrects the entry, and it can be run."""
    ran = small.ok(
        *("crosscheck", "log", REG, "--taken-at", "2024-05-02T10:00Z", "--phase", "level"),
        *("--level", "310", "--primary-1-ft", "31000", "--primary-2-ft", reading),
        "--readings-confirmed",  # a slip all the same: it was not looked at
    )
    shown = ran.out.partition("as they were:\n")[2].partition("An aid")[0]
    words = shlex.split(shown.replace("\\\n", " "))
    # Enter keeps what it offers: phase, time, level and altimeter 1; then the right reading.
    answers = ["", "", "", "", "31020", *[""] * 8, "yes"]
    small.ok(*words[1:], typed="\n".join(answers) + "\n")
    assert small.ok("crosscheck", "list", REG, "--json").json[-1]["primary_2_ft"] == 31020


def test_readings_of_no_named_altimeter_say_that_they_do_not_count(small: Cli) -> None:
    """A test of all positions without a serial number proves no altimeter's own limit."""
    small.ok(
        *("airframe", "add", "--registration", REG, *CHANGE, "--altimeter-scale-limit", "290:60")
    )
    counts = []
    for position in ("all", "1"):
        made = small.ok(
            *("test", "add", REG, "--test", "altimeter-static", "--done-on", "2024-06-05"),
            *("--passed", "yes", "--tested-altitude-ft", "31000", "--position", position),
            "--json",
        )
        read = ("test", "readings", REG, str(made.json["entry"]), "--scale-error", "30000:+10")
        counts.append("count for no altimeter's own limit" not in flat(small.ok(*read).out))
    assert counts == [False, True]


def test_as_of_says_what_it_takes(small: Cli) -> None:
    """An instant or an entry's number."""
    ran = small("gonogo", REG, "--as-of", "yesterday")
    assert ran.err.startswith("error: --as-of: ")
    assert "or an entry's number" in ran.err


def test_drift_dates_its_readings_by_the_operators_day(small: Cli) -> None:
    """A unit fitted on a day east of Greenwich is not shown as fitted the day before."""
    small.ok("operator", "set", "--name", "Quill Air", "--time-zone", "Pacific/Auckland")
    assert "readings since 2023-02-03" in small.ok("drift", REG).out


@pytest.mark.parametrize(
    ("days", "said"), [(0, "today"), (1, "1 day ago"), (2, "2 days ago"), (90, "90 days ago")]
)
def test_days_ago_are_said_as_people_say_them(days: int, said: str) -> None:
    """One day is no days, and no day is today."""
    assert ago(days) == said


def test_a_deferral_says_its_last_day_at_once(small: Cli) -> None:
    """Category C lasts ten calendar days, the day of discovery not counted.

    Source: MEL preambles of airlines and MEL templates of authorities, repair category C:
    consecutive calendar days, the day of discovery excluded; published. Found 1 May: 11 May.
    """
    made = small.ok(
        *("defect", "report", REG, "--found-at", "2024-05-01T10:00Z", "--function"),
        *("altitude-alerter", "--description", "no aural alert", "--json"),
    )
    ran = small.ok(
        *("defect", "defer", REG, str(made.json["entry"]), "--category", "C"),
        *("--mel-reference", "34-11-01", "--deferred-on", "2024-05-01"),
    )
    assert "last day 2024-05-11" in ran.out


def test_an_extension_that_does_not_count_says_so_at_once(small: Cli) -> None:
    """One granted after the last day comes too late; the last day stays."""
    defect = small.ok(
        *("defect", "report", REG, "--found-at", "2024-05-01T10:00Z", "--function"),
        *("altitude-alerter", "--description", "no aural alert", "--json"),
    ).json["entry"]
    deferral = small.ok(
        *("defect", "defer", REG, str(defect), "--category", "C", "--mel-reference", "34-11-01"),
        *("--deferred-on", "2024-05-01", "--json"),
    ).json
    assert deferral["last_day"] == "2024-05-11"
    late = small.ok(
        *("defect", "extend", REG, str(deferral["entry"]), "--days", "10"),
        *("--granted-on", "2024-05-12", "--granted-by", "J. Doe"),
    )
    assert "last day 2024-05-11" in late.out
    assert "does not count: granted after the last day" in flat(late.out)


def test_enter_at_the_end_of_a_sheet_asks_again_and_writes_nothing(small: Cli) -> None:
    """Nobody is told of a field that was not named."""
    before = small.seals()
    answers = ["level", "2024-05-02T10:00Z", "310", "31000", "31020", *[""] * 8, "", "no", "no"]
    ran = small(*("crosscheck", "log", REG, "--guided"), typed="\n".join(answers) + "\n")
    assert "yes records it, no gives it up" in ran.out
    assert "names no field" not in ran.out
    assert small.seals() == before


def test_a_flight_inside_another_is_doubted_and_recorded(small: Cli) -> None:
    """One aeroplane flies once at a time; what touches at the ends is no overlap."""
    log = ("flight", "log", REG, "--off-at")
    first = small.ok(*log, "2024-05-01T09:00Z", "--on-at", "2024-05-01T12:10Z", "--json").json
    assert first["doubts"] == []
    after = small.ok(*log, "2024-05-01T12:10Z", "--on-at", "2024-05-01T13:00Z", "--json").json
    assert after["doubts"] == []
    inside = small.ok(*log, "2024-05-01T11:00Z", "--on-at", "2024-05-01T11:30Z")
    assert f"is it right? it overlaps flight #{first['entry']}:" in inside.out
    assert len(small.ok("flight", "list", REG, "--json").json) == 3


@pytest.mark.parametrize(("code", "doubted"), [("MKO", False), ("mko", False), ("MOK", True)])
def test_a_pilot_who_is_not_on_record_is_doubted(small: Cli, code: str, doubted: bool) -> None:
    """A slip in the code would leave the pilot's hours and checks with nobody."""
    ran = small.ok(
        *("crosscheck", "log", REG, "--taken-at", "2024-05-02T10:00Z", "--phase", "level"),
        *("--level", "310", "--primary-1-ft", "31000", "--primary-2-ft", "31000"),
        *("--pilot", code),
    )
    assert (f"pilot {code} is not on record" in ran.out) is doubted
    assert ("on record: MKO" in ran.out) is doubted
