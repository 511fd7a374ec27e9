"""Field types of records: how a value is read, checked, stored and shown.

Each field of a record is declared once, as ``Annotated[type, FieldType(...)]``. From that
declaration come the column, the digest, the CSV column, the command-line option, the prompt and
the error text. A field type turns text into a value (:meth:`FieldType.parse`), a value into one
scalar that any database keeps unchanged (:meth:`FieldType.to_scalar`) and back.
"""

import math
import re
import unicodedata
from abc import ABC, abstractmethod
from decimal import Decimal
from enum import StrEnum
from typing import ClassVar, Generic, TypeVar

from rvsmlog.errors import InputError, did_you_mean
from rvsmlog.frozen import dataclass

Scalar = int | float | str
V = TypeVar("V")

#: Longest text a field takes; a remark longer than a page is a document, not a remark.
LONGEST_TEXT = 2000

#: Largest whole number of 18 digits; every database keeps it.
_LARGEST = 10**18 - 1
_WHOLE = re.compile(r"[+-]?\d{1,18}", re.ASCII)
#: No decimal number is as large: 13 digits before the point are read at the most.
BEYOND_REAL = 1e13
_REAL = re.compile(r"[+-]?\d{1,13}(\.\d*)?", re.ASCII)
# The Unicode categories Cc and Cs, less line feed and tab.
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]")


class Storage(StrEnum):
    """The three column types that SQLite and PostgreSQL keep alike."""

    INTEGER = "integer"
    REAL = "real"
    TEXT = "text"


@dataclass(frozen=True, slots=True)
class FieldType(ABC, Generic[V]):
    """What one field holds.

    Parameters
    ----------
    help : str
        What the field means, in the words of the trade, with its unit.
    """

    #: The types of the scalars that are their own values.
    plain: ClassVar[tuple[type, ...]] = (int,)

    help: str

    @property
    @abstractmethod
    def storage(self) -> Storage:
        """The column type."""

    @property
    @abstractmethod
    def wanted(self) -> str:
        """What a reader should write, for error texts and help."""

    @abstractmethod
    def parse(self, text: str) -> V:
        """Read a value from text, or raise :class:`InputError`."""

    @abstractmethod
    def check(self, value: V) -> None:
        """Raise :class:`InputError` when a value is not allowed."""

    def to_scalar(self, value: V) -> Scalar:
        """Give the scalar that the store keeps."""
        return value  # type: ignore[return-value]  # whole, real and text are their own scalars

    def from_scalar(self, scalar: Scalar) -> V:
        """Give the value back from the stored scalar.

        Raises
        ------
        TypeError, ValueError
            When it is none that is stored: a database file that was changed may hold anything.
        """
        if type(scalar) not in self.plain:
            raise TypeError(f"{scalar!r} is no {self.plain[0].__name__}")
        return scalar  # type: ignore[return-value]  # whole, real and text are their own scalars

    def show(self, value: V) -> str:
        """Write a value so that :meth:`parse` reads it back."""
        return str(value)


@dataclass(frozen=True, slots=True)
class Whole(FieldType[int]):
    """A whole number between two bounds, with its unit in the help text."""

    low: int = -_LARGEST
    high: int = _LARGEST

    @property
    def storage(self) -> Storage:
        """The column type."""
        return Storage.INTEGER

    @property
    def wanted(self) -> str:
        """What to write."""
        return f"a whole number from {self.low} to {self.high}"

    def parse(self, text: str) -> int:
        """Read a whole number; a decimal part is refused rather than rounded."""
        stripped = text.strip()
        if not _WHOLE.fullmatch(stripped):
            raise InputError(f"{stripped!r} is no whole number", f"write {self.wanted}")
        value = int(stripped)
        self.check(value)
        return value

    def check(self, value: int) -> None:
        """Refuse a number outside the bounds."""
        if isinstance(value, bool) or not isinstance(value, int):
            raise InputError(f"{value!r} is no whole number", f"write {self.wanted}")
        if not self.low <= value <= self.high:
            raise InputError(f"{value} is out of range", f"write {self.wanted}")


