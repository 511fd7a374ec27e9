"""UTC instants, and calendar days in a time zone.

Sources: ISO 8601; the calendar; the tz database for zones. New Zealand Time Order 2007: clocks go
back at 3 a.m. daylight time on the first Sunday in April and forward at 2 a.m. on the last Sunday
in September. Samoa had no 30 December 2011.
"""

import re
from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo, available_timezones

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from rvsmlog import dates
from rvsmlog.errors import InputError

days = st.dates(date(1950, 1, 1), date(2150, 12, 31))
zones = st.sampled_from(
    ["UTC", "Pacific/Auckland", "Pacific/Kiritimati", "Pacific/Pago_Pago", "Asia/Kathmandu"]
)


def utc(
    year: int, month: int, day: int, hour: int = 0, minute: int = 0, second: int = 0
) -> datetime:
    """Give an instant in UTC."""
    return datetime(year, month, day, hour, minute, second, tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "instant"),
    [
        ("2027-03-14T02:30Z", utc(2027, 3, 14, 2, 30)),
        ("2027-03-14T02:30:45Z", utc(2027, 3, 14, 2, 30, 45)),
        (" 2027-03-14 02:30Z ", utc(2027, 3, 14, 2, 30)),
        # Across the date line, both ways, and a zone of quarter hours.
        ("2027-03-14T12:30+14:00", utc(2027, 3, 13, 22, 30)),
        ("2027-03-14T12:30-11:00", utc(2027, 3, 14, 23, 30)),
        ("2027-03-14T00:15+05:45", utc(2027, 3, 13, 18, 30)),
        ("2027-03-14T12:30-12:00", utc(2027, 3, 15, 0, 30)),
        ("2027-03-14T12:30+1245", utc(2027, 3, 13, 23, 45)),
        ("2027-03-14T12:30+05", utc(2027, 3, 14, 7, 30)),
        ("2027-03-14T12:30:15.5-03:30", utc(2027, 3, 14, 16, 0, 15).replace(microsecond=500_000)),
        # Leap day, and the day that 2027 has not.
        ("2028-02-29T23:59-01:00", utc(2028, 3, 1, 0, 59)),
        # Both ends of the range.
        ("1950-01-01T00:00Z", utc(1950, 1, 1)),
        ("2199-12-31T23:59:59Z", utc(2199, 12, 31, 23, 59, 59)),
    ],
)
def test_instants(text: str, instant: datetime) -> None:
    """An instant with an offset is read and turned into UTC."""
    parsed = dates.parse_instant(text)
    assert parsed == instant
    assert parsed.utcoffset() == timedelta(0)


def test_every_zone_of_the_tz_database_can_be_written() -> None:
    """What clocks were and are set to since 1950, at mid-winter and mid-summer of each year."""
    zones = [ZoneInfo(name) for name in available_timezones()]
    written = {
        (when, when.astimezone(zone).isoformat())
        for year in range(1950, 2038)
        for when in (datetime(year, 1, 15, 12, tzinfo=UTC), datetime(year, 7, 15, 12, tzinfo=UTC))
        for zone in zones
    }
    for when, local in written:
        offset = datetime.fromisoformat(local).utcoffset()
        if offset is not None and offset % timedelta(minutes=1) == timedelta(0):
            assert dates.parse_instant(local) == when, local


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("2027-03-14T02:30", "time zone"),
        ("2027-03-14", "neither time nor time zone"),
        ("", "no date and time"),
        ("tomorrow", "no date and time"),
        ("14/03/2027 02:30Z", "no date and time"),
        ("2027-02-29T00:00Z", "no date and time"),
        ("2027-03-14T24:00Z", "no date and time"),
        ("2027-03-14T02:60Z", "no date and time"),
        ("2027-03-14T02:30 UTC", "no date and time"),
        ("1949-12-31T23:59Z", "out of range"),
        ("2200-01-01T00:00Z", "out of range"),
        ("1950-01-01T00:00+00:01", "out of range"),
        ("0001-01-01T00:00+10:00", "out of range"),
        ("9999-12-31T23:59-10:00", "out of range"),
        # ISO 8601 writes an offset in hours and minutes, and an hour has sixty of these.
        ("2027-03-14T02:30+10:60", "no date and time|no such offset"),
        ("2027-03-14T02:30+1099", "no date and time|no such offset"),
        ("2027-03-14T02:30+10:00:30", "no such offset"),
        ("2027-03-14T02:30+00:00:00.5", "no date and time|no such offset"),
        # Twelve hours behind UTC and fourteen ahead are the ends of the zones in use.
        ("2027-03-14T02:30+14:01", "no clock on earth"),
        ("2027-03-14T02:30-12:01", "no clock on earth"),
        ("2027-03-14T02:30-14:00", "no clock on earth"),
        ("2027-03-14T02:30+23:59", "no clock on earth"),
    ],
)
def test_instants_refused(text: str, fault: str) -> None:
    """Text without an offset, that is no instant, or far from any flight, is refused."""
    with pytest.raises(InputError, match=fault) as caught:
        dates.parse_instant(text)
    assert caught.value.hint


