"""What a store is: place, schema, logbooks and their seals."""

from collections.abc import Mapping
from typing import Any

from rvsmlog.facts import Seal
from rvsmlog.frozen import dataclass
from rvsmlog.store.connection import SCHEMA_REVISION, Store, revision
from rvsmlog.store.reading.books import books, seal


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreInfo:
    """What a store is.

    Parameters
    ----------
    store : str
        Its place.
    bytes : int or None
        Size of its file; None on a server.
    schema, schema_wanted : str
        The store's schema revision and the program's.
    seals : tuple of Seal or None
        Newest number and digest of each logbook; None when the schema is another, as nothing was
        read then.
    """

    store: str
    bytes: int | None
    schema: str
    schema_wanted: str
    seals: tuple[Seal, ...] | None

    def as_object(self) -> Mapping[str, Any]:
        """Give it as JSON has it."""
        return {
            "store": self.store,
            "bytes": self.bytes,
            "schema": self.schema,
            "schema_wanted": self.schema_wanted,
            "logbooks": None
            if self.seals is None
            else [
                {"logbook": each.logbook, "entries": each.entry, "digest": each.digest}
                for each in self.seals
            ],
        }


def describe(store: Store) -> StoreInfo:
    """Describe an open store of any revision.

    Raises
    ------
    StoreError
        When it has lost a table.
    """
    store.check_whole()
    schema = revision(store) or ""
    seals: tuple[Seal, ...] | None = None
    if schema == SCHEMA_REVISION:
        with store.reading() as connection:
            seals = tuple(seal(connection, book) for book in books(connection))
    return StoreInfo(
        store=store.name,
        bytes=store.path.stat().st_size if store.path is not None else None,
        schema=schema,
        schema_wanted=SCHEMA_REVISION,
        seals=seals,
    )
