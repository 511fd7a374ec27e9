"""How much oxygen each authority asks to be carried, both sides of it.

The flight and its flows are those of test_oxygen.py.
"""

import pytest

from tests.authority_tables import leaves_none_out
from tests.rules.test_oxygen import facts, found

#: Litres on board, and the level that they leave.
CARRIED = [
    # 135.157: two hours for the crew, the first ten minutes at 100 %: 80 + 110 x 5 = 630 l;
    # passengers 30 minutes, an hour where 15,000 ft cannot be reached in 4 minutes: 3 x 60 x
    # 3 = 540 l. Half a minute and 3.5 at 3,000 ft/min reach it from 25,500 ft.
    ("us-135", 1_170.0, None),
    ("us-135", 1_169.0, 255),
    ("us-135", 629.0, 100),
    # NCO.IDE.A.150(b)(1)(i): never less than ten minutes for all above 10,000 ft.
    ("eu-nco", 170.0, None),
    ("eu-nco", 169.0, 100),
    ("uk-nco", 170.0, None),
    ("uk-nco", 169.0, 100),
    # CAT.IDE.A.235 table 1 (from memory): two hours for the crew certificated above 25,000
    # ft: 80 + 550 = 630; passengers never less than ten minutes, 90; (a): above 10,000 ft.
    ("eu-cat", 720.0, None),
    ("eu-cat", 719.0, 100),
    ("uk-cat", 719.0, 100),
    # 91.211(b)(1)(i): ten minutes above FL250, crew 80 and passengers 3 x 10 x 3 = 90 l.
    ("us-91", 170.0, None),
    ("us-91", 169.0, 250),
    # Part 91 MOS 26.43 (from memory) as 91.211.
    ("au-91", 170.0, None),
    ("au-91", 169.0, 250),
    ("nz-91", 170.0, None),
    ("nz-91", 169.0, 250),
]


@pytest.mark.parametrize(("code", "litres", "highest"), CARRIED)
def test_each_authority_asks_its_own(code: str, litres: float, highest: int | None) -> None:
    """Both sides of what each authority asks to be carried."""
    finding = found(facts(litres, authority=code))
    assert finding.highest_level == highest, finding.says
    assert str(finding.outcome) == ("met" if highest is None else "not met")


@pytest.mark.parametrize("code", ["eu-nco", "uk-nco"])
@pytest.mark.parametrize(
    ("level", "litres", "outcome"),
    [(200, 170.0, "met"), (200, 169.0, "not met"), (101, 169.0, "not met"), (100, 0.1, "met")],
)
def test_a_quick_descent_frees_nobody_from_the_ten_minutes_of_nco(
    code: str, level: int, litres: float, outcome: str
) -> None:
    """NCO.IDE.A.150(b)(1)(i), read in the United Kingdom's text: in no case less than 10 minutes.

    At 6,000 ft/min from FL200 13,000 ft are reached in 1.7 minutes, so (b)(2) asks nothing.
    """
    known = facts(litres, level=level, authority=code, flight={"descent_fpm": 6_000})
    assert str(found(known).outcome) == outcome


def test_no_authority_is_left_out() -> None:
    """Each has its row in the table."""
    leaves_none_out({row[0] for row in CARRIED}, "CARRIED")
