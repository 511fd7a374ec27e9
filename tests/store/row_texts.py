"""Rows of texts for the fields of a kind: good ones, and some that are not."""

from collections.abc import Sequence
from typing import Any

from hypothesis import strategies as st

from rvsmlog.records.base import RecordKind
from rvsmlog.records.fields import Choice, Flag, Real, Text, Whole
from rvsmlog.records.trade_fields import Day, Instant, Level
from tests.store.samples import sample_texts

#: The last of them lies after the tests' clock, by more than may be.
_INSTANTS = ("2027-03-12T02:00Z", "2024-02-29T23:59:59.5+13:00", "2027-03-14T02:40:01Z")
_ODD = ("", " ", "x", "-1", "1e9", "٣", "9" * 20, "0.5", "'=1", "NaN", "é", "e\u0301")


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
            good = st.sampled_from(_INSTANTS)
        case Day():
            good = st.sampled_from(("2024-02-29", "2027-03-12", "2027-03-15", "2027-03-16"))
        case Text(pattern=""):
            good = st.text(max_size=12)
        case _:
            pass
    return st.one_of(good, good, good, st.just(sample), st.sampled_from(_ODD))


@st.composite
def batches(
    draw: st.DrawFn, kinds: Sequence[RecordKind], most: int = 4
) -> tuple[RecordKind, list[dict[str, str]]]:
    """Give a kind and rows of texts of some of its columns, all required ones among them."""
    kind = draw(st.sampled_from(kinds))
    sample = sample_texts(kind.name)
    names = [spec.name for spec in kind.fields if spec.required or draw(st.booleans())]
    texts = {name: _texts(kind.by_name[name], sample.get(name, "")) for name in names}
    return kind, draw(st.lists(st.fixed_dictionaries(texts), min_size=1, max_size=most))