@dataclass(frozen=True, slots=True)
class Real(FieldType[float]):
    """A decimal number between two bounds."""

    plain: ClassVar[tuple[type, ...]] = (float, int)

    low: float = -1e12
    high: float = 1e12

    @property
    def storage(self) -> Storage:
        """The column type."""
        return Storage.REAL

    @property
    def wanted(self) -> str:
        """What to write."""
        return f"a number from {self.low:g} to {self.high:g}"

    def parse(self, text: str) -> float:
        """Read a decimal number written with a point."""
        stripped = text.strip()
        if not _REAL.fullmatch(stripped):
            raise InputError(f"{stripped!r} is no number", f"write {self.wanted}")
        value = float(stripped)
        self.check(value)
        return value

    def check(self, value: float) -> None:
        """Refuse what is not finite or is outside the bounds."""
        if (
            isinstance(value, bool)
            or not isinstance(value, int | float)
            or not math.isfinite(value)
        ):
            raise InputError(f"{value!r} is no number", f"write {self.wanted}")
        if not self.low <= value <= self.high:
            raise InputError(f"{value:g} is out of range", f"write {self.wanted}")

    def to_scalar(self, value: float) -> Scalar:
        """Give a float, with minus zero made plain zero so that digests agree."""
        return float(value) + 0.0

    def from_scalar(self, scalar: Scalar) -> float:
        """Give the number back; one that is not finite, or beyond all reason, is damage."""
        value: float = FieldType.from_scalar(self, scalar)
        if not abs(value) < BEYOND_REAL:
            raise ValueError(f"{scalar!r} is no number")
        return value

    def show(self, value: float) -> str:
        """Write the shortest digits that read back to the same number."""
        digits = format(Decimal(repr(self.to_scalar(value))), "f")
        return digits.rstrip("0").rstrip(".") if "." in digits else digits


@dataclass(frozen=True, slots=True)
class Text(FieldType[str]):
    """Text without control characters, trimmed."""

    plain: ClassVar[tuple[type, ...]] = (str,)

    longest: int = LONGEST_TEXT
    pattern: str = ""
    example: str = ""
    upper: bool = False

    @property
    def storage(self) -> Storage:
        """The column type."""
        return Storage.TEXT

    @property
    def wanted(self) -> str:
        """What to write."""
        if self.example:
            return f"text such as {self.example}"
        return f"text of up to {self.longest} characters"

    def parse(self, text: str) -> str:
        """Trim, bring to one Unicode form and check."""
        value = text.strip()
        if self.upper:
            value = value.upper()
        # Last, for capitals of some letters come in several parts.
        value = unicodedata.normalize("NFC", value)
        self.check(value)
        return value

    def check(self, value: str) -> None:
        """Refuse what is empty, too long, of the wrong form, or holds control characters."""
        if not isinstance(value, str) or not value.strip():
            raise InputError("the text is empty", f"write {self.wanted}")
        if len(value) > self.longest:
            raise InputError(
                f"the text has {len(value)} characters",
                f"write {self.wanted}, {self.longest} at most",
            )
        control = _CONTROL.search(value)
        if control is not None:
            raise InputError(
                f"the text holds the control character U+{ord(control.group()):04X}",
                "write plain text",
            )
        if self.pattern and not re.fullmatch(self.pattern, value, re.ASCII):
            raise InputError(f"{value!r} is not of the right form", f"write {self.wanted}")


