"""Field types that the trade gives their meaning: instants, days, levels, entry numbers."""

import re
from datetime import UTC, date, datetime, timedelta

from rvsmlog import dates, units
from rvsmlog.errors import InputError, StoreError
from rvsmlog.frozen import dataclass
from rvsmlog.records.fields import FieldType, Scalar, Storage, check_pairs

#: Entry numbers have 12 digits at most.
_MOST_ENTRIES = 10**12
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)


def instant_to_scalar(value: datetime) -> int:
    """Give the microseconds since 1970-01-01T00:00Z of an aware instant.

    Raises
    ------
    InputError
        When the instant is naive: an unknown offset is lost evidence.
    """
    if value.utcoffset() is None:
        raise InputError(f"{value!r} has no time zone", "give an aware instant")
    return (value - _EPOCH) // _MICROSECOND


def scalar_to_instant(scalar: int) -> datetime:
    """Give the aware UTC instant of microseconds since 1970-01-01T00:00Z."""
    return _EPOCH + scalar * _MICROSECOND  # a multiple is made faster than a duration anew


def stored_instant(scalar: int) -> datetime:
    """Give the instant of a time of entry out of the store.

    Raises
    ------
    StoreError
        When it is none: the store was damaged or changed.
    """
    try:
        return scalar_to_instant(scalar)
    except (TypeError, OverflowError):
        raise StoreError(
            f"the store is damaged: the time of an entry is {scalar!r}",
            "run `rvsmlog store verify`; restore the newest backup",
        ) from None


@dataclass(frozen=True, slots=True)
class Instant(FieldType[datetime]):
    """An aware UTC instant."""

    @property
    def storage(self) -> Storage:
        """The column type: microseconds since 1970 in UTC, alike in every database."""
        return Storage.INTEGER

    @property
    def wanted(self) -> str:
        """What to write."""
        return "a date and time with Z or an offset, for example 2027-03-14T02:30Z"

    def parse(self, text: str) -> datetime:
        """Read ISO 8601 with ``Z`` or an offset."""
        return dates.parse_instant(text)

    def check(self, value: datetime) -> None:
        """Refuse what is naive or out of range."""
        dates.check_instant(value)

    def to_scalar(self, value: datetime) -> Scalar:
        """Give microseconds since 1970."""
        return instant_to_scalar(value)

    def from_scalar(self, scalar: Scalar) -> datetime:
        """Give the aware UTC instant."""
        return scalar_to_instant(int(scalar))

    def show(self, value: datetime) -> str:
        """Write ISO 8601 in UTC, to the microsecond where it has any."""
        if value.microsecond:
            return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
        return dates.show_instant(value)


@dataclass(frozen=True, slots=True)
class Day(FieldType[date]):
    """A calendar date in the operator's time zone."""

    @property
    def storage(self) -> Storage:
        """The column type: ISO 8601 text."""
        return Storage.TEXT

    @property
    def wanted(self) -> str:
        """What to write."""
        return "a date, for example 2027-03-14"

    def parse(self, text: str) -> date:
        """Read year-month-day."""
        return dates.parse_date(text)

    def check(self, value: date) -> None:
        """Refuse what is no plain date or out of range."""
        dates.check_date(value)

    def to_scalar(self, value: date) -> Scalar:
        """Give ISO 8601 text."""
        return value.isoformat()

    def from_scalar(self, scalar: Scalar) -> date:
        """Give the date."""
        return date.fromisoformat(str(scalar))

    def show(self, value: date) -> str:
        """Write ISO 8601."""
        return value.isoformat()


