"""A mask for everyone, and the pilot's own.

91.211(b), 135.89(b), CAT.IDE.A.235, the former 23.1447, AC 61-107.
"""

from typing import Any

import pytest

from rvsmlog.rules.oxygen import oxygen_masks_too_few
from rvsmlog.rules.oxygen_masks import (
    quick_donning_mask_missing,
    useful_consciousness_short,
    worn_mask_missing,
)
from tests.authority_tables import leaves_none_out
from tests.rules.conftest import Make


def known(
    make: Make,
    *,
    code: str = "us-91",
    level: int | None = 310,
    ceiling: int = 430,
    crew: int | None = 1,
    **fitted: Any,
) -> Any:
    """Give facts with another authority, level, crew or oxygen system."""
    return make.facts(
        airframe=make.airframe(authority=code, highest_level=ceiling),
        oxygen=(make.oxygen_fitted(**fitted),),
        question=make.question(level=level, flight=make.flight_data(crew=crew)),
    )


@pytest.mark.parametrize(
    ("fitted", "outcome", "highest", "margin"),
    [
        ({"donning_s": 5}, "met", None, 0),
        ({"donning_s": 6}, "not met", 250, None),
        ({"donning_s": None}, "met", None, None),
        ({"quick_donning": False}, "not met", 250, None),
        ({"quick_donning": None}, "not on record", 250, None),
    ],
)
def test_five_seconds_make_a_mask_quick(
    make: Make, fitted: dict[str, Any], outcome: str, highest: int | None, margin: int | None
) -> None:
    """One that takes six seconds is not of the kind; what is not on record is no pass."""
    assert make.outcomes(quick_donning_mask_missing, known(make, **fitted)) == [
        (outcome, highest, (62,), margin)
    ]


#: On whose figure quick-donning masks are asked, and above which level.
QUICK_DONNING = [
    ("us-91", "23-1447-legacy", 250),
    ("us-135", "135-89", 250),
    ("eu-cat", "cat-ide-a-235", 250),
    ("uk-cat", "cat-ide-a-235", 250),
    ("eu-nco", "25-1447", 250),
    ("uk-nco", "25-1447", 250),
    ("au-91", "25-1447", 250),
    ("nz-91", "25-1447", 250),
]


@pytest.mark.parametrize(("code", "source", "highest"), QUICK_DONNING)
def test_quick_donning_is_asked_everywhere_but_on_different_grounds(
    make: Make, code: str, source: str, highest: int
) -> None:
    """Where the operating rule was not read, the certification rule's figure stands in."""
    slow = {"quick_donning": False, "mask_can_be_worn": False}
    for ceiling, outcome in ((highest, "not applicable"), (highest + 1, "not met")):
        facts = known(make, code=code, ceiling=ceiling, level=ceiling, **slow)
        (finding,) = quick_donning_mask_missing.findings(facts)
        assert str(finding.outcome) == outcome
        if outcome == "not met":
            assert (finding.highest_level, finding.sources) == (highest, (source,))


@pytest.mark.parametrize(
    ("code", "can", "outcome"),
    [
        ("us-135", True, "met"),
        ("us-135", False, "not met"),
        ("us-135", None, "not met"),
        ("us-91", True, "not met"),
    ],
)
def test_under_part_135_a_worn_mask_serves_instead(
    make: Make, code: str, can: bool | None, outcome: str
) -> None:
    """135.89(b)(2): from FL250 to FL350 either, and only there."""
    facts = known(make, code=code, quick_donning=False, mask_can_be_worn=can)
    (finding,) = quick_donning_mask_missing.findings(facts)
    assert str(finding.outcome) == outcome


def test_without_a_system_masks_are_not_on_record(make: Make) -> None:
    """Above FL250 that is no pass."""
    facts = make.facts(oxygen=())
    assert make.outcomes(quick_donning_mask_missing, facts) == [("not on record", 250, (1,), None)]
    high = make.facts(oxygen=(), airframe=make.airframe(highest_level=410))
    assert make.outcomes(worn_mask_missing, high) == [("not on record", 350, (1,), None)]


@pytest.mark.parametrize(
    ("can", "outcome", "highest"),
    [(True, "met", None), (False, "not met", 350), (None, "not on record", 350)],
)
def test_above_fl350_a_mask_is_worn(
    make: Make, can: bool | None, outcome: str, highest: int | None
) -> None:
    """A mask that cannot be worn leaves FL350."""
    facts = known(make, mask_can_be_worn=can)
    assert make.outcomes(worn_mask_missing, facts) == [(outcome, highest, (62,), None)]


