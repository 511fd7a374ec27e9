"""A log of very many readings of one airframe, written past the logbook's writer but as it does.

The writer checks every reading and takes a minute for a million. Here digests are chained by the
writer's own functions and the rows go in by the driver alone, with triggers and indexes made again
afterwards from their own text. `store verify` finds nothing to say of it; a test holds that.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from itertools import islice
from pathlib import Path

from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.trade_fields import instant_to_scalar
from rvsmlog.store.encoding import Head, next_digest
from tests.benchmarks.gonogo_flat import ASKED_AT, BOOK, fill, instants, readings

_AT_ONCE = 20_000
#: So many readings are made by chance; they then come again and again.
_PATTERN = 10_000
_ENTRY = "INSERT INTO entry (logbook_id, number, kind, recorded_at, recorded_by, digest) "


def fill_raw(path: Path, count: int) -> None:
    """Make a store with so many readings, as :func:`.gonogo_flat.fill` does."""
    fill(path, 1)
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA synchronous = OFF")
        connection.execute("PRAGMA journal_mode = OFF")
        connection.execute("PRAGMA cache_size = -262144")
        left_out = connection.execute(
            "SELECT type, name, sql FROM sqlite_master WHERE sql IS NOT NULL AND "
            "(type = 'trigger' OR type = 'index' AND tbl_name = 'crosscheck_detail')"
        ).fetchall()
        for kind, name, _ in left_out:
            connection.execute(f"DROP {kind} {name}")
        connection.execute("BEGIN")
        _append(connection, count)
        connection.execute("COMMIT")
        for _, _, statement in left_out:
            connection.execute(statement)
        connection.execute("PRAGMA journal_mode = WAL")


def _append(connection: sqlite3.Connection, count: int) -> None:
    """Write all readings anew behind the particulars, in the order of time."""
    (book,) = connection.execute("SELECT id FROM logbook WHERE name = ?", (BOOK,)).fetchone()
    for table in ("crosscheck_detail", "entry"):
        connection.execute(f"DELETE FROM {table} WHERE logbook_id = ? AND number > 1", (book,))  # noqa: S608 - our own tables
    (digest,) = connection.execute(
        "SELECT digest FROM entry WHERE logbook_id = ? AND number = 1", (book,)
    ).fetchone()
    names = [spec.name for spec in CrossCheck.kind.fields]
    detail = (
        f"INSERT INTO crosscheck_detail (logbook_id, number, {', '.join(names)}) "  # noqa: S608 - our own names
        f"VALUES ({', '.join('?' * (len(names) + 2))})"
    )
    rows = _rows(count, book, digest)
    while batch := list(islice(rows, _AT_ONCE)):
        connection.executemany(f"{_ENTRY} VALUES (?, ?, ?, ?, ?, ?)", [each[0] for each in batch])
        connection.executemany(detail, [each[1] for each in batch])


def _rows(count: int, book: int, digest: bytes) -> Iterator[tuple[tuple[object, ...], ...]]:
    """Give each entry and its details, chained."""
    now = instant_to_scalar(ASKED_AT)
    pattern = [each.scalars() for each in readings(min(_PATTERN, count))]
    for index, taken_at in enumerate(instants(count)):
        number = index + 2
        scalars = {**pattern[index % len(pattern)], "taken_at": instant_to_scalar(taken_at)}
        head = Head(number=number, kind="crosscheck", recorded_at=now, recorded_by="benchmark")
        digest = next_digest(digest, head, scalars)
        yield (
            (book, number, "crosscheck", now, "benchmark", digest),
            (book, number, *scalars.values()),
        )
