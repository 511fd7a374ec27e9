"""Rows made ready in one go are what the kind itself makes of their texts, and digest alike."""

from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from rvsmlog.errors import InputError
from rvsmlog.records.base import Record, RecordKind
from rvsmlog.records.fields import Choice, Flag, Real, Text, Whole
from rvsmlog.records.kinds import KINDS
from rvsmlog.records.trade_fields import Day, Instant, Level
from rvsmlog.store.csv_cells import as_written
from rvsmlog.store.encoding import Head, next_digest, plain_digest, plain_frame
from rvsmlog.store.prepared import RowReader, made_ready
from tests.store.conftest import SAMPLES

_ODD = ("", " ", "x", "-1", "1e9", "٣", "9" * 20, "0.5", "'=1", "NaN", "é", "e\u0301")
_READ: dict[tuple[str, tuple[str, ...]], RowReader] = {}


def _texts(spec: Any, sample: str) -> st.SearchStrategy[str]:
    """Give texts for one field: good ones, and some that are not."""
    good: st.SearchStrategy[str] = st.just(sample)
    match spec.type:
        case Whole(low=low, high=high):
            good = st.integers(max(low, -(10**6)), min(high, 10**6)).map(str)
        case Real(low=low, high=high):
            good = st.floats(max(low, -1e6), min(high, 1e6)).map(lambda x: f"{x:.3f}")
        case Choice(words=words):
            good = st.sampled_from(words)
        case Flag():
            good = st.sampled_from(("yes", "No", "1"))
        case Level():
            good = st.sampled_from(("310", "FL290", "fl0410"))
        case Instant():
            good = st.sampled_from(("2027-03-12T02:00Z", "2024-02-29T23:59:59.5+13:00"))
        case Day():
            good = st.sampled_from(("2024-02-29", "2027-03-12"))
        case Text(pattern=""):
            good = st.text(max_size=12)
        case _:
            pass
    return st.one_of(good, good, good, st.just(sample), st.sampled_from(_ODD))


@st.composite
def rows(draw: st.DrawFn) -> tuple[RecordKind, dict[str, str]]:
    """Give a kind and a row of texts of some of its columns, all required ones among them."""
    kind = draw(st.sampled_from(KINDS))
    sample = SAMPLES[kind.name]
    names = [spec.name for spec in kind.fields if spec.required or draw(st.booleans())]
    specs = kind.by_name
    return kind, {name: draw(_texts(specs[name], sample.get(name, ""))) for name in names}


def _made(kind: RecordKind, texts: Mapping[str, str]) -> Record | None:
    """Make a record as single entries are made; None where it is refused."""
    try:
        return kind.parse({name: as_written(text) for name, text in texts.items()})
    except InputError:
        return None


@given(rows())
@example((KINDS[0], {"name": "'=1", "time_zone": "UTC"}))
def test_the_same_record_or_the_same_refusal(case: tuple[RecordKind, dict[str, str]]) -> None:
    """Whatever stands in a row, it is taken, refused and stored as an entry typed by itself is."""
    kind, texts = case
    key = kind.name, tuple(texts)
    reader = _READ.setdefault(key, RowReader(kind, tuple(texts)))
    expected = _made(kind, texts)
    # Twice: what was remembered of the first reading gives the same.
    for _ in range(2):
        try:
            found = reader.read(list(texts.values()))
        except InputError:
            assert expected is None
        else:
            assert expected is not None
            assert found == made_ready(expected)


@pytest.mark.parametrize("kind", KINDS, ids=[kind.name for kind in KINDS])
def test_digest_of_entries_made_together(kind: RecordKind) -> None:
    """Entries digested in one frame have the digest that the layout gives each by itself."""
    record = kind.parse(SAMPLES[kind.name])
    ready = made_ready(record)
    head = Head(number=7, kind=kind.name, recorded_at=1_700_000_000_000_000, recorded_by="É. Bond")
    frame = plain_frame(kind.name, head.recorded_at, head.recorded_by)
    found = plain_digest(bytes(32), 7, frame, ready.body)
    assert found == next_digest(bytes(32), head, record.scalars())
