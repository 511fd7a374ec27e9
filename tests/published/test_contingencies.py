"""What to do and say in RVSM airspace when something fails.

Sources: FAA Aeronautical Information Manual 4-6-8 (phraseology), 4-6-9 (contingency actions) and
4-6-10, 2026: published. UK and EU AMC to SPA.RVSM.105(c), (d) and (e): published. What to do about
primaries that differ: AC 91-85B appendix B and NAT Doc 007, from memory. ICAO NAT Doc 001 3.5.1(h):
told by air traffic control of more than 300 ft (91 m), return to the level at once: published.
Aeronautical Information Manual 4-1-20(c)2 (2014): on a wrong readout see that the altimeter is set
right, and turn altitude reporting off where the controller asks; 14 CFR 91.217(a)(1): none may be
operated when its deactivation is directed. Both published, neither written for RVSM airspace.
"""

import pytest

from rvsmlog.standards.contingencies import (
    CONTINGENCIES,
    FAULT_NOTES,
    FAULT_NOTES_SOURCE,
    TOLD_DEVIATION_FT,
    TURBULENCE_DEVIATION_FT,
    Contingency,
)
from rvsmlog.standards.source import Status

AIM_8, AIM_9 = "4-6-8 (phraseology)", "4-6-9 (contingency actions)"


def contingency(key: str) -> Contingency:
    """Give a contingency by its key."""
    (found,) = (each for each in CONTINGENCIES if each.key == key)
    return found


@pytest.mark.parametrize(
    ("key", "say", "section", "status"),
    [
        ("required-equipment", "UNABLE RVSM DUE EQUIPMENT", AIM_9, Status.PUBLISHED),
        ("turbulence", "UNABLE RVSM DUE (reason)", AIM_9, Status.PUBLISHED),
        ("able-again", "READY TO RESUME RVSM", AIM_8, Status.PUBLISHED),
        ("not-approved", "NEGATIVE RVSM", AIM_8, Status.PUBLISHED),
        ("one-primary", "", AIM_9, Status.PUBLISHED),
        ("transponder", "", AIM_9, Status.PUBLISHED),
        ("unsure", "", AIM_9, Status.PUBLISHED),
        ("told-off-level", "", "3.5.1(h) (deviation notified by ATC)", Status.PUBLISHED),
        ("wrong-report", "", "4-1-20(c) (automatic altitude reporting)", Status.PUBLISHED),
        (
            "more-than-moderate",
            "",
            "AMC SPA.RVSM.105(d) (in flight)",
            Status.PUBLISHED,
        ),
        (
            "before-entry",
            "",
            "AMC SPA.RVSM.105(c) (before entry)",
            Status.PUBLISHED,
        ),
        (
            "primaries-differ",
            "UNABLE RVSM DUE EQUIPMENT",
            "Appendix B (pilot procedures)",
            Status.MEMORY,
        ),
    ],
)
def test_phraseology_and_source(key: str, say: str, section: str, status: Status) -> None:
    """Each contingency has its phraseology as published, and an honest status."""
    found = contingency(key)
    assert found.say == say
    assert (found.sources[0].section, found.sources[0].status) == (section, status)


def test_no_contingency_without_a_row_above() -> None:
    """The table is complete, each has something to do, and no key stands twice."""
    keys = [each.key for each in CONTINGENCIES]
    assert len(keys) == len(set(keys)) == 12
    assert all(each.do and each.when and each.sources for each in CONTINGENCIES)


def test_separation_and_the_controllers_question() -> None:
    """AIM 4-6-9: 2,000 ft or horizontal separation. AIM 4-6-8: what the controller asks."""
    assert "2,000 ft or horizontal separation" in contingency("required-equipment").controller
    assert "CONFIRM ABLE TO RESUME RVSM" in contingency("able-again").controller


def test_turbulence_figure() -> None:
    """AIM 4-6-9: a deviation of about 200 ft."""
    assert (TURBULENCE_DEVIATION_FT.value, TURBULENCE_DEVIATION_FT.unit) == (200, "ft")


def test_told_of_a_deviation() -> None:
    """NAT Doc 001 3.5.1(h): more than 300 ft (91 m), return to the level at once."""
    assert (TOLD_DEVIATION_FT.value, TOLD_DEVIATION_FT.unit) == (300, "ft")
    assert "91 m" in TOLD_DEVIATION_FT.note
    told = contingency("told-off-level")
    assert "more than 300 ft" in told.when
    assert told.do == ("Return to the cleared level at once.",)


def test_a_wrong_report_is_not_passed_off_as_a_failed_transponder() -> None:
    """AIM 4-6-9 speaks of a transponder that has failed; of a wrong report other papers speak."""
    assert "wrong" not in contingency("transponder").when
    wrong = contingency("wrong-report")
    assert [each.section[:6] for each in wrong.sources] == ["4-1-20", "91.217"]
    assert "altimeter is set right" in wrong.do[0]
    assert "when the controller says so" in wrong.do[1]
    assert "no source" in wrong.do[2]


def test_what_to_note_of_a_fault() -> None:
    """The AMC to SPA.RVSM.105, (e)(2), names seven things."""
    assert len(FAULT_NOTES) == 7
    assert FAULT_NOTES_SOURCE.section == "AMC SPA.RVSM.105(e) (after flight)"
    subjects = ("standby", "selected", "sub-scale", "autopilot", "static", "air data", "transpond")
    assert all(word in note for word, note in zip(subjects, FAULT_NOTES, strict=True))