@pytest.mark.parametrize(
    ("text", "follows"),
    [
        # A day alone: the hint writes the instant out.
        ("2027-03-14", r"(2027-03-14T\S+)"),
        ("2028-02-29", r"(2028-02-29T\S+)"),
        # A time without its zone: what the hint says to add is added.
        ("2027-03-14T02:30", r"add (Z)"),
        ("2027-03-14T02:30", r"such as (\+10:00)"),
        ("2027-03-14 02:30:45.5", r"add (Z)"),
        # No instant at all, and an offset that is none.
        ("tomorrow", r"(2027\S+Z)"),
        ("2027-03-14Z", r"(2027\S+Z)"),
    ],
)
def test_what_the_hint_says_is_taken(text: str, follows: str) -> None:
    """Whoever does what the hint says is not refused once more."""
    with pytest.raises(InputError) as caught:
        dates.parse_instant(text)
    found = re.search(follows, caught.value.hint)
    assert found, caught.value.hint
    written = found[1] if "-" in found[1] else text + found[1]
    parsed = dates.parse_instant(written)
    assert abs(parsed - datetime.fromisoformat(written)) == timedelta(0)


def test_a_day_alone_that_no_hint_can_mend_is_out_of_range() -> None:
    """With a time added it would still lie before 1950 or after 2199."""
    for text in ("1949-12-31", "2200-01-01", "1949-12-31T10:00", "9999-12-31"):
        with pytest.raises(InputError, match="out of range"):
            dates.parse_instant(text)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2027-03-14", date(2027, 3, 14)),
        (" 2028-02-29 ", date(2028, 2, 29)),
        ("2000-02-29", date(2000, 2, 29)),
        ("1950-01-01", date(1950, 1, 1)),
        ("2199-12-31", date(2199, 12, 31)),
    ],
)
def test_dates(text: str, day: date) -> None:
    """A calendar date is read."""
    assert dates.parse_date(text) == day


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "no calendar date"),
        ("2027-02-29", "no calendar date"),
        ("2100-02-29", "no calendar date"),
        ("2027-04-31", "no calendar date"),
        ("2027-13-01", "no calendar date"),
        ("2027-3-14", "no calendar date"),
        ("20270314", "no calendar date"),
        ("2027-W10-7", "no calendar date"),
        ("14-03-2027", "no calendar date"),
        ("2027-03-14T02:30Z", "no calendar date"),
        ("２０２７-03-14", "no calendar date"),
        ("1949-12-31", "out of range"),
        ("2200-01-01", "out of range"),
    ],
)
def test_dates_refused(text: str, fault: str) -> None:
    """A day the calendar has not, or written in another way, is refused."""
    with pytest.raises(InputError, match=fault) as caught:
        dates.parse_date(text)
    assert caught.value.hint


@given(seconds=st.integers(0, 250 * 365 * 86_400), minutes=st.integers(-840, 840))
@settings(max_examples=100)
def test_an_instant_survives_being_written(seconds: int, minutes: int) -> None:
    """An instant of whole seconds is read back from what is shown, whatever zone it was in."""
    somewhere = timezone(timedelta(minutes=minutes))
    aware = (utc(1950, 1, 1) + timedelta(seconds=seconds)).astimezone(somewhere)
    assert dates.parse_instant(dates.show_instant(aware)) == aware


@pytest.mark.parametrize(
    ("instant", "shown"),
    [
        (utc(2027, 3, 14, 2, 30), "2027-03-14T02:30Z"),
        (utc(2027, 3, 14, 2, 30, 5), "2027-03-14T02:30:05Z"),
        (
            datetime(2027, 3, 14, 12, 30, tzinfo=timezone(timedelta(hours=10))),
            "2027-03-14T02:30Z",
        ),
    ],
)
def test_instants_shown(instant: datetime, shown: str) -> None:
    """An instant is shown in UTC, to the minute unless it has seconds."""
    assert dates.show_instant(instant) == shown


