"""What an entry means for the next flight is said by the command that makes it."""

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.cli.conftest import Cli, Ran

REG = "QX-ABC"
FOUND = ("--found-at", "2024-05-02T10:00Z", "--description", "no aural alert")
REPORT = ("defect", "report", REG, *FOUND, "--function", "altitude-alerter")


def flat(text: str) -> str:
    """Undo the folding of a screen."""
    return " ".join(text.split())


@pytest.mark.parametrize("command", [REPORT, ("defect", "fault", REG, *FOUND)])
def test_a_defect_grounds_until_somebody_decides(small: "Cli", command: tuple[str, ...]) -> None:
    """Neither rectified nor deferred: no flight, as the check says; 4 is the entry just made."""
    says = "No flight until `rvsmlog defect rectify QX-ABC 4` or `rvsmlog defect defer QX-ABC 4`."
    ran = small.ok(*command)
    assert says in flat(ran.out)
    assert all(len(line) <= 80 for line in ran.out.splitlines())
    assert "x defect-open: not met -> no flight" in small("gonogo", REG).out
    again = (*command[:3], "--corrects", "4", "--remarks", "heard", "--reason", "more", "--json")
    assert small.ok(*again).json["no_flight"] == {"rule": "defect-open", "says": says}


def test_a_defect_that_is_decided_on_grounds_no_more(small: "Cli") -> None:
    """A correction after the deferral says nothing; one to a time after the rectification does."""
    small.ok(*REPORT)
    small.ok(
        *("defect", "defer", REG, "4", "--category", "C", "--mel-reference", "22-1"),
        *("--deferred-on", "2024-05-02"),
    )
    correct = ("defect", "report", REG, "--reason", "x", "--corrects")
    found = small.ok(*correct, "4", "--remarks", "heard", "--json").json
    assert found["no_flight"] is None
    small.ok(*REPORT)
    small.ok(
        *("defect", "rectify", REG, "7", "--done-at", "2024-05-03T10:00Z", "--work-done", "unit"),
        *("--released-by", "J. Doe", "--licence", "1", "--reference", "W"),
    )
    assert "No flight" not in small.ok(*correct, "7", "--remarks", "heard").out


def test_a_flow_that_is_missing_is_named(small: "Cli") -> None:
    """Passengers, and a crew on continuous flow; a demand regulator is counted as undiluted."""
    fit = (
        *("oxygen", "fit", REG, "--fitted-on", "2024-05-01", "--service-psi", "1850"),
        *("--unusable-psi", "200", "--water-litres", "11.5", "--crew-masks", "2"),
    )
    both = ("--serves", "crew,passengers", "--passenger-masks", "4")
    demand = ("--crew-delivery", "demand", "--crew-modes", "normal,100-percent")
    flow = ("--passenger-flow", "50:3000,410:3000", "--flow-reference", "table 1")
    ran = small.ok(*fit, *both, *demand)
    assert "The flow of the passengers is not on record" in flat(ran.out)
    assert "--passenger-flow and --flow-reference, --corrects 4 --reason TEXT" in flat(ran.out)
    mended = small.ok("oxygen", "fit", REG, "--corrects", "4", *flow, "--reason", "left out")
    assert "The flow" not in mended.out

    def missing(*options: str) -> list[str]:
        found: list[str] = small.ok(*fit, *options, "--json").json["flows_missing"]
        return found

    assert missing(*both, *demand, *flow) == []
    assert missing(*both, "--crew-delivery", "continuous") == ["crew_normal_flow", "passenger_flow"]
    emergency = ("--crew-delivery", "demand", "--crew-modes", "emergency")
    assert missing("--serves", "crew", *emergency) == ["crew_emergency_flow"]


def test_a_deviation_that_is_closed_keeps_nobody_below(small: "Cli") -> None:
    """Open it does, closed it names the closure."""
    report = ("deviation", "report", REG)
    open_one = small.ok(
        *report,
        *("--occurred-at", "2024-05-01T10:00Z", "--aad-ft", "320", "--description", "gust"),
    )
    assert "stays below RVSM airspace until" in flat(open_one.out)
    assert "closed by" not in open_one.out
    small.ok(
        *("deviation", "close", REG, "4", "--closed-on", "2024-05-20", "--conclusion", "servo"),
        *("--confirmed-by", "J. Doe"),
    )
    ran = small.ok(*report, "--corrects", "4", "--remarks", "at night", "--reason", "more")
    assert "closed by #5" in ran.out
    assert "stays below" not in flat(ran.out)


@pytest.mark.parametrize(
    ("test", "title"),
    [
        ("leak-check", "leak check of the static system"),
        ("transponder", "transponder test"),
        ("correspondence", "correspondence test of the altitude reported"),
    ],
)
def test_a_test_is_called_by_its_name(small: "Cli", test: str, title: str) -> None:
    """When it is recorded, and when it is shown."""
    ran = small.ok(
        *("test", "add", REG, "--test", test, "--done-on", "2024-05-01", "--passed", "yes")
    )
    assert ran.out.splitlines()[0] == f"recorded VK71-1007#4: {title}"
    assert small.ok("test", "show", REG, "4").out.startswith(f"VK71-1007#4  {title}: standing")


def test_an_entry_is_shown_by_its_noun(
    small: "Cli", check_one_line: "Callable[[Ran, int], None]"
) -> None:
    """Another noun names the command that shows it; that of the logbook shows whatever is there."""
    ran = small("crosscheck", "show", "qx-abc", "2", "--json")
    check_one_line(ran, 2)
    assert "VK71-1007#2 is equipment fitted" in ran.err
    assert "show it with `rvsmlog equipment show QX-ABC 2`" in ran.err
    for noun in ("equipment", "airframe"):
        assert small.ok(noun, "show", REG, "2").out.startswith("VK71-1007#2  equipment fitted")
    assert "VK71-1007#3 is an altimeter cross-check" in small("flight", "show", REG, "3").err
    small("gonogo", REG)
    for noun in ("flight", "defect"):
        assert "go/no-go check" in small.ok(noun, "show", REG, "4").out
    assert "`rvsmlog operator show 1`" in small("crew", "show", "1").err
