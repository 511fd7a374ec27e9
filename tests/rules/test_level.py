"""The level against the certificated one. RVSM airspace: FL290 to FL410 (appendix G section 1)."""

import pytest

from rvsmlog.rules.level import level_above_certificated
from tests.rules.conftest import Make


@pytest.mark.parametrize("planned", [50, 280, 290, 309, 310])
def test_a_level_up_to_the_certificated_one_is_met(make: Make, planned: int) -> None:
    """Up to and at the certificated level it is met, and the finding carries that level."""
    facts = make.facts(question=make.question(level=planned))
    says = f"FL{planned:03d} planned, highest certificated level FL310"
    assert make.rows(level_above_certificated, facts) == [("met", says, 310, (1,))]
    (margin,) = make.margins(level_above_certificated, facts)
    assert margin is not None
    assert margin.value == 310 - planned


def test_a_level_above_is_not_met(make: Make) -> None:
    """One level above the certificated one it is not met, with a remedy."""
    facts = make.facts(question=make.question(level=311))
    (finding,) = level_above_certificated.findings(facts)
    assert (finding.outcome, finding.highest_level) == ("not met", 310)
    assert finding.says == "FL311 planned, highest certificated level FL310"
    assert finding.remedy.startswith("Plan FL310 or lower")
    assert finding.values == {"planned_level": 311}
    assert finding.limits == {"highest_level": 310}
    assert str(finding.margin) == "-100 ft"


def test_without_a_planned_level_the_certificated_one_is_given(make: Make) -> None:
    """Without a planned level the finding is met and carries the certificated level."""
    facts = make.facts(question=make.question(level=None))
    rows = [("met", "highest certificated level is FL310", 310, (1,))]
    assert make.rows(level_above_certificated, facts) == rows
    assert make.margins(level_above_certificated, facts) == [None]


@pytest.mark.parametrize(("planned", "notes"), [(410, 0), (411, 1), (430, 1)])
def test_a_level_above_rvsm_airspace_gets_a_note(make: Make, planned: int, notes: int) -> None:
    """FL410 belongs to RVSM airspace; what lies above gets a note that never limits."""
    facts = make.facts(
        airframe=make.airframe(highest_level=450), question=make.question(level=planned)
    )
    met, *rest = make.rows(level_above_certificated, facts)
    assert met[0] == "met"
    assert (
        rest
        == [("advice", f"FL{planned} lies above RVSM airspace, which ends with FL410", None, ())][
            :notes
        ]
    )
