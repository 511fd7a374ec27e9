"""Corrections on the command line: only what was wrong is typed."""

from typing import TYPE_CHECKING

import pytest

from tests.cli.conftest import REG

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.cli.conftest import Cli, Ran

#: FL300 for FL310 puts readings of 31,040 ft in doubt.
SURE = "--readings-confirmed"


def test_one_digit_of_a_cross_check(small: "Cli") -> None:
    """The changed field, the entry and the reason are enough; the rest stays as it was."""
    before = small.ok("crosscheck", "list", REG, "--json").json[-1]
    ran = small.ok(
        *("crosscheck", "log", REG, "--corrects", "3"),
        *("--primary-2-ft", "31020", "--reason", "digit slip"),
    )
    assert "altimeters 20 ft apart" in ran.out
    (after,) = small.ok("crosscheck", "list", REG, "--json").json
    differ = {name for name in after if after[name] != before[name]}
    assert differ == {"entry", "primary_2_ft", "difference_ft", "recorded_at"}
    assert (after["entry"], after["first_entry"], after["primary_2_ft"]) == (4, 3, 31020)


def test_an_entry_that_names_another_need_not_name_it_again(small: "Cli") -> None:
    """A deferral is corrected without naming its defect; a new one must name it."""
    small.ok(
        *("defect", "report", REG, "--found-at", "2024-05-01T10:00Z"),
        *("--function", "altitude-alerter", "--description", "no aural alert"),
    )
    deferral = ("--category", "C", "--mel-reference", "34-11", "--deferred-on", "2024-05-01")
    refused = small("defect", "defer", REG, *deferral)
    assert (refused.status, refused.out) == (2, "")
    assert refused.err.startswith(
        "error: ENTRY is missing\nhint: name the entry that reported the d"
    )
    small.ok("defect", "defer", REG, "4", *deferral)
    small.ok(*("defect", "defer", REG, "--corrects", "5"), "--category", "B", "--reason", "misread")
    row = small.ok("defect", "list", REG, "--kind", "deferral", "--json").json[-1]
    assert (row["entry"], row["defect"], row["category"]) == (6, 4, "B")


def test_the_moment_of_a_review_stays(small: "Cli") -> None:
    """A field that is the moment of recording is not moved by a correction."""
    told = ("--reviewed-at", "2024-05-02T08:00Z", "--conclusion", "wirng", "--accepted", "yes")
    small.ok("defect", "review", REG, "3", *told)
    small.ok(
        *("defect", "review", REG, "--corrects", "4", "--conclusion", "wiring"),
        *("--reason", "spelling"),
    )
    shown = small.ok("defect", "show", REG, "5", "--json").json["fields"]
    assert shown["reviewed_at"] == "2024-05-02T08:00:00Z"
    assert (shown["conclusion"], shown["accepted"], shown["subject"]) == ("wiring", True, 3)


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--corrects", "3", "--reason", "x"), "VK71-1007#3 says that already"),
        (("--corrects", "3", "--reason", "x", "--level", "310"), "says that already"),
        (("--corrects", "3", "--level", "290"), "--reason is missing"),
        (("--corrects", "3", "--reason", "x", "--phase", ""), "--phase: is missing"),
        (("--corrects", "2", "--reason", "x", "--level", "290"), "is equipment fitted"),
        (("--corrects", "9", "--reason", "x", "--level", "290"), "there is no entry"),
    ],
)
def test_a_correction_that_cannot_be(
    small: "Cli",
    check_one_line: "Callable[[Ran, int], None]",
    options: tuple[str, ...],
    says: str,
) -> None:
    """It is one line and a hint, and nothing is written."""
    before = small.seals()
    ran = small("crosscheck", "log", REG, *options)
    check_one_line(ran, 2)
    assert says in ran.err
    assert small.seals() == before


def test_a_page_says_what_counts_instead(small: "Cli") -> None:
    """A corrected entry's page names the one that counts; a struck one's the strike."""
    small.ok(
        *("crosscheck", "log", REG, "--corrects", "3", "--level", "300", "--reason", "x", SURE)
    )
    assert ": corrected by #4\n" in small.ok("crosscheck", "show", REG, "3").out
    small.ok("crosscheck", "strike", REG, "4", "--reason", "not flown")
    first = small.ok("crosscheck", "show", REG, "3", "--json").json
    assert (first["state"], first["newest_entry"]) == ("struck out", 5)
    assert ": struck out by #5\n" in small.ok("crosscheck", "show", REG, "4").out


def test_a_strike_is_of_its_noun(
    small: "Cli", check_one_line: "Callable[[Ran, int], None]"
) -> None:
    """A number mistyped strikes out nothing of another sort; the message says what it is."""
    for noun, number, says in (
        ("crosscheck", "2", "VK71-1007#2 is equipment fitted\nhint: check the number; strike it"),
        ("flight", "3", "VK71-1007#3 is an altimeter cross-check"),
        ("equipment", "1", "`rvsmlog airframe strike`"),
    ):
        ran = small(noun, "strike", REG, number, "--reason", "mistyped")
        check_one_line(ran, 2)
        assert says in ran.err
    assert "VK71-1007#4: #3, altimeter cross-check, is struck out" in (
        small.ok("crosscheck", "strike", REG, "3", "--reason", "entered twice").out
    )


def test_a_list_of_all_marks_what_no_longer_stands(small: "Cli") -> None:
    """Corrected and struck entries stand beside the others, each with the entry that counts."""
    small.ok(
        *("crosscheck", "log", REG, "--taken-at", "2024-05-01T11:00Z", "--phase", "hourly"),
        *("--level", "310", "--primary-1-ft", "31000", "--primary-2-ft", "31000"),
    )
    small.ok("crosscheck", "log", REG, "--corrects", "3", "--level", "300", "--reason", "x", SURE)
    small.ok("crosscheck", "strike", REG, "4", "--reason", "not flown")
    screen = small.ok("crosscheck", "list", REG, "--all").out.splitlines()
    assert [line.split()[0] for line in screen[2:-2]] == [
        "#3",
        "corrected",
        "#5",
        "#4",
        "struck",
    ]
    assert [line.strip() for line in screen if " by #" in line] == [
        *("corrected by #5", "struck out by #6"),
    ]
    rows = small.ok("crosscheck", "list", REG, "--all", "--json").json
    assert [(row["entry"], row.get("state"), row.get("state_by")) for row in rows] == [
        *((3, "corrected", 5), (5, None, None), (4, "struck out", 6)),
    ]
    assert [row["entry"] for row in small.ok("crosscheck", "list", REG, "--json").json] == [5]


def test_other_lists_of_all_have_a_column_for_it(small: "Cli") -> None:
    """The state of what was corrected or struck out stands in the list; CSV takes none of it."""
    small.ok(
        *("equipment", "fit", REG, "--corrects", "2", "--fitted-on", "2023-02-04"),
        *("--reason", "misread"),
    )
    small.ok("crew", "strike", "2", "--reason", "left")
    screen = small.ok("equipment", "list", REG, "--all").out.splitlines()
    assert screen[2].startswith("#2     corrected by #4  altimeter")
    assert screen[3].startswith("#4     fitted           altimeter")
    assert "struck out by #3" in small.ok("crew", "list", "--all").out
    assert "MKO" not in small.ok("crew", "list").out
    ran = small("equipment", "list", REG, "--all", "--csv")
    assert (ran.status, ran.out) == (2, "")
