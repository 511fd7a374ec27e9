"""The collector rests, and is left as it was."""

import gc
from collections.abc import Iterator

import pytest

from rvsmlog.resting import resting_collector


@pytest.fixture(autouse=True)
def as_before() -> Iterator[None]:
    """Leave the collector to the other tests as it was."""
    was_at_work = gc.isenabled()
    yield
    (gc.enable if was_at_work else gc.disable)()


@pytest.mark.parametrize("at_work", [True, False])
def test_it_is_left_as_it_was(at_work: bool) -> None:
    """After the work, after a fault in it, and one inside another."""
    (gc.enable if at_work else gc.disable)()
    with resting_collector():
        assert not gc.isenabled()
        with resting_collector():
            assert not gc.isenabled()
        assert not gc.isenabled()
    assert gc.isenabled() == at_work
    with pytest.raises(KeyError), resting_collector():
        raise KeyError
    assert gc.isenabled() == at_work
