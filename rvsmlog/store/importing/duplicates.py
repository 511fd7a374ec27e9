"""Which rows of an import are on record already."""

import hashlib
import struct
from collections.abc import Sequence
from dataclasses import field
from typing import Any

from sqlalchemy import bindparam, text

from rvsmlog.errors import StoreError
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import FieldSpec, RecordKind
from rvsmlog.store.encoding import pack, stored_number
from rvsmlog.store.reading.books import Book
from rvsmlog.store.reading.reader import View, view
from rvsmlog.store.ready import Ready
from rvsmlog.store.tables import STRIKE, table_name
from rvsmlog.store.writing.logbook import Writer

#: What makes a record of these kinds the same one; of the other kinds all fields do.
_IDENTITY = {"crosscheck": ("taken_at", "phase"), "flight": ("off_at",)}
#: An instant, as stored, before every other.
_BEFORE_ALL = -(2**62)

Key = tuple[Any, ...]


@dataclass(slots=True)
class _Known:
    """What is known of one logbook while an import adds to it."""

    seen: View
    struck: frozenset[int]
    keys: dict[Key, int] = field(default_factory=dict)
    #: The latest instant on record; None where that cannot be told.
    latest: int | None = None


class Duplicates:
    """Finds records that are on record already, in bounded memory.

    Cross-checks and flights come by the thousand and are looked up by their index, a batch at a
    time; the rest is known by a digest of its fields. An entry that was corrected still counts,
    so that a file imported again does not bring back what was put right; one that was struck
    out does not.

    Parameters
    ----------
    log : Writer
        In the import's transaction.
    kind : RecordKind
        The kind imported.
    """

    def __init__(self, log: Writer, kind: RecordKind) -> None:
        self.log = log
        self.kind = kind
        self.identity = _IDENTITY.get(kind.name, ())
        self._known: dict[int, _Known] = {}
        columns = self.identity or tuple(spec.name for spec in kind.fields)
        self._statement = (
            f"SELECT number, {', '.join(columns)} FROM {table_name(kind)} WHERE logbook_id = :book"
        )
        if self.identity:
            first = self.identity[0]
            self._between = text(
                f"SELECT 1 FROM {table_name(kind)} WHERE logbook_id = :book "
                f"AND {first} BETWEEN :first AND :last LIMIT 1"
            )
            self._newest = text(
                f"SELECT coalesce(max({first}), {_BEFORE_ALL}) FROM {table_name(kind)} "
                "WHERE logbook_id = :book"
            )
            self._among = text(f"{self._statement} AND {first} IN :instants").bindparams(
                bindparam("instants", expanding=True)
            )

    def keys(self, ready: Ready) -> list[Key]:
        """Give what makes each record the same as another."""
        if self.identity:
            return list(zip(*map(ready.column, self.identity), strict=True))
        return list(map(_digest, ready.scalars()))

    def on_record(self, book: Book, keys: Sequence[Key]) -> dict[Key, int]:
        """Give the newest entry of those keys that are on record in a logbook."""
        known = self._known.get(book.id)
        if known is None:
            known = self._known[book.id] = self._load(book)
        if not self.identity:
            return {key: known.keys[key] for key in keys if key in known.keys}
        instants = [key[0] for key in keys]
        span = {"book": book.id, "first": min(instants), "last": max(instants)}
        if known.latest is not None and span["first"] > known.latest:
            return {}  # as in a file in order of time, for which nothing written is waited for
        # One look along the index says for most others that nothing is there.
        if self.log.connection.execute(self._between, span).first() is None:
            return {}
        rows = self.log.connection.execute(self._among, {"book": book.id, "instants": instants})
        wanted = set(keys)
        found: dict[Key, int] = {}
        for row in rows:
            newest = known.seen.newest_made(stored_number(row[0]))
            if tuple(row[1:]) in wanted and newest not in known.struck:
                found[tuple(row[1:])] = newest
        return found

    def other_values(self, book: Book, number: int, ready: Ready, place: int) -> str:
        """Say in which values the entry that is on record differs from one of some records."""
        names = ", ".join(spec.name for spec in self.kind.fields)
        query = f"SELECT {names} FROM {table_name(self.kind)} WHERE logbook_id = :book"
        row = self.log.connection.execute(
            text(f"{query} AND number = :number"), {"book": book.id, "number": number}
        ).one()
        differ = [
            f"{spec.name} {self._shown(spec, there)}"
            for spec, there in zip(self.kind.fields, row, strict=True)
            if there != ready.column(spec.name)[place]
        ]
        return f", with other values there: {', '.join(differ)}" if differ else ""

    def _shown(self, spec: FieldSpec, scalar: Any) -> str:
        """Write the value of a field that the store keeps."""
        value = self.kind.read_value(spec.name, scalar)
        return "none" if value is None else spec.type.show(value)

    def add(self, book: Book, keys: Sequence[Key], numbers: range) -> None:
        """Note entries just made; those looked up by index are found there."""
        known = self._known[book.id]
        if not self.identity:
            known.keys.update(zip(keys, numbers, strict=True))
        elif known.latest is not None and keys:
            known.latest = max(known.latest, *(key[0] for key in keys))

    def _load(self, book: Book) -> _Known:
        """Read what stands in a logbook."""
        struck = self.log.connection.execute(
            text("SELECT number FROM entry WHERE logbook_id = :book AND kind = :strike"),
            {"book": book.id, "strike": STRIKE},
        ).scalars()
        known = _Known(view(self.log.connection, book), frozenset(struck))
        if self.identity:
            latest = self.log.connection.execute(self._newest, {"book": book.id}).scalar_one()
            known.latest = latest if isinstance(latest, int) else None
            return known
        for row in self.log.connection.execute(text(self._statement), {"book": book.id}):
            newest = known.seen.newest_made(stored_number(row[0]))
            if newest not in known.struck:
                known.keys[self._stored(book, row)] = newest
        return known

    def _stored(self, book: Book, row: Any) -> Key:
        """Give what makes an entry that is on record the same as another."""
        try:
            return _digest(tuple(row[1:]))
        except (struct.error, TypeError):
            raise StoreError(
                f"the store is damaged at {book.name}#{row[0]}: {self.kind.title}",
                "do not write to it; run `rvsmlog store verify` and restore the newest backup",
            ) from None


def _digest(scalars: tuple[Any, ...]) -> Key:
    """Give a short digest of fields in their order; absent ones differ from empty ones."""
    parts = (b"\x00" if value is None else b"\x01" + pack("", value) for value in scalars)
    return (hashlib.sha256(b"".join(parts)).digest()[:16],)
