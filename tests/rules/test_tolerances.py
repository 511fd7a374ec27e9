"""The tightest tolerance of all is no looser than that of any level."""

from hypothesis import given
from hypothesis import strategies as st

from rvsmlog.rules.tolerances import crosscheck_tolerance_ft, tightest_tolerance_ft
from tests.rules.conftest import Make

_MAKE = Make()
_TABLES = st.none() | st.dictionaries(
    st.integers(1, 660), st.integers(20, 200), min_size=1, max_size=5
).map(lambda found: tuple(sorted(found.items())))


@given(table=_TABLES, level=st.integers(1, 660))
def test_no_level_is_tighter(table: tuple[tuple[int, int], ...] | None, level: int) -> None:
    """So what is within the tightest one is within that of every level."""
    airframe = _MAKE.airframe(primary_tolerance=table).record
    assert tightest_tolerance_ft(airframe) <= crosscheck_tolerance_ft(airframe, level)


def test_some_level_is_as_tight() -> None:
    """By a table of its own it is that of the tightest row, without one the published one."""
    own = _MAKE.airframe(primary_tolerance=((290, 120), (310, 90), (350, 150))).record
    assert tightest_tolerance_ft(own) == crosscheck_tolerance_ft(own, 310) == 90
    published = _MAKE.airframe(primary_tolerance=None).record
    assert tightest_tolerance_ft(published) == crosscheck_tolerance_ft(published, 310) == 200