@dataclass(frozen=True, slots=True)
class Level(FieldType[int]):
    """A flight level, hundreds of feet."""

    @property
    def storage(self) -> Storage:
        """The column type."""
        return Storage.INTEGER

    @property
    def wanted(self) -> str:
        """What to write."""
        return "a flight level such as 310 or FL310"

    def parse(self, text: str) -> int:
        """Read ``310`` or ``FL310``."""
        return units.parse_level(text)

    def check(self, value: int) -> None:
        """Refuse levels outside 1 to 660."""
        if isinstance(value, bool) or not isinstance(value, int):
            raise InputError(f"{value!r} is no flight level", f"write {self.wanted}")
        if not 0 < value <= units.HIGHEST_LEVEL:
            raise InputError(f"flight level {value} is out of range", f"write {self.wanted}")


@dataclass(frozen=True, slots=True)
class EntryNumber(FieldType[int]):
    """The number of an earlier entry in the same logbook.

    Parameters
    ----------
    kinds : tuple of str
        Which kinds of entry it may name; empty for any.
    once : bool
        Whether an entry may be named so only once: nothing is removed twice.
    """

    kinds: tuple[str, ...] = ()
    once: bool = False

    @property
    def storage(self) -> Storage:
        """The column type."""
        return Storage.INTEGER

    @property
    def wanted(self) -> str:
        """What to write."""
        return "the number of an entry" + (f" ({' or '.join(self.kinds)})" if self.kinds else "")

    def parse(self, text: str) -> int:
        """Read a number, with or without ``#`` before it."""
        stripped = text.strip().removeprefix("#")
        if not re.fullmatch(r"\d{1,12}", stripped, re.ASCII) or int(stripped) < 1:
            raise InputError(f"{text.strip()!r} is no entry number", f"write {self.wanted}")
        return int(stripped)

    def check(self, value: int) -> None:
        """Refuse what is no positive whole number."""
        if isinstance(value, bool) or not isinstance(value, int) or not 0 < value < _MOST_ENTRIES:
            raise InputError(f"{value!r} is no entry number", f"write {self.wanted}")


@dataclass(frozen=True, slots=True)
class LevelTable(FieldType[tuple[tuple[int, int], ...]]):
    """Whole numbers by flight level, for example a tolerance in feet: ``290:120 350:150``."""

    low: int = 1
    high: int = 2000
    sample: str = "290:120,350:150"

    @property
    def storage(self) -> Storage:
        """The column type."""
        return Storage.TEXT

    @property
    def wanted(self) -> str:
        """What to write."""
        return (
            f"level:value pairs with rising levels, such as {self.sample} "
            f"(values from {self.low} to {self.high})"
        )

    def parse(self, text: str) -> tuple[tuple[int, int], ...]:
        """Read ``level:value`` pairs with commas or blanks between them."""
        rows = []
        for part in re.split(r"[,;\s]+", text.strip()):
            level, colon, value = part.partition(":")
            if not colon or not re.fullmatch(r"\d{1,6}", value, re.ASCII):
                raise InputError(f"{part!r} is no level:value pair", f"write {self.wanted}")
            rows.append((units.parse_level(level), int(value)))
        table = tuple(rows)
        self.check(table)
        return table

    def check(self, value: tuple[tuple[int, int], ...]) -> None:
        """Refuse what is no table, levels that do not rise and values out of bounds."""
        check_pairs(value, self.wanted)
        levels = [level for level, _ in value]
        if not value or levels != sorted(set(levels)):
            raise InputError("the levels do not rise", f"write {self.wanted}")
        for level, number in value:
            if not 0 < level <= units.HIGHEST_LEVEL or not self.low <= number <= self.high:
                raise InputError(f"{level}:{number} is out of range", f"write {self.wanted}")

    def to_scalar(self, value: tuple[tuple[int, int], ...]) -> Scalar:
        """Write the pairs with commas between."""
        return self.show(value)

    def from_scalar(self, scalar: Scalar) -> tuple[tuple[int, int], ...]:
        """Read the pairs back without judging them."""
        pairs = (part.split(":") for part in str(scalar).split(","))
        return tuple((int(level), int(number)) for level, number in pairs)

    def show(self, value: tuple[tuple[int, int], ...]) -> str:
        """Write the pairs with commas between."""
        return ",".join(f"{level}:{number}" for level, number in value)
