"""Commands that record work say at once which functional checks it calls for."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.cli.conftest import Cli

REG = "QX-ABC"
RECTIFY = (
    *("--done-at", "2024-05-09T16:00Z", "--work-done", "line reconnected"),
    *("--released-by", "J. Doe", "--licence", "AMT 123", "--reference", "WO-77"),
)


def _fault(cli: "Cli") -> str:
    """Report an altimetry fault and give its entry."""
    reported = cli.ok(
        *("defect", "fault", REG, "--found-at", "2024-05-01T10:00Z", "--description", "split"),
        "--json",
    )
    assert "calls_for" not in reported.json
    return str(reported.json["entry"])


def test_rectifying_says_which_checks_are_called_for(small: "Cli") -> None:
    """Each test with its position, what may be flown until then, and the source."""
    entry = _fault(small)
    out = small.ok(
        "defect", "rectify", REG, entry, *RECTIFY, "--touched", "static-system-opened,altimeter"
    ).out
    flat = " ".join(out.split())
    assert "leak check of the static system, positions 1 and 2 (static system opened)" in flat
    assert "Until it is on record and good: no flight under IFR. 14 CFR, 91.411(a)(2)" in flat
    assert "altimeter and static test, positions 1 and 2 (work on altimeter)" in flat
    assert "Until it is on record and good: FL280 at most." in flat
    assert "maintenance data may call for more" in flat
    assert all(len(line) <= 80 for line in out.splitlines())


def test_rectifying_answers_in_json(small: "Cli") -> None:
    """A list of objects; 0 is no flight, as among the findings of a check."""
    entry = _fault(small)
    answer = small.ok(
        *("defect", "rectify", REG, entry, *RECTIFY, "--touched", "altitude-reporting", "--json")
    ).json
    assert answer["kind"] == "rectification"
    assert answer["calls_for"] == [
        {
            "test": "correspondence",
            "positions": ["1", "2"],
            "because": "work on altitude reporting",
            "highest_level": 0,
            "instead": None,
            "source": "91-411-a3",
        }
    ]


def test_work_that_calls_for_nothing_says_so(small: "Cli") -> None:
    """Silence would read as forgotten."""
    out = small.ok(
        *("equipment", "fit", REG, "--function", "altitude-alerter", "--fitted-on", "2024-05-01")
    ).out
    assert "It calls for no functional check that is known here." in out


def test_a_swap_says_what_it_calls_for(small: "Cli") -> None:
    """And the units are shown where they are."""
    second = small.ok(
        *("equipment", "fit", REG, "--function", "altimeter", "--position", "2"),
        *("--fitted-on", "2023-02-03", "--json"),
    ).json["entry"]
    answer = small.ok(
        *("equipment", "swap", REG, "2", "--other", str(second), "--cause", "which is wrong"),
        *("--swapped-at", "2024-05-01T09:00Z", "--json"),
    ).json
    assert [call["test"] for call in answer["calls_for"]] == ["leak-check", "altimeter-static"]
    listed = small.ok("equipment", "list", REG, "--kind", "equipment", "--json").json
    assert {row["entry"]: (row["position"], row["state"]) for row in listed} == {
        2: ("1", "swapped to 2"),
        second: ("2", "swapped to 1"),
    }
    assert "swapped to 2 2024-05-01" in small.ok("equipment", "list", REG).out


def test_correcting_the_rectification_settles_what_was_not_said(small: "Cli") -> None:
    """First not said, then corrected to a part that no test is called for but its own."""
    entry = _fault(small)
    first = small.ok("defect", "rectify", REG, entry, *RECTIFY, "--json").json
    assert [call["because"] for call in first["calls_for"]] == ["it is not said what was touched"]
    corrected = small.ok(
        *("defect", "rectify", REG, entry, *RECTIFY, "--touched", "static-system-opened"),
        *("--corrects", str(first["entry"]), "--reason", "said what was touched", "--json"),
    ).json
    assert [call["test"] for call in corrected["calls_for"]] == ["leak-check"]


def test_what_work_calls_for_carries_the_caution(small: "Cli") -> None:
    """Somebody may act on it: called for or not, the caution stands below."""
    fit = ("equipment", "fit", REG, "--fitted-on", "2024-05-01", "--function")
    for function in ("altitude-alerter", "transponder"):
        out = " ".join(small.ok(*fit, function).out.split())
        assert "An aid, not a release" in out
