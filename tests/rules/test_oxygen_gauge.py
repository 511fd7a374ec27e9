"""The gauge reading that the checks before the flight name."""

from rvsmlog.rules.oxygen import gauges_needed
from tests.rules.test_oxygen import HOLD, MAKE, facts


def test_the_gauge_that_is_needed_is_named_where_it_can_be() -> None:
    """Nothing below the hold; without a reading the system is named alone."""
    assert list(gauges_needed(facts(1.0, flight=HOLD, level=130))) == []
    bare = MAKE.facts(oxygen_readings=())
    assert list(gauges_needed(bare)) == [("main", None, None)]


def test_no_gauge_reading_covers_a_flow_that_is_not_on_record() -> None:
    """What is known of the crew alone is no figure to read the gauge against."""
    known = MAKE.facts()
    ((_, psi, _),) = gauges_needed(known)
    assert psi is not None
    short = MAKE.facts(oxygen=(MAKE.oxygen_fitted(passenger_flow=None),))
    ((_, psi, _),) = gauges_needed(short)
    assert psi is None


def test_an_aeroplane_without_oxygen_on_record_names_no_gauge() -> None:
    """Nothing is drawn on, and nothing is asked of what is not there."""
    assert list(gauges_needed(MAKE.facts(oxygen=()))) == []
