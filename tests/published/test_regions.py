"""Regions of an RVSM approval.

Source: ICAO region codes as the trade uses them, common practice, no source. That section 9 of
14 CFR 91 appendix G serves in United States airspace only: AIM 4-6-4, 2026, published. The levels
of the North Atlantic high level airspace, FL285 to FL420: read second-hand.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rvsmlog.errors import InputError
from rvsmlog.standards.regions import HIGH_LEVELS, REGIONS, covers, parse_region
from rvsmlog.standards.source import Status

codes = st.sampled_from(sorted(REGIONS))


def test_the_regions() -> None:
    """The nine regions, the United States inside NAM, and all of them."""
    nine = {"AFI", "ASIA", "CAR", "EUR", "MID", "NAM", "NAT", "PAC", "SAM"}
    assert set(REGIONS) == nine | {"US", "ALL"}
    assert (HIGH_LEVELS.value, HIGH_LEVELS.source.status) == ((285, 420), Status.SECOND_HAND)


@pytest.mark.parametrize(
    ("approved", "planned", "covered"),
    [
        (("NAT",), "NAT", True),
        (("NAT",), "NAM", False),
        (("NAM",), "US", True),
        (("US",), "NAM", False),
        (("US",), "US", True),
        (("US",), "CAR", False),
        (("ALL",), "PAC", True),
        (("ALL",), "US", True),
        (("ALL",), "ALL", True),
        (("NAM", "PAC"), "pac", True),
        (("EUR", "NAT"), "ALL", False),
        ((), "EUR", False),
        ((), "ALL", False),
    ],
)
def test_what_an_approval_covers(approved: tuple[str, ...], planned: str, covered: bool) -> None:
    """An approval covers its own regions and what lies inside them."""
    assert covers(approved, planned) is covered


@given(approved=st.lists(codes).map(tuple), planned=codes, extra=codes)
def test_more_approvals_never_cover_less(
    approved: tuple[str, ...], planned: str, extra: str
) -> None:
    """Adding a region to an approval never takes one away."""
    assert covers((*approved, extra), planned) >= covers(approved, planned)


def test_listing_every_region_is_not_an_approval_for_all() -> None:
    """A plan for all regions wants an approval that says so."""
    assert not covers(tuple(code for code in REGIONS if code != "ALL"), "ALL")


@pytest.mark.parametrize("text", ["", "EU", "europe", "N A T"])
def test_an_unknown_region_is_refused(text: str) -> None:
    """An unknown code is answered with the known ones, on either side."""
    with pytest.raises(InputError, match="no region") as caught:
        parse_region(text)
    assert "NAT" in caught.value.hint
    with pytest.raises(InputError, match="no region"):
        covers((text,), "EUR")
    with pytest.raises(InputError, match="no region"):
        covers(("EUR",), text)


def test_a_region_is_read_in_either_case() -> None:
    """A code is read with spaces and in lower case."""
    assert parse_region(" nat ") == "NAT"
