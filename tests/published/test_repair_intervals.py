"""Repair intervals of minimum equipment lists.

Sources: categories A to D and the excluded day of discovery, airline MEL preambles and authority
templates: published. The example of 26 January, FAA MMEL Policy Letter 25: read second-hand for
categories B and C; the days of category D follow from a calendar. Extension: UK and EU
ORO.MLR.105(f): published.
"""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import InputError
from rvsmlog.standards.authorities import AUTHORITIES, authority
from rvsmlog.standards.repair_intervals import (
    INTERVAL_DAYS,
    Category,
    ExtensionPolicy,
    extended_due,
    parse_category,
    repair_due,
)
from rvsmlog.standards.source import Status
from rvsmlog.standards.sources import source
from tests.authority_tables import leaves_none_out

ONCE = authority("eu-cat").extension_policy
days = st.dates(date(1990, 1, 1), date(2150, 1, 1))
categories = st.sampled_from([Category.B, Category.C, Category.D])


@pytest.mark.parametrize(("category", "length"), [("B", 3), ("C", 10), ("D", 120)])
def test_interval_lengths(category: str, length: int) -> None:
    """Categories B, C and D have 3, 10 and 120 consecutive calendar days; A has none of its own."""
    figure = INTERVAL_DAYS[Category(category)]
    assert figure.value == length
    assert figure.source.status is Status.PUBLISHED
    assert Category.A not in INTERVAL_DAYS


@pytest.mark.parametrize(
    ("category", "discovered", "due"),
    [
        # Policy Letter 25: found on 26 January, B ends with the 29th, C with 5 February.
        ("B", date(2027, 1, 26), date(2027, 1, 29)),
        ("C", date(2027, 1, 26), date(2027, 2, 5)),
        # The same day by the calendar: 5 + 28 + 31 + 30 + 26 days; a day less in leap years.
        ("D", date(2027, 1, 26), date(2027, 5, 26)),
        ("D", date(2028, 1, 26), date(2028, 5, 25)),
        # An airline captain's public account of 2002: found 10 September, C runs to the 20th.
        ("C", date(2002, 9, 10), date(2002, 9, 20)),
        # Ends of months, years and February, by the calendar.
        ("B", date(2027, 12, 30), date(2028, 1, 2)),
        ("B", date(2028, 2, 27), date(2028, 3, 1)),
        ("B", date(2027, 2, 27), date(2027, 3, 2)),
        ("B", date(2028, 2, 29), date(2028, 3, 3)),
        ("C", date(2100, 2, 20), date(2100, 3, 2)),
    ],
)
def test_due_days(category: str, discovered: date, due: date) -> None:
    """The day of discovery does not count."""
    assert repair_due(category, discovered) == due


def test_category_a_has_the_day_its_item_states() -> None:
    """Category A takes the stated day as it is, the day of discovery included."""
    found = date(2027, 1, 1)
    # Common practice: two days, found on 1 January, run through 3 January.
    assert repair_due("A", found, date(2027, 1, 3)) == date(2027, 1, 3)
    assert repair_due("A", found, found) == found


def test_category_a_without_a_stated_day_is_refused() -> None:
    """A missing day is not guessed."""
    with pytest.raises(InputError, match="no interval of its own") as caught:
        repair_due("A", date(2027, 1, 1))
    assert "remarks" in caught.value.hint


@pytest.mark.parametrize("category", ["A", "B", "C", "D"])
def test_a_stated_day_before_discovery_is_refused(category: str) -> None:
    """A stated last day cannot precede the discovery."""
    with pytest.raises(InputError, match="precedes the discovery"):
        repair_due(category, date(2027, 1, 2), date(2027, 1, 1))


@pytest.mark.parametrize(
    ("stated", "due"),
    [
        (date(2027, 2, 4), date(2027, 2, 4)),
        (date(2027, 2, 5), date(2027, 2, 5)),
        (date(2027, 2, 6), date(2027, 2, 5)),
    ],
)
def test_a_stated_day_only_tightens(stated: date, due: date) -> None:
    """For B, C and D an earlier stated day counts and a later one does not."""
    assert repair_due("C", date(2027, 1, 26), stated) == due


