"""Short forms of answers: each has one meaning only."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.cli.answers import chosen, in_own_unit, moment
from rvsmlog.errors import InputError
from rvsmlog.records.fields import Choice
from rvsmlog.records.flights import PHASES

NOW = datetime(2024, 5, 2, 10, 30, 15, tzinfo=UTC)
MOMENTS = st.datetimes(datetime(2000, 1, 1), datetime(2099, 1, 1)).map(  # noqa: DTZ001  # made aware
    lambda each: each.replace(tzinfo=UTC)
)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("now", datetime(2024, 5, 2, 10, 30, tzinfo=UTC)),
        ("10:30Z", datetime(2024, 5, 2, 10, 30, tzinfo=UTC)),
        ("1030z", datetime(2024, 5, 2, 10, 30, tzinfo=UTC)),
        ("10:31Z", datetime(2024, 5, 1, 10, 31, tzinfo=UTC)),
        ("23:59Z", datetime(2024, 5, 1, 23, 59, tzinfo=UTC)),
        ("2024-04-30T12:00+10:00", datetime(2024, 4, 30, 2, tzinfo=UTC)),
    ],
)
def test_a_time_of_day_is_the_last_one(typed: str, meant: datetime) -> None:
    """Without a check before, 10:31Z at half past ten was yesterday."""
    assert moment(typed, NOW) == meant


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("23:50Z", datetime(2024, 1, 1, 23, 50, tzinfo=UTC)),
        ("00:40Z", datetime(2024, 1, 2, 0, 40, tzinfo=UTC)),
        ("11:40Z", datetime(2024, 1, 2, 11, 40, tzinfo=UTC)),
        ("11:41Z", datetime(2024, 1, 1, 11, 41, tzinfo=UTC)),
    ],
)
def test_after_a_check_it_is_the_nearest_to_it(typed: str, meant: datetime) -> None:
    """A flight over midnight goes on in the next day, whatever the day of entry is."""
    assert moment(typed, NOW, datetime(2024, 1, 1, 23, 40, tzinfo=UTC)) == meant


@settings(max_examples=50, derandomize=True)
@given(MOMENTS, MOMENTS, st.integers(0, 23), st.integers(0, 59))
def test_a_time_of_day_lies_within_a_day(
    now: datetime, near: datetime, hour: int, minute: int
) -> None:
    """In the past day, or within half a day of the check before."""
    typed = f"{hour:02}:{minute:02}Z"
    assert timedelta(0) <= now - moment(typed, now) < timedelta(days=1)
    assert abs(moment(typed, now, near) - near) <= timedelta(hours=12)


@pytest.mark.parametrize("typed", ["10:30", "24:00Z", "10:60Z", "9:30Z", "noon", "10:30L", ""])
def test_a_time_without_its_zone_is_refused(typed: str) -> None:
    """10:30 may be UTC or local: it is asked again, not guessed."""
    with pytest.raises(InputError):
        moment(typed, NOW)


@pytest.mark.parametrize(
    ("typed", "phase"),
    [
        ("1", "ground"),
        ("6", "after-flight"),
        ("hou", "hourly"),
        ("LEVEL", "level"),
        ("b", "before-entry"),
    ],
)
def test_a_choice_may_be_a_number_or_a_beginning(typed: str, phase: str) -> None:
    """Numbers count from 1 in the order shown."""
    assert chosen(Choice("phase", words=PHASES), typed) == phase


@pytest.mark.parametrize("typed", ["0", "7", "le", "", "cruise"])
def test_what_may_be_several_is_refused(typed: str) -> None:
    """`le` may be level or leaving."""
    with pytest.raises(InputError):
        chosen(Choice("phase", words=PHASES), typed)


@pytest.mark.parametrize(
    ("typed", "hpa"),
    # ICAO Doc 8896 and every altimeter setting table print 29.92 inHg beside 1013 hPa, 28.00
    # beside 948 and 31.00 beside 1050 (from memory).
    [
        ("29.92 inHg", 1013),
        ("28.00inhg", 948),
        ("31.00 INHG", 1050),
        ("1013 hPa", 1013),
        ("998mb", 998),
    ],
)
def test_a_pressure_with_its_unit_is_converted(typed: str, hpa: int) -> None:
    """To the hectopascal of the printed table."""
    assert float(in_own_unit("qnh_hpa", typed)) == pytest.approx(hpa, abs=0.5)


def test_only_pressures_are_touched() -> None:
    """Text that looks like a pressure stays as it is in other fields."""
    assert in_own_unit("remarks", "29.92 inHg") == "29.92 inHg"
    assert in_own_unit("qnh_hpa", "1013.2") == "1013.2"
    with pytest.raises(InputError, match="looks like inches"):
        in_own_unit("qnh_hpa", "29.92")
