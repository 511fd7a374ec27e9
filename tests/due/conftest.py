"""The healthy airframe of the rules' tests, for what falls due."""

import pytest

from tests.rules.conftest import Make


@pytest.fixture(scope="session")
def make() -> Make:
    """Give the builder; it has no state."""
    return Make()
