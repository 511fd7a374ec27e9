"""Calendar months, interval days, days left and days ahead.

Sources: the calendar. Repair days: FAA MMEL Policy Letter 25, read second-hand. Calendar months:
the FAA's reading of 14 CFR 91.411, from memory.
"""

import calendar
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from rvsmlog import dates
from rvsmlog.errors import InputError

days = st.dates(date(1950, 1, 1), date(2150, 12, 31))
months = st.integers(0, 120)


@pytest.mark.parametrize(
    ("day", "last"),
    [
        (date(2027, 2, 1), date(2027, 2, 28)),
        (date(2028, 2, 29), date(2028, 2, 29)),
        (date(2100, 2, 10), date(2100, 2, 28)),
        (date(2027, 4, 30), date(2027, 4, 30)),
        (date(2027, 12, 31), date(2027, 12, 31)),
    ],
)
def test_ends_of_months(day: date, last: date) -> None:
    """A month ends as the calendar says."""
    assert dates.end_of_month(day) == last


@pytest.mark.parametrize(
    ("done", "count", "due"),
    [
        # A test of 10 March 2024 counts up to and including 31 March 2026.
        (date(2024, 3, 10), 24, date(2026, 3, 31)),
        (date(2024, 3, 1), 24, date(2026, 3, 31)),
        (date(2024, 3, 31), 24, date(2026, 3, 31)),
        (date(2024, 4, 1), 24, date(2026, 4, 30)),
        # Into and out of leap Februaries.
        (date(2024, 2, 29), 24, date(2026, 2, 28)),
        (date(2026, 2, 28), 24, date(2028, 2, 29)),
        (date(2024, 12, 31), 2, date(2025, 2, 28)),
        (date(2024, 5, 5), 0, date(2024, 5, 31)),
    ],
)
def test_calendar_months(done: date, count: int, due: date) -> None:
    """A calendar month runs to its end."""
    assert dates.calendar_months_due(done, count) == due


@given(done=days, count=months)
@settings(max_examples=100)
def test_calendar_months_by_counting(done: date, count: int) -> None:
    """The due day is the last of the month that counting months by hand arrives at."""
    year, month = done.year, done.month
    for _ in range(count):
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
    last = calendar.monthcalendar(year, month)[-1]
    assert dates.calendar_months_due(done, count) == date(year, month, max(last))


@given(
    day=st.one_of(st.dates(), st.datetimes(timezones=st.just(UTC))),
    count=st.one_of(st.integers(-1300, 1300), st.sampled_from((-120_000, 120_000))),
)
@example(day=date(2024, 2, 29), count=12)
@example(day=date(9999, 12, 31), count=1)
@example(day=date(1, 1, 31), count=-1)
@settings(max_examples=300)
def test_months_as_the_calendar_counts_them(day: date, count: int) -> None:
    """The same day or a shorter month's last, and no day where there is no such year.

    The standard library's calendar says how long a month is.
    """
    year, month = divmod(day.year * 12 + day.month - 1 + count, 12)
    if not date.min.year <= year <= date.max.year:
        with pytest.raises(ValueError, match="year"):
            dates.months_later(day, count)
        return
    longest = calendar.monthrange(year, month + 1)[1]
    expected = (year, month + 1, min(day.day, longest))
    assert dates.months_later(day, count).timetuple()[:3] == expected


@given(first=days, second=days, count=months)
@settings(max_examples=100)
def test_due_days_are_monotone(first: date, second: date, count: int) -> None:
    """What is done later is never due earlier, by any of the three ways of counting."""
    first, second = min(first, second), max(first, second)
    for due in (dates.calendar_months_due, dates.months_later, dates.interval_due):
        assert due(first, count) <= due(second, count)


@given(done=days, count=months)
@settings(max_examples=100)
def test_calendar_months_are_never_the_shorter_reading(done: date, count: int) -> None:
    """To the end of the month is never before the same day of the month, nor a month beyond it."""
    same_day = dates.months_later(done, count)
    due = dates.calendar_months_due(done, count)
    assert same_day <= due <= same_day + timedelta(days=30)


@pytest.mark.parametrize(
    ("day", "count", "later"),
    [
        (date(2027, 3, 14), 6, date(2027, 9, 14)),
        (date(2027, 8, 31), 6, date(2028, 2, 29)),
        (date(2026, 8, 31), 6, date(2027, 2, 28)),
        (date(2028, 2, 29), 12, date(2029, 2, 28)),
        (date(2028, 2, 29), 48, date(2032, 2, 29)),
        (date(2027, 12, 31), 2, date(2028, 2, 29)),
    ],
)
def test_months_later(day: date, count: int, later: date) -> None:
    """The same day of a later month, or that month's last where it has no such day."""
    assert dates.months_later(day, count) == later


@pytest.mark.parametrize(
    ("found", "length", "due"),
    [
        # Policy Letter 25: found on 26 January; B ends with the 29th, C with 5 February.
        (date(2027, 1, 26), 3, date(2027, 1, 29)),
        (date(2027, 1, 26), 10, date(2027, 2, 5)),
        (date(2028, 2, 28), 3, date(2028, 3, 2)),
        (date(2027, 2, 28), 3, date(2027, 3, 3)),
        (date(2027, 12, 31), 3, date(2028, 1, 3)),
    ],
)
def test_interval_days(found: date, length: int, due: date) -> None:
    """The day of discovery does not count."""
    assert dates.interval_due(found, length) == due


def test_a_repair_interval_across_the_date_line() -> None:
    """Found at one instant, three days end a day apart on the two sides of the date line."""
    found = datetime(2027, 1, 26, 10, 30, tzinfo=UTC)
    west = dates.interval_due(dates.local_day(found, "Pacific/Kiritimati"), 3)
    east = dates.interval_due(dates.local_day(found, "Pacific/Pago_Pago"), 3)
    assert (west, east) == (date(2027, 1, 30), date(2027, 1, 28))


@pytest.mark.parametrize(
    ("on", "left"), [(date(2028, 2, 28), 2), (date(2028, 3, 1), 0), (date(2028, 3, 2), -1)]
)
def test_days_left(on: date, left: int) -> None:
    """Nought on the due day itself, negative once past; a leap day counts."""
    assert dates.days_left(date(2028, 3, 1), on) == left


@pytest.mark.parametrize(
    ("text", "day", "ahead"),
    [
        ("0d", date(2027, 3, 14), date(2027, 3, 14)),
        ("90d", date(2026, 11, 24), date(2027, 2, 22)),
        ("90d", date(2027, 12, 1), date(2028, 2, 29)),
        (" 2W ", date(2028, 2, 20), date(2028, 3, 5)),
        ("1m", date(2027, 1, 31), date(2027, 2, 28)),
        ("6m", date(2027, 8, 31), date(2028, 2, 29)),
        # Ten years are the most, to the day.
        ("120m", date(2028, 2, 29), date(2038, 2, 28)),
        ("3653d", date(2027, 3, 14), date(2037, 3, 14)),
    ],
)
def test_days_ahead(text: str, day: date, ahead: date) -> None:
    """Days and weeks by the calendar, months to the same day or the end of a shorter one."""
    assert dates.day_ahead(text, day) == ahead


@pytest.mark.parametrize(
    "text", ["", "d", "90", "90 d", "-1d", "+1d", "1.5m", "1y", "٣d", "121m", "3654d", "99999w"]
)
def test_no_days_ahead(text: str) -> None:
    """A number with d, w or m, ten years at the most."""
    with pytest.raises(InputError):
        dates.day_ahead(text, date(2027, 3, 14))
