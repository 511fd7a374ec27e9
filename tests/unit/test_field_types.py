"""Field types: what they take as text, what they refuse, and the scalar that is kept."""

import math
import unicodedata
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rvsmlog.errors import InputError
from rvsmlog.records.fields import Choice, FieldType, Flag, Real, Text, Whole, Words
from rvsmlog.records.trade_fields import (
    Day,
    EntryNumber,
    Instant,
    Level,
    LevelTable,
    instant_to_scalar,
    scalar_to_instant,
)

WHOLE = Whole("feet", low=-100, high=100)
REAL = Real("hPa", low=-5, high=1100)
TEXT = Text("remark", longest=10)
CODE = Text("code", longest=8, upper=True)
CHOICE = Choice("phase", words=("ground", "before-entry"))
WORDS = Words("work", words=("altimeter", "static-port", "adc"))
TABLE = LevelTable("tolerance", low=20, high=200)
MICROSECONDS = st.integers(-631152000_000000, 7258118399_999999)  # 1950 to 2199


class Unsettled(tzinfo):
    """A zone that does not know its offset, as the library allows."""

    def utcoffset(self, _: datetime | None) -> None:
        """Give nothing."""

    def dst(self, _: datetime | None) -> None:
        """Give nothing."""

    def tzname(self, _: datetime | None) -> None:
        """Give nothing."""


READS = [
    (WHOLE, " +42 ", 42),
    (WHOLE, "-0", 0),
    (REAL, "1013.25", 1013.25),
    (REAL, "+0.5", 0.5),
    (REAL, "5.", 5.0),
    (TEXT, "  two words ", "two words"),
    (TEXT, "a\n\tb", "a\n\tb"),
    (CODE, "abc", "ABC"),
    (CHOICE, " Before-Entry", "before-entry"),
    (WORDS, "ADC, altimeter", ("altimeter", "adc")),
    (WORDS, "adc;adc", ("adc",)),
    (Flag("passed"), "YES", True),
    (Flag("passed"), "0", False),
    (Instant("then"), "2027-03-14T12:30+10:00", datetime(2027, 3, 14, 2, 30, tzinfo=UTC)),
    (Day("then"), "2024-02-29", date(2024, 2, 29)),
    (Level("level"), "fl310", 310),
    (EntryNumber("entry"), "#12", 12),
    (TABLE, "FL290:120, 350:150", ((290, 120), (350, 150))),
]
REFUSES = [
    (WHOLE, "101", "out of range"),
    (WHOLE, "1.5", "no whole number"),
    (WHOLE, "1e2", "no whole number"),
    (WHOLE, "1_0", "no whole number"),
    (WHOLE, "٣", "no whole number"),
    (WHOLE, "9" * 19, "no whole number"),
    (Whole("free"), "9" * 19, "no whole number"),
    (REAL, "nan", "no number"),
    (REAL, "inf", "no number"),
    (REAL, "1,5", "no number"),
    (REAL, "1e2", "no number"),
    (REAL, "1100.1", "out of range"),
    (TEXT, " ", "empty"),
    (TEXT, "x" * 11, "11 characters"),
    (TEXT, "a\x00b", r"control character U\+0000"),
    (TEXT, "a\x1bb", r"control character U\+001B"),
    (TEXT, "a\u0085b", r"control character U\+0085"),
    (TEXT, "a\ud800b", r"control character U\+D800"),
    (TEXT, "a\rb", r"control character U\+000D"),
    (CHOICE, "grund", "not known here"),
    (WORDS, "adc, tail", "'tail' is not known here"),
    (WORDS, "", "not known here"),
    (Flag("passed"), "maybe", "neither yes nor no"),
    (Instant("then"), "2027-03-14T12:30", "time zone"),
    (Instant("then"), "2027-03-14", "time zone"),
    (Instant("then"), "1949-12-31T23:59Z", "out of range"),
    (Day("then"), "2023-02-29", "no calendar date"),
    (Day("then"), "20270314", "no calendar date"),
    (Level("level"), "0", "out of range"),
    (Level("level"), "31000", "looks like feet"),
    (EntryNumber("entry"), "0", "no entry number"),
    (EntryNumber("entry"), "##1", "no entry number"),
    (TABLE, "350:150,290:120", "do not rise"),
    (TABLE, "290:120,290:130", "do not rise"),
    (TABLE, "290:10", "out of range"),
    (TABLE, "290=120", "no level:value pair"),
]


@pytest.mark.parametrize(("field", "text", "value"), READS)
def test_texts_that_are_read(field: FieldType[object], text: str, value: object) -> None:
    """A text in any usual writing is read, and what the type shows of it is read again."""
    read = field.parse(text)
    assert read == value
    assert type(read) is type(value)
    assert field.parse(field.show(read)) == value
    assert field.from_scalar(field.to_scalar(read)) == value


