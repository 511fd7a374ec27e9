"""What to do and say in RVSM airspace when something fails.

Sources: FAA Aeronautical Information Manual 4-6-8 (phraseology), 4-6-9 (contingency actions) and
4-6-10, 2026: published. UK and EU AMC1 SPA.RVSM.105(c), (d) and (e): published. What to do about
primaries that differ: AC 91-85B appendix B and NAT Doc 007, from memory.
"""

import pytest

from rvsmlog.standards.contingencies import (
    CONTINGENCIES,
    FAULT_NOTES,
    FAULT_NOTES_SOURCE,
    TURBULENCE_DEVIATION_FT,
    contingency,
)
from rvsmlog.standards.source import Status

AIM_8, AIM_9 = "4-6-8 (phraseology)", "4-6-9 (contingency actions)"


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
        (
            "more-than-moderate",
            "",
            "AMC1 SPA.RVSM.105(d) (in flight)",
            Status.PUBLISHED,
        ),
        ("before-entry", "", "AMC1 SPA.RVSM.105(c) (before entry)", Status.PUBLISHED),
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
    assert len(keys) == len(set(keys)) == 10
    assert all(each.do and each.when and each.sources for each in CONTINGENCIES)


def test_separation_and_the_controllers_question() -> None:
    """AIM 4-6-9: 2,000 ft or horizontal separation. AIM 4-6-8: what the controller asks."""
    assert "2,000 ft or horizontal separation" in contingency("required-equipment").controller
    assert "CONFIRM ABLE TO RESUME RVSM" in contingency("able-again").controller


def test_turbulence_figure() -> None:
    """AIM 4-6-9: a deviation of about 200 ft."""
    assert (TURBULENCE_DEVIATION_FT.value, TURBULENCE_DEVIATION_FT.unit) == (200, "ft")


def test_what_to_note_of_a_fault() -> None:
    """AMC1 SPA.RVSM.105(e)(2) names seven things."""
    assert len(FAULT_NOTES) == 7
    assert FAULT_NOTES_SOURCE.section == "AMC1 SPA.RVSM.105(e) (after flight)"
    subjects = ("standby", "selected", "sub-scale", "autopilot", "static", "air data", "transpond")
    assert all(word in note for word, note in zip(subjects, FAULT_NOTES, strict=True))