@pytest.mark.parametrize("code", ["us-91", "us-135", "eu-nco", "eu-cat", "au-91", "nz-91"])
def test_fl350_is_the_threshold_everywhere(make: Make, code: str) -> None:
    """At FL350 nothing is asked; where the rule was not read, the strictest that was stands in."""
    for ceiling, outcome in ((350, "not applicable"), (351, "not met")):
        facts = known(make, code=code, ceiling=ceiling, mask_can_be_worn=False)
        (finding,) = worn_mask_missing.findings(facts)
        assert str(finding.outcome) == outcome
        if outcome == "not met":
            read = code in ("us-91", "us-135", "nz-91")
            assert ("not read" in finding.says) is not read


@pytest.mark.parametrize(
    ("code", "crew", "fitted", "ceiling", "highest"),
    [
        # 91.211(b)(1)(ii): two pilots who both have quick-donning masks, up to FL410.
        ("us-91", 2, {}, 430, 410),
        ("us-91", 2, {}, 410, None),
        ("us-91", 1, {}, 410, 350),
        ("us-91", None, {}, 410, 350),
        ("us-91", 2, {"donning_s": 6}, 410, 350),
        ("us-135", 2, {}, 410, 350),
        ("nz-91", 2, {}, 430, 410),
        # Not read: no exception is taken.
        ("eu-nco", 2, {}, 410, 350),
        ("au-91", 2, {}, 410, 350),
    ],
)
def test_two_pilots_are_exempt_where_the_rule_says_so(
    make: Make, code: str, crew: int | None, fitted: dict[str, Any], ceiling: int, highest: int
) -> None:
    """A single pilot never is."""
    facts = known(make, code=code, crew=crew, ceiling=ceiling, mask_can_be_worn=False, **fitted)
    assert make.outcomes(worn_mask_missing, facts)[0][1] == highest


@pytest.mark.parametrize(
    ("level", "useful", "left"),
    [
        # AC 61-107 as reprinted, after rapid decompression, the shorter of each row.
        (180, 600, 580),
        (220, 300, 280),
        (250, 90, 70),
        (280, 75, 55),
        (300, 30, 10),
        (301, 15, -5),
        (350, 15, -5),
    ],
)
def test_useful_consciousness_less_notice_and_donning(
    make: Make, level: int, useful: int, left: int
) -> None:
    """15 s to notice and 5 to don; the time of the next higher row between rows."""
    (finding,) = useful_consciousness_short.findings(known(make, level=level))
    assert finding.values == {"useful_s": useful, "left_s": left}
    assert str(finding.outcome) == ("met" if left >= 0 else "advice")
    assert finding.highest_level is None


def test_useful_consciousness_is_not_asked_where_the_mask_is_worn(make: Make) -> None:
    """Above FL350 it is worn; below 12,500 ft nobody needs it."""
    for level, says in ((351, "the mask is worn"), (125, "no oxygen is asked at this level")):
        facts = known(make, level=level)
        assert make.rows(useful_consciousness_short, facts) == [("not applicable", says, None, ())]


def test_a_time_to_don_that_is_not_on_record_is_said(make: Make) -> None:
    """Advice, not a pass."""
    for facts in (known(make, donning_s=None), make.facts(oxygen=())):
        (finding,) = useful_consciousness_short.findings(facts)
        assert str(finding.outcome) == "advice"
        assert "not on record" in finding.says


def test_levels_beyond_the_table_are_said_so(make: Make) -> None:
    """Two pilots exempt at FL410 are within it; a table that ends is never read beyond its end."""
    facts = known(make, level=510, ceiling=510, crew=2)
    (finding,) = useful_consciousness_short.findings(facts)
    assert str(finding.outcome) == "not applicable"


def test_no_authority_is_left_out() -> None:
    """Each has its row in the table."""
    leaves_none_out({row[0] for row in QUICK_DONNING}, "QUICK_DONNING")


@pytest.mark.parametrize(
    ("crew", "passengers", "rows"),
    [
        (2, 4, [("met", None, (62,), 0)]),
        (1, 3, [("met", None, (62,), 1)]),
        (3, 4, [("not met", 125, (62,), -1)]),
        (1, 5, [("not met", 150, (62,), -1)]),
        (3, 6, [("not met", 125, (62,), -1), ("not met", 150, (62,), -2)]),
    ],
)
def test_everyone_has_a_mask(make: Make, crew: int, passengers: int, rows: list[Any]) -> None:
    """Without a mask the crew stay at 12,500 ft, passengers at 15,000 ft (91.211)."""
    flight = make.flight_data(crew=crew, passengers=passengers)
    facts = make.facts(question=make.question(flight=flight))
    assert make.outcomes(oxygen_masks_too_few, facts) == rows


def test_masks_do_not_matter_without_a_system_or_where_no_oxygen_is_asked(make: Make) -> None:
    """Nothing on record, or an aeroplane that stays low."""
    for facts in (make.facts(oxygen=()), make.facts(airframe=make.airframe(highest_level=125))):
        (finding,) = oxygen_masks_too_few.findings(facts)
        assert str(finding.outcome) == "not applicable"