@pytest.mark.parametrize("stored", [math.inf, -math.inf, math.nan, 1e13, -1e13, 1e308])
def test_a_stored_number_beyond_all_bounds_is_damage(stored: float) -> None:
    """No such number is ever recorded, whatever the field: 13 digits are read at the most."""
    with pytest.raises(ValueError, match="is no number"):
        REAL.from_scalar(stored)
    assert [REAL.from_scalar(each) for each in (9e12, -9e12, 0)] == [9e12, -9e12, 0]


@pytest.mark.parametrize(("field", "text", "says"), REFUSES)
def test_texts_that_are_refused(field: FieldType[object], text: str, says: str) -> None:
    """What is out of range, of another form or unreadable is refused with what is wanted."""
    with pytest.raises(InputError, match=says) as error:
        field.parse(text)
    assert error.value.hint


@pytest.mark.parametrize(
    ("field", "value"),
    [
        (WHOLE, True),
        (WHOLE, 1.0),
        (WHOLE, "1"),
        (REAL, True),
        (REAL, math.nan),
        (REAL, math.inf),
        (REAL, "1"),
        (TEXT, 5),
        (TEXT, ""),
        (Flag("passed"), 1),
        (WORDS, ()),
        (WORDS, ("tail",)),
        (Instant("then"), datetime(2027, 3, 14, 2, 30)),  # noqa: DTZ001 - a naive one is meant
        (Instant("then"), datetime(2027, 3, 14, 2, 30, tzinfo=Unsettled())),
        (Instant("then"), date(2027, 3, 14)),
        (Day("then"), datetime(2027, 3, 14, tzinfo=UTC)),
        (Level("level"), True),
        (Level("level"), 661),
        (EntryNumber("entry"), 0),
        (TABLE, ()),
    ],
)
def test_values_that_are_refused(field: FieldType[object], value: object) -> None:
    """A value of another type or out of bounds is refused however it came."""
    with pytest.raises(InputError):
        field.check(value)


@given(MICROSECONDS, st.integers(-14 * 60, 14 * 60))
def test_instants_are_kept_to_the_microsecond(microseconds: int, minutes: int) -> None:
    """An instant in any offset is kept exactly and comes back in UTC."""
    instant = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=microseconds)
    local = instant.astimezone(timezone(timedelta(minutes=minutes)))
    assert instant_to_scalar(local) == microseconds
    back = scalar_to_instant(microseconds)
    assert (back, back.utcoffset()) == (instant, timedelta(0))
    field = Instant("then")
    assert field.parse(field.show(local)) == instant


def test_naive_instants_are_never_kept() -> None:
    """An instant without an offset has no scalar."""
    for naive in (
        datetime(2027, 3, 14, 2, 30),  # noqa: DTZ001 - a naive one is meant
        datetime(2027, 3, 14, 2, 30, tzinfo=Unsettled()),
    ):
        with pytest.raises(InputError, match="no time zone"):
            instant_to_scalar(naive)


def test_minus_zero_is_zero() -> None:
    """Minus zero and zero have one scalar, so that equal records have equal digests."""
    assert math.copysign(1, float(REAL.to_scalar(-0.0))) == 1
    assert math.copysign(1, float(REAL.to_scalar(REAL.parse("-0.0")))) == 1
    assert REAL.show(-0.0) == "0"


def test_whole_numbers_are_kept_as_decimal_numbers() -> None:
    """A whole number given for a decimal field is kept as one, as it is when typed."""
    assert isinstance(REAL.to_scalar(5), float)


@given(st.floats(-1e12, 1e12))
def test_decimal_numbers_read_back(value: float) -> None:
    """Every number is shown with digits, without an exponent, that read back to it."""
    field = Real("any")
    shown = field.show(value)
    assert "e" not in shown
    assert field.parse(shown) == value


@given(st.text(min_size=1, max_size=12))
def test_texts_have_one_form(text: str) -> None:
    """Texts that look alike are the same: composed, trimmed, and so again when read again."""
    for field in (Text("any"), Text("any", upper=True)):
        try:
            value = field.parse(text)
        except InputError:
            continue
        assert unicodedata.is_normalized("NFC", value)
        assert field.parse(value) == value


def test_accents_typed_in_two_ways_are_one() -> None:
    """A letter and a combining accent become the one letter; capitals of several parts too."""
    assert TEXT.parse("e\u0301") == "\u00e9"
    assert CODE.parse("\u0390") == unicodedata.normalize("NFC", "\u0390".upper())


@pytest.mark.parametrize("kind", [Choice("h", words=("a", "b")), Words("h", words=("a", "b"))])
@pytest.mark.parametrize("stored", ["c", "A", "", -1, "a,c", "a,"])
def test_a_stored_word_that_is_none_of_the_list_is_not_given(
    kind: FieldType[Any], stored: str | int
) -> None:
    """A database file that was changed may hold any word; what reads it knows only the list."""
    assert kind.from_scalar("a") in ("a", ("a",))
    with pytest.raises(ValueError, match="is not known here"):
        kind.from_scalar(stored)
