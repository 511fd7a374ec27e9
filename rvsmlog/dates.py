"""UTC instants, calendar days in a time zone, calendar months and interval days.

No function here reads the clock except :func:`now`, which only the outermost room calls.
"""

import re
from calendar import monthrange
from datetime import UTC, date, datetime, timedelta
from functools import cache, lru_cache
from typing import TypeVar
from zoneinfo import ZoneInfo, available_timezones

from dateutil.relativedelta import relativedelta

from rvsmlog.errors import InputError

D = TypeVar("D", bound=date)

_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_INSTANT = re.compile(r"\d{4}-\d{2}-\d{2}([T ]\d{2}:\d{2}|$)", re.ASCII)
_OFFSET = re.compile(r"(?:Z|([+-])(\d{2})(?::?([0-5]\d))?)$", re.ASCII | re.IGNORECASE)
#: What a clock on earth is set to: from twelve hours behind UTC to fourteen ahead, as the IANA
#: database has the zones of ships and of islands.
_WESTMOST, _EASTMOST = timedelta(hours=-12), timedelta(hours=14)
_AHEAD = re.compile(r"(\d{1,5})([dwm])", re.ASCII)
_DAYS = {"d": 1, "w": 7}
_EARLIEST = datetime(1950, 1, 1, tzinfo=UTC)
_LATEST = datetime(2200, 1, 1, tzinfo=UTC)


def now() -> datetime:
    """Read the machine's clock as an aware UTC instant."""
    return datetime.now(UTC)


def parse_instant(text: str) -> datetime:
    """Read an ISO 8601 instant that carries ``Z`` or an offset.

    Parameters
    ----------
    text : str
        For example ``2027-03-14T02:30Z`` or ``2027-03-14T12:30+10:00``.

    Returns
    -------
    datetime
        Aware, in UTC.

    Raises
    ------
    InputError
        When the text is no ISO 8601 instant, has no offset or one that no clock on earth is set
        to, or lies outside 1950 to 2199.

    Examples
    --------
    >>> parse_instant("2027-03-14T12:30+10:00").isoformat()
    '2027-03-14T02:30:00+00:00'
    """
    stripped = _stripped(text, "date and time")
    try:
        # fromisoformat also takes other separators and week dates; people mistype those.
        value = datetime.fromisoformat(stripped if _INSTANT.match(stripped) else "")
    except ValueError:
        raise InputError(
            f"{stripped!r} is no date and time", "write ISO 8601, for example 2027-03-14T02:30Z"
        ) from None
    _check_zone(stripped, value)
    try:
        value = value.astimezone(UTC)
    except OverflowError:
        raise InputError(f"{stripped!r} is out of range", "years run from 1950 to 2199") from None
    if not _EARLIEST <= value < _LATEST:
        raise InputError(f"{stripped!r} is out of range", "years run from 1950 to 2199")
    return value


def _check_zone(text: str, value: datetime) -> None:
    """Refuse an instant without a time zone, or with none that there is."""
    if value.tzinfo is not None:
        _check_offset(text, value.utcoffset())
    elif not _EARLIEST.year <= value.year < _LATEST.year:
        raise InputError(f"{text!r} is out of range", "years run from 1950 to 2199")
    elif _DAY.fullmatch(text):
        raise InputError(
            f"{text!r} has neither time nor time zone",
            f"write both, for example {text}T08:00Z for 08:00 UTC",
        )
    else:
        raise InputError(
            f"{text!r} does not say which time zone it is in",
            "add Z for UTC or an offset such as +10:00",
        )


def _check_offset(text: str, offset: timedelta | None) -> None:
    """Refuse an offset with seconds or 60 minutes and more, and one that no clock is set to."""
    if _OFFSET.search(text) is None:
        raise InputError(f"{text!r} has no such offset", "write Z, or hours and minutes: +10:00")
    if offset is None or not _WESTMOST <= offset <= _EASTMOST:
        raise InputError(
            f"{text!r} has an offset that no clock on earth is set to",
            "offsets run from -12:00 to +14:00; check the sign",
        )


def _stripped(text: object, what: str) -> str:
    """Give a text without blanks around it."""
    if not isinstance(text, str):
        raise InputError(f"{text!r} is no text of a {what}", "give it as text")
    return text.strip()


def check_instant(value: object) -> None:
    """Refuse what is given for an instant and is none that a log can be asked about.

    Raises
    ------
    InputError
        When it is no datetime, has no time zone, or lies outside 1950 to 2199.
    """
    if not isinstance(value, datetime):
        raise InputError(f"{value!r} is no instant", "give an aware datetime")
    if value.utcoffset() is None:
        raise InputError(
            f"{value.isoformat()} has no time zone",
            "an instant wants one: datetime(2027, 3, 14, 2, 30, tzinfo=UTC), or 2027-03-14T02:30Z",
        )
    if not _EARLIEST <= value < _LATEST:
        raise InputError(f"{value.isoformat()} is out of range", "years run from 1950 to 2199")


def check_date(value: object) -> None:
    """Refuse what is given for a calendar date and is none that a log can be asked about.

    Raises
    ------
    InputError
        When it is no plain date, or lies outside 1950 to 2199.
    """
    if isinstance(value, datetime) or not isinstance(value, date):
        raise InputError(f"{value!r} is no calendar date", "give a date, for example 2027-03-14")
    if not _EARLIEST.date() <= value < _LATEST.date():
        raise InputError(f"{value} is out of range", "years run from 1950 to 2199")