@dataclass(frozen=True, slots=True)
class Choice(FieldType[str]):
    """One word out of a fixed list."""

    plain: ClassVar[tuple[type, ...]] = (str,)

    words: tuple[str, ...] = ()

    @property
    def storage(self) -> Storage:
        """The column type."""
        return Storage.TEXT

    @property
    def wanted(self) -> str:
        """What to write."""
        return "one of " + ", ".join(self.words)

    def parse(self, text: str) -> str:
        """Read one of the words, in any case."""
        value = text.strip()
        for word in self.words:
            if value.lower() == word.lower():
                return str(word)
        near = did_you_mean(value, self.words)
        raise InputError(f"{value!r} is not known here", f"{near}write {self.wanted}")

    def check(self, value: str) -> None:
        """Refuse any other word."""
        if value not in self.words:
            raise InputError(f"{value!r} is not known here", f"write {self.wanted}")

    def from_scalar(self, scalar: Scalar) -> str:
        """Give the word; what reads it knows no other."""
        if scalar not in self.words:
            raise ValueError(f"{scalar!r} is not known here")
        return scalar


@dataclass(frozen=True, slots=True)
class Words(FieldType[tuple[str, ...]]):
    """Several different words out of a fixed list, kept in the list's order."""

    words: tuple[str, ...] = ()

    @property
    def storage(self) -> Storage:
        """The column type."""
        return Storage.TEXT

    @property
    def wanted(self) -> str:
        """What to write."""
        return "one or more of " + ", ".join(self.words) + ", with commas between"

    def parse(self, text: str) -> tuple[str, ...]:
        """Read words with commas or blanks between them."""
        by_lower = {word.lower(): word for word in self.words}
        found = []
        for part in re.split(r"[,;\s]+", text.strip()):
            if part.lower() not in by_lower:
                near = did_you_mean(part, self.words)
                raise InputError(f"{part!r} is not known here", f"{near}write {self.wanted}")
            found.append(by_lower[part.lower()])
        return tuple(word for word in self.words if word in found)

    def check(self, value: tuple[str, ...]) -> None:
        """Refuse an empty list and unknown words."""
        if (
            not isinstance(value, tuple)
            or not value
            or any(word not in self.words for word in value)
        ):
            raise InputError(f"{value!r} is not known here", f"write {self.wanted}")

    def to_scalar(self, value: tuple[str, ...]) -> Scalar:
        """Join with commas; the words hold none."""
        return ",".join(value)

    def from_scalar(self, scalar: Scalar) -> tuple[str, ...]:
        """Split at commas; what reads the words knows no others."""
        words = tuple(str(scalar).split(","))
        if any(word not in self.words for word in words):
            raise ValueError(f"{scalar!r} is not known here")
        return words

    def show(self, value: tuple[str, ...]) -> str:
        """Join with commas."""
        return ",".join(value)


def check_pairs(value: object, wanted: str) -> None:
    """Refuse what is no tuple of pairs of whole numbers.

    Raises
    ------
    InputError
        With what is wanted for a hint.
    """
    if not isinstance(value, tuple) or not all(
        isinstance(pair, tuple) and [type(number) for number in pair] == [int, int]
        for pair in value
    ):
        raise InputError(f"{value!r} is no table of pairs", f"write {wanted}")


@dataclass(frozen=True, slots=True)
class Flag(FieldType[bool]):
    """Yes or no."""

    @property
    def storage(self) -> Storage:
        """The column type."""
        return Storage.INTEGER

    @property
    def wanted(self) -> str:
        """What to write."""
        return "yes or no"

    def parse(self, text: str) -> bool:
        """Read yes or no."""
        word = text.strip().lower()
        if word in {"yes", "y", "true", "1"}:
            return True
        if word in {"no", "n", "false", "0"}:
            return False
        raise InputError(f"{text.strip()!r} is neither yes nor no", "write yes or no")

    def check(self, value: bool) -> None:
        """Refuse what is no truth value."""
        if not isinstance(value, bool):
            raise InputError(f"{value!r} is neither yes nor no", "write yes or no")

    def to_scalar(self, value: bool) -> Scalar:
        """Give 1 or 0."""
        return int(value)

    def from_scalar(self, scalar: Scalar) -> bool:
        """Give True for 1."""
        return bool(scalar)

    def show(self, value: bool) -> str:
        """Write yes or no."""
        return "yes" if value else "no"