def test_now_is_aware_and_utc() -> None:
    """The machine's clock is read as an aware UTC instant."""
    before, read, after = datetime.now(UTC), dates.now(), datetime.now(UTC)
    assert read.utcoffset() == timedelta(0)
    assert before <= read <= after


@pytest.mark.parametrize("name", ["UTC", "Pacific/Auckland", "Europe/London"])
def test_zones(name: str) -> None:
    """A zone of the tz database is found by its name."""
    assert dates.zone(name).key == name


@pytest.mark.parametrize(
    "name", ["", "NZDT", "Pacific/Atlantis", "../UTC", "/etc/localtime", "+10:00"]
)
def test_zones_refused(name: str) -> None:
    """A name that the tz database has not is refused, path tricks included."""
    with pytest.raises(InputError, match="no time zone") as caught:
        dates.zone(name)
    assert "IANA" in caught.value.hint


@pytest.mark.parametrize(
    ("instant", "zone", "day"),
    [
        # The same instant on three calendar days: UTC-11, UTC and UTC+14 span 25 hours.
        (utc(2027, 3, 14, 10, 30), "Pacific/Pago_Pago", date(2027, 3, 13)),
        (utc(2027, 3, 14, 10, 30), "UTC", date(2027, 3, 14)),
        (utc(2027, 3, 14, 10, 30), "Pacific/Kiritimati", date(2027, 3, 15)),
        # New Zealand's midnight is 11:00 UTC in daylight time, 12:00 in standard time.
        (utc(2027, 1, 26, 10, 59, 59), "Pacific/Auckland", date(2027, 1, 26)),
        (utc(2027, 1, 26, 11), "Pacific/Auckland", date(2027, 1, 27)),
        (utc(2027, 7, 26, 11, 59, 59), "Pacific/Auckland", date(2027, 7, 26)),
        (utc(2027, 7, 26, 12), "Pacific/Auckland", date(2027, 7, 27)),
        # Leap day.
        (utc(2028, 2, 28, 11), "Pacific/Auckland", date(2028, 2, 29)),
        (utc(2027, 2, 28, 11), "Pacific/Auckland", date(2027, 3, 1)),
        # Samoa went from 29 to 31 December 2011.
        (utc(2011, 12, 30, 9, 59, 59), "Pacific/Apia", date(2011, 12, 29)),
        (utc(2011, 12, 30, 10), "Pacific/Apia", date(2011, 12, 31)),
    ],
)
def test_local_days(instant: datetime, zone: str, day: date) -> None:
    """An instant falls on the day that the zone's calendar shows."""
    assert dates.local_day(instant, zone) == day


@pytest.mark.parametrize(
    ("day", "zone", "start", "hours"),
    [
        # New Zealand: the day the clocks go back has 25 hours, the day they go forward 23.
        (date(2027, 4, 4), "Pacific/Auckland", utc(2027, 4, 3, 11), 25),
        (date(2027, 9, 26), "Pacific/Auckland", utc(2027, 9, 25, 12), 23),
        (date(2027, 4, 5), "Pacific/Auckland", utc(2027, 4, 4, 12), 24),
        # Brazil's clocks went forward at midnight: 4 November 2018 began at one o'clock.
        (date(2018, 11, 4), "America/Sao_Paulo", utc(2018, 11, 4, 3), 23),
        # Cuba's go back from one o'clock to midnight: the first of the two midnights counts.
        (date(2025, 11, 2), "America/Havana", utc(2025, 11, 2, 4), 25),
        # The day that Samoa left out has no length.
        (date(2011, 12, 30), "Pacific/Apia", utc(2011, 12, 30, 10), 0),
        (date(2027, 3, 14), "UTC", utc(2027, 3, 14), 24),
    ],
)
def test_starts_of_days(day: date, zone: str, start: datetime, hours: int) -> None:
    """A day starts at its first instant, and lasts until the next one starts."""
    assert dates.start_of_day(day, zone) == start
    following = dates.start_of_day(day + timedelta(days=1), zone)
    assert following - start == timedelta(hours=hours)


@given(day=days, zone=zones)
@settings(max_examples=100)
def test_a_day_starts_on_itself(day: date, zone: str) -> None:
    """The first instant of a day falls on it, the instant before falls on an earlier one."""
    # The one day that a zone of the list has left out: Kiritimati moved across the date line.
    assume((zone, day) != ("Pacific/Kiritimati", date(1994, 12, 31)))
    start = dates.start_of_day(day, zone)
    assert dates.local_day(start, zone) == day
    assert dates.local_day(start - timedelta(seconds=1), zone) < day
