"""Short forms that a person may type: a pressure with its unit, a time of day, a choice's number.

Each has one meaning only; nothing is guessed.
"""

import re
from datetime import UTC, datetime, timedelta

from rvsmlog.dates import parse_instant, show_instant
from rvsmlog.errors import InputError
from rvsmlog.records.fields import Choice
from rvsmlog.units import inhg_to_hpa

_PRESSURE = re.compile(r"(\d{1,4}(?:\.\d{1,4})?)\s*(inhg|hpa|mb)", re.IGNORECASE | re.ASCII)
_NUMBER = re.compile(r"\d{1,4}(\.\d{1,4})?", re.ASCII)
#: Bare numbers between these bounds are inches of mercury on every aerodrome there is.
_INCHES = (25.0, 32.5)
_CLOCK = re.compile(r"([01]\d|2[0-3]):?([0-5]\d)Z", re.IGNORECASE | re.ASCII)
_HALF_A_DAY = timedelta(hours=12)


def in_own_unit(field: str, text: str) -> str:
    """Bring a pressure that names its unit to hectopascals, for fields that are in them.

    Parameters
    ----------
    field : str
        Name of the field; its end names its unit.
    text : str
        What was typed, for example ``29.92 inHg``.

    Raises
    ------
    InputError
        When a bare number can only be inches of mercury: a pressure names its unit.
    """
    stripped = text.strip()
    if not field.endswith("_hpa"):
        return text
    named = _PRESSURE.fullmatch(stripped)
    if named is not None:
        value, unit = named.groups()
        return f"{inhg_to_hpa(float(value)):.2f}" if unit.lower() == "inhg" else value
    if _NUMBER.fullmatch(stripped) and _INCHES[0] <= float(stripped) <= _INCHES[1]:
        hpa = inhg_to_hpa(float(stripped))
        raise InputError(
            f"{stripped} looks like inches of mercury, but hPa are wanted",
            f"write {stripped} inHg, or {hpa:.1f}",
        )
    return text


def moment(text: str, now: datetime, near: datetime | None = None) -> datetime:
    """Read an instant, or a time of day in UTC such as ``10:05Z``, or ``now``.

    Parameters
    ----------
    text : str
        What was typed.
    now : datetime
        The present instant, aware.
    near : datetime, optional
        The instant of the check before; a time of day is then the one nearest to it. Otherwise
        it is the last time that it was this time.

    Raises
    ------
    InputError
        When it is none of these.
    """
    stripped = text.strip()
    if stripped.lower() == "now":
        return now.replace(second=0, microsecond=0)
    clock = _CLOCK.fullmatch(stripped)
    if clock is None:
        return parse_instant(stripped)
    latest = now if near is None else near + _HALF_A_DAY
    on_the_day = latest.astimezone(UTC).replace(
        hour=int(clock[1]), minute=int(clock[2]), second=0, microsecond=0
    )
    return on_the_day if on_the_day <= latest else on_the_day - timedelta(days=1)


def chosen(choice: Choice, text: str) -> str:
    """Read a word of a choice, the beginning of one, or its number from 1.

    Raises
    ------
    InputError
        When it is none of these, or the beginning of several.
    """
    stripped = text.strip().lower()
    if stripped.isascii() and stripped.isdigit() and 1 <= int(stripped) <= len(choice.words):
        return choice.words[int(stripped) - 1]
    begun = [word for word in choice.words if stripped and word.lower().startswith(stripped)]
    if len(begun) > 1 and stripped not in begun:
        raise InputError(f"{text.strip()!r} may be {' or '.join(begun)}", "write more of the word")
    return begun[0] if len(begun) == 1 else choice.parse(text)


def check_past(instant: datetime, now: datetime, tolerance: timedelta) -> None:
    """Refuse what has not happened yet.

    Raises
    ------
    InputError
        When it lies ahead of the clock by more than the tolerance.
    """
    if instant > now + tolerance:
        raise InputError(
            f"{show_instant(instant)} is in the future",
            f"it is {show_instant(now)}; check the date and the time zone",
        )
