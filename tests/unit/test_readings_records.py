"""Readings of tests, swaps of units and closures as records."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.errors import InputError
from rvsmlog.records.airframe import Airframe, Swap
from rvsmlog.records.base import FieldError
from rvsmlog.records.flights import Closure
from rvsmlog.records.point_table import PointTable
from rvsmlog.records.readings import Readings

SHEET: dict[str, str | None] = {
    "test": "14",
    "test_equipment": "ADTS 7, calibrated 2026-01-10, reference C-88",
    "scale_error": "-1000:+5 0:0 10000:-20 30000:-60",
    "scale_dwell_s": "10000:75,30000:600",
    "hysteresis": "15000:+40,12000:35",
    "friction": "1000:20,30000:60",
    "barometric": "28.10:-1730,29.5:-390,30.99:975",
    "static_leak": "5.75:180",
    "correspondence": "0:0,30000:-25",
}
FEET = PointTable("feet")
SETTINGS = PointTable("feet", point="setting in inHg", decimals=2, lowest=2800, highest=3100)


def fault(**changes: str | None) -> FieldError:
    """Give what is wrong with readings of changed fields."""
    with pytest.raises(FieldError) as caught:
        Readings.kind.parse(SHEET | changes)
    return caught.value


def test_readings_read_back_as_written() -> None:
    """Every field survives the scalars of the store, order and signs included."""
    record = Readings.kind.parse(SHEET)
    assert isinstance(record, Readings)
    assert record.scale_error == ((-1000, 5), (0, 0), (10000, -20), (30000, -60))
    assert record.barometric == ((2810, -1730), (2950, -390), (3099, 975))
    assert record.static_leak == ((575, 180),)
    assert Readings.kind.read(record.scalars()) == record
    assert record.scalars()["barometric"] == "28.10:-1730,29.50:-390,30.99:+975"


def test_points_keep_their_order() -> None:
    """The order of the test is part of the record."""
    assert FEET.parse("30000:1,0:2") == ((30000, 1), (0, 2))


@given(
    st.lists(
        st.tuples(st.integers(2800, 3100), st.integers(-5000, 5000)),
        min_size=1,
        unique_by=lambda pair: pair[0],
    )
)
@settings(max_examples=50)
def test_what_is_shown_reads_back(pairs: list[tuple[int, int]]) -> None:
    """Writing and reading points is lossless."""
    table = tuple(pairs)
    assert SETTINGS.parse(SETTINGS.show(table)) == table
    assert SETTINGS.from_scalar(SETTINGS.to_scalar(table)) == table


@pytest.mark.parametrize(
    "text", ["", "1000", "1000:", ":5", "1000:5.5", "10x:5", "1000.5:5", "50001:5", "-1001:5"]
)
def test_wrong_points_are_refused(text: str) -> None:
    """Each point is a whole altitude within the table, each reading whole feet."""
    with pytest.raises(InputError):
        FEET.parse(text)


@pytest.mark.parametrize("text", ["28.101:5", "27.99:5", "31.01:5", "29.92:5001"])
def test_wrong_settings_are_refused(text: str) -> None:
    """A setting has two decimals at the most, and lies on the scale."""
    with pytest.raises(InputError):
        SETTINGS.parse(text)


def test_the_example_of_the_help_reads() -> None:
    """What the help tells people to write is accepted."""
    for table in (FEET, SETTINGS, PointTable("s", low=0, high=7200)):
        assert table.parse(table.wanted.rsplit(" ", maxsplit=1)[-1])


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("scale_error", {"scale_error": "0:5,0:6"}),
        ("scale_dwell_s", {"scale_dwell_s": "20000:75"}),
        ("hysteresis_dwell_s", {"hysteresis_dwell_s": "14000:300"}),
        ("hysteresis", {"hysteresis": "15000:4,12000:3,9000:2"}),
        # 43 Appendix E: friction and barometric scale are tested at the points listed only.
        ("friction", {"friction": "1000:20,29000:60"}),
        ("barometric", {"barometric": "28.11:-1720"}),
        ("barometric", {"barometric": "30.98:960"}),
        ("test", {"test": None}),
    ],
)
def test_readings_that_cannot_be_are_refused(field: str, changes: dict[str, str | None]) -> None:
    """The field at fault is named."""
    assert fault(**changes).field == field


def test_readings_need_a_reading() -> None:
    """A sheet without any measurement is no evidence."""
    with pytest.raises(FieldError, match="no reading"):
        Readings.kind.parse({"test": "14", "test_equipment": "ADTS 7"})


def test_a_unit_is_not_swapped_with_itself() -> None:
    """Two entries change places."""
    swap = {"unit": "4", "other": "4", "swapped_at": "2026-05-01T15:00Z", "cause": "split"}
    with pytest.raises(FieldError, match="other"):
        Swap.kind.parse(swap)
    record = Swap.kind.parse(swap | {"other": "5"})
    assert Swap.kind.read(record.scalars()) == record


@pytest.mark.parametrize(
    "changes", [{"confirmation": "flight-check"}, {"confirmed_on": "2026-05-02"}]
)
def test_a_confirming_check_has_its_day(changes: dict[str, str]) -> None:
    """Neither the check nor its day says anything alone."""
    closure = {
        "deviation": "7",
        "closed_on": "2026-05-01",
        "conclusion": "computer exchanged",
        "confirmed_by": "R. Tan",
    }
    with pytest.raises(FieldError, match="confirmed_on"):
        Closure.kind.parse(closure | changes)


def test_an_airframe_may_limit_the_scale_error() -> None:
    """The limit of the data package stands by level."""
    field = Airframe.kind.by_name["altimeter_scale_limit"]
    assert field.type.parse("290:60,350:75") == ((290, 60), (350, 75))
    assert not field.required