def parse_date(text: str) -> date:
    """Read an ISO 8601 calendar date such as ``2027-03-14``.

    Raises
    ------
    InputError
        When there is no such day, or it lies outside 1950 to 2199.
    """
    stripped = text.strip()
    try:
        # fromisoformat also takes week dates and dates without dashes; people mistype those.
        value = date.fromisoformat(stripped if _DAY.fullmatch(stripped) else "")
    except ValueError:
        raise InputError(
            f"{stripped!r} is no calendar date", "write year-month-day, for example 2027-03-14"
        ) from None
    if not _EARLIEST.date() <= value < _LATEST.date():
        raise InputError(f"{stripped!r} is out of range", "years run from 1950 to 2199")
    return value


def day_ahead(text: str, day: date) -> date:
    """Give the day that lies some days, weeks or calendar months after another.

    Parameters
    ----------
    text : str
        For example ``90d``, ``12w`` or ``6m``.
    day : date
        The day from which it counts.

    Raises
    ------
    InputError
        When it is no such time, or longer than ten years.

    Examples
    --------
    >>> day_ahead("6m", date(2027, 8, 31))
    datetime.date(2028, 2, 29)
    """
    stripped = text.strip().lower()
    found = _AHEAD.fullmatch(stripped)
    if found is None:
        raise InputError(
            f"{text.strip()!r} is no number of days", "write 90d, 12w or 6m: days, weeks, months"
        )
    count, unit = int(found[1]), found[2]
    try:
        ahead = months_later(day, count) if unit == "m" else day + timedelta(_DAYS[unit] * count)
    except (OverflowError, ValueError):
        ahead = date.max
    if ahead > months_later(day, 120):
        raise InputError(f"{stripped!r} is out of range", "ten years at the most, for example 90d")
    return ahead


def show_instant(value: datetime) -> str:
    """Write an instant in UTC to the minute, or to the second where it has seconds."""
    value = value.astimezone(UTC)
    shown = value.isoformat(timespec="seconds" if value.second else "minutes")
    return shown.removesuffix("+00:00") + "Z"


def zone(name: str) -> ZoneInfo:
    """Give the time zone of an IANA name.

    Raises
    ------
    InputError
        When there is no such zone.
    """
    if name not in _zones():
        raise InputError(
            f"{name!r} is no time zone", "write an IANA name such as Pacific/Auckland or UTC"
        )
    return ZoneInfo(name)


@cache
def _zones() -> frozenset[str]:
    """List the zones once: hundreds of files are looked at."""
    return frozenset(available_timezones())


# The rules ask for the days of the same few readings, flights and works over and over.
@lru_cache(maxsize=4096)
def local_day(instant: datetime, zone_name: str) -> date:
    """Give the calendar day on which an instant falls in a time zone."""
    return instant.astimezone(ZoneInfo(zone_name)).date()


# So is the beginning of the days that are looked ahead to.
@lru_cache(maxsize=4096)
def start_of_day(day: date, zone_name: str) -> datetime:
    """Give the UTC instant at which a calendar day begins in a time zone."""
    return datetime(day.year, day.month, day.day, tzinfo=ZoneInfo(zone_name)).astimezone(UTC)


def end_of_month(day: date) -> date:
    """Give the last day of the month in which a day lies."""
    return day.replace(day=monthrange(day.year, day.month)[1])


@lru_cache(maxsize=4096)
def calendar_months_due(done: date, months: int) -> date:
    """Give the last day on which something done within N preceding calendar months still counts.

    A calendar month runs to its end: a test of 10 March 2024 with 24 calendar months counts up to
    and including 31 March 2026.

    Examples
    --------
    >>> calendar_months_due(date(2024, 3, 10), 24)
    datetime.date(2026, 3, 31)
    """
    return end_of_month(months_later(done.replace(day=1), months))


def months_later(day: D, months: int) -> D:
    """Give the same day of the month, N months later (the month's last day where there is none).

    Raises
    ------
    ValueError
        When there is no such year.
    """
    return _months_later(day, months) if type(day) is date else day + relativedelta(months=months)


@lru_cache(maxsize=4096)
def _months_later(day: D, months: int) -> D:
    """Count months once; of an instant this would not do, as one of another zone equals it."""
    return day + relativedelta(months=months)


def interval_due(discovered: date, days: int) -> date:
    """Give the last day of a repair interval of N consecutive calendar days.

    The day of discovery does not count: found on 26 January, three days end with 29 January.

    Examples
    --------
    >>> interval_due(date(2027, 1, 26), 3)
    datetime.date(2027, 1, 29)
    """
    return discovered + timedelta(days=days)


def ago(days: int) -> str:
    """Say how many days ago: ``today``, ``1 day ago``, ``12 days ago``."""
    if days == 0:
        return "today"
    return f"{days} day{'' if days == 1 else 's'} ago"


def days_left(due: date, on: date) -> int:
    """Count the days from one day to a due day: 0 on the due day itself, negative once past."""
    return (due - on).days