@pytest.mark.parametrize("text", ["", "E", "AB", "0", "none"])
def test_an_unknown_category_is_refused(text: str) -> None:
    """Categories are A, B, C and D."""
    with pytest.raises(InputError, match="no repair category"):
        parse_category(text)
    with pytest.raises(InputError, match="no repair category"):
        repair_due(text, date(2027, 1, 1))


def test_a_category_is_read_in_either_case() -> None:
    """A category is read with spaces and in lower case."""
    assert parse_category(" c ") is Category.C


@pytest.mark.parametrize(
    ("category", "length", "due"),
    [
        ("B", 1, date(2027, 1, 30)),
        ("B", 3, date(2027, 2, 1)),
        ("C", 10, date(2027, 2, 8)),
        ("D", 120, date(2027, 5, 29)),
    ],
)
def test_extension_of_at_most_the_same_length(category: str, length: int, due: date) -> None:
    """ORO.MLR.105(f): B, C and D may be extended once, by at most the same duration."""
    assert extended_due(date(2027, 1, 29), category, length, ONCE) == due


@pytest.mark.parametrize(
    ("category", "length"), [("B", 0), ("B", 4), ("C", 11), ("D", 121), ("C", -1)]
)
def test_an_extension_too_long_or_empty_is_refused(category: str, length: int) -> None:
    """An extension has 1 day at least and the interval's length at most."""
    with pytest.raises(InputError, match="out of range"):
        extended_due(date(2027, 1, 29), category, length, ONCE)


def test_a_second_extension_is_refused() -> None:
    """A deferral that has been extended once may not be extended again."""
    with pytest.raises(InputError, match="extended 1 time"):
        extended_due(date(2027, 1, 29), "B", 1, ONCE, granted_before=1)


@pytest.mark.parametrize("code", sorted(AUTHORITIES))
def test_category_a_is_extended_nowhere(code: str) -> None:
    """No authority's policy extends category A, not even one that named it."""
    policy = authority(code).extension_policy
    assert Category.A not in policy.categories
    with pytest.raises(InputError, match="may not be extended"):
        extended_due(date(2027, 1, 29), "A", 1, policy)
    careless = ExtensionPolicy(categories=tuple(Category), times=1, source=source("practice"))
    with pytest.raises(InputError, match="may not be extended"):
        extended_due(date(2027, 1, 29), "A", 1, careless)


#: Categories whose intervals may be extended.
EXTENDED = [
    # FAA, with operations specifications: B and C (from memory).
    ("us-135", "BC"),
    ("us-91", ""),
    # ORO.MLR.105(f): published. It is of Part-ORO, which does not bind operators under Part-NCO.
    ("eu-cat", "BCD"),
    ("eu-nco", ""),
    ("uk-cat", "BCD"),
    ("uk-nco", ""),
    # Rules whose wording was not read allow none.
    ("au-91", ""),
    ("nz-91", ""),
]


@pytest.mark.parametrize(("code", "allowed"), EXTENDED)
def test_each_policy_extends_its_categories_only(code: str, allowed: str) -> None:
    """A category outside the authority's policy is refused with the ones inside it."""
    policy = authority(code).extension_policy
    for category in "BCD":
        if category in allowed:
            assert extended_due(date(2027, 1, 1), category, 1, policy) == date(2027, 1, 2)
        else:
            with pytest.raises(InputError, match="may not be extended"):
                extended_due(date(2027, 1, 1), category, 1, policy)


@given(category=categories, first=days, second=days)
@settings(max_examples=60)
def test_due_days_are_monotone(category: Category, first: date, second: date) -> None:
    """What is found later is never due earlier."""
    first, second = min(first, second), max(first, second)
    assert repair_due(category, first) <= repair_due(category, second)


@given(category=categories, found=days, length=st.integers(1, 120))
@settings(max_examples=60)
def test_an_extension_never_more_than_doubles(category: Category, found: date, length: int) -> None:
    """From discovery to the extended day are at most two intervals."""
    interval = INTERVAL_DAYS[category].value
    due = extended_due(repair_due(category, found), category, min(length, interval), ONCE)
    assert due - found <= timedelta(days=2 * interval)


def test_no_authority_is_left_out() -> None:
    """Each has its row in the table."""
    leaves_none_out({row[0] for row in EXTENDED}, "EXTENDED")
