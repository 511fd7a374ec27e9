"""Rows made ready in one go are what the kind itself makes of their texts, and digest alike."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from rvsmlog.errors import InputError
from rvsmlog.records.base import Record, RecordKind
from rvsmlog.records.kinds import KIND, KINDS
from rvsmlog.store.csv_cells import as_written
from rvsmlog.store.encoding import (
    Head,
    next_digest,
    pack_details,
    plain_digests,
    plain_frame,
)
from rvsmlog.store.importing.prepared import RowReader
from rvsmlog.store.ready import Ready, made_ready
from tests.store.row_texts import batches
from tests.store.samples import sample_texts

_READERS: dict[tuple[str, tuple[str, ...]], RowReader] = {}


def _made(kind: RecordKind, texts: Mapping[str, str]) -> Record | None:
    """Make a record as single entries are made; None where it is refused."""
    try:
        return kind.parse({name: as_written(text) for name, text in texts.items()})
    except InputError:
        return None


def _read(reader: RowReader, rows: Sequence[Mapping[str, str]]) -> Ready | None:
    """Make rows ready; None where they are refused."""
    names = [name for name in reader.names if name in rows[0]]
    try:
        return reader.read([[texts[name] for name in names] for texts in rows])
    except InputError:
        return None


@given(batches(KINDS))
@example((KINDS[0], [{"name": "'=1", "time_zone": "UTC"}]))
def test_the_same_records_or_the_same_refusals(
    case: tuple[RecordKind, list[dict[str, str]]],
) -> None:
    """Whatever stands in a row, it is taken, refused and stored as an entry typed by itself is."""
    kind, rows = case
    names = tuple(sorted(rows[0]))
    reader = _READERS.setdefault((kind.name, names), RowReader(kind, names))
    expected = [_made(kind, texts) for texts in rows]
    for texts, record in zip(rows, expected, strict=True):
        assert (_read(reader, [texts]) is None) == (record is None)
    good = [record for record in expected if record is not None]
    whole = _read(reader, rows)
    assert (whole is None) == (len(good) < len(rows))
    # What was remembered of the first reading gives the same.
    kept = [texts for texts, record in zip(rows, expected, strict=True) if record is not None]
    ready = _read(reader, kept) if kept else None
    if ready is not None:
        assert [ready.record(at) for at in range(len(good))] == good
        scalars = [record.scalars() for record in good]
        assert list(ready.scalars()) == [tuple(each.values()) for each in scalars]
        assert list(ready.bodies) == [pack_details(each) for each in scalars]
    assert (ready is not None) == bool(good)


_INSTANT_TEXTS = (
    *("2027-03-12T02:00Z", "2027-03-12T23:59:59Z", "2024-02-29T00:00Z", "1950-01-01T00:00Z"),
    *("1949-12-31T23:59Z", "2199-12-31T23:59:59Z", "2200-01-01T00:00Z", "2023-02-29T02:00Z"),
    *("2027-03-12T24:00Z", "2027-03-12T02:60Z", "2027-03-12 02:00Z", "2027-03-12T02:00+00:00"),
    *("2027-03-12T02:00", "2027-03-12T02:00z", " 2027-03-12T02:00Z", "2027-03-12T02Z"),
    *("2027-03-12T02:00:00.5Z", "2027-03-12T02:00:00.000001Z", "2027-W10-5T02:00Z"),
    *("2027-03-12", "", "2027-03-1"),
)


@given(st.lists(st.sampled_from(_INSTANT_TEXTS), min_size=1, max_size=3))
def test_instants_read_by_halves_are_those_read_whole(texts: list[str]) -> None:
    """Days and times of day read apart give what the whole text gives, or none does."""
    kind = KIND["altimetry-fault"]
    rows = [{"found_at": text, "description": "x"} for text in texts]
    expected = [_made(kind, row) for row in rows]
    ready = _read(RowReader(kind, ("found_at", "description")), rows)
    assert (ready is None) == (None in expected)
    if ready is not None:
        assert [ready.record(at) for at in range(len(rows))] == expected


def test_checks_see_what_they_did_not_ask_for_before() -> None:
    """Rows that passed do not let a row pass that differs in what is asked only of its sort."""
    kind = KIND["crosscheck"]
    names = ("taken_at", "phase", "primary_1_ft", "primary_2_ft", "level", "field_elevation_ft")
    reader = RowReader(kind, (*names, "qnh_hpa"))

    def row(phase: str, level: str, elevation: str, qnh: str) -> dict[str, str]:
        texts = ("2027-03-12T02:00Z", phase, "31000", "31000", level, elevation, qnh)
        return dict(zip((*names, "qnh_hpa"), texts, strict=True))

    flight, ground = row("level", "310", "", ""), row("ground", "", "10", "1013")
    assert _read(reader, [flight, flight]) is not None
    assert _read(reader, [flight, row("level", "", "", "")]) is None
    assert _read(reader, [ground]) is not None
    assert _read(reader, [row("ground", "310", "10", "")]) is None
    assert _read(reader, [row("ground", "310", "", "1013")]) is None
    assert _read(reader, [flight, ground, row("hourly", "290", "", "1013")]) is not None


@pytest.mark.parametrize("kind", KINDS, ids=[kind.name for kind in KINDS])
def test_digest_of_entries_made_together(kind: RecordKind) -> None:
    """Entries digested in one frame have the digest that the layout gives each by itself."""
    record = kind.parse(sample_texts(kind.name))
    ready = made_ready(kind, [record])
    head = Head(number=7, kind=kind.name, recorded_at=1_700_000_000_000_000, recorded_by="É. Bond")
    frame = plain_frame(kind.name, head.recorded_at, head.recorded_by)
    found = plain_digests(bytes(32), 7, frame, [*ready.bodies, *ready.bodies])
    first = next_digest(bytes(32), head, record.scalars())
    assert found == [first, next_digest(first, replace(head, number=8), record.scalars())]
