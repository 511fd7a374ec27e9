"""Many logbooks read side by side, as known now: one statement for each question to all of them.

Reading one airframe takes some thirty statements, most of which find a handful of rows. For a fleet
that is time spent on asking. Here the first airframe that asks has the rows fetched for its whole
batch, by the same conditions; the others find them here.
"""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from functools import cached_property
from itertools import groupby, islice
from operator import itemgetter
from typing import Any

from sqlalchemy import Connection, text

from rvsmlog.errors import StoreError
from rvsmlog.facts import Logged, Seal
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import RecordKind
from rvsmlog.store.encoding import genesis, stored_correction, stored_digest, stored_number
from rvsmlog.store.reading.books import Book
from rvsmlog.store.reading.rows import logged

#: How many logbooks are read together: what is held in memory at a time.
BATCH = 100
#: A number that no entry reaches: all entries are known.
_ALL = 2**62


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Rows of one table of details ``d``, each with its entry ``e``.

    Parameters
    ----------
    kind : RecordKind
        What they are records of.
    columns : str
        What to select behind the logbook and the number.
    table : str
        The table of details.
    where : str
        Condition that begins with AND, or ``""``. It may name ``:head``.
    order : str
        Order of a logbook's rows.
    limit : int or None
        How many rows of each logbook at the most.
    superseded : bool
        Whether those count too that were corrected or struck out.
    """

    kind: RecordKind
    columns: str
    table: str
    where: str
    order: str
    limit: int | None
    superseded: bool

    def of_one(self) -> str:
        """Give the statement for the logbook ``:book``; its number leads each row here too."""
        limit = "" if self.limit is None else f" LIMIT {int(self.limit)}"
        return (
            f"SELECT d.logbook_id, d.number, {self.columns} FROM {self.table} d {_ENTRY} "
            f"WHERE d.logbook_id = :book AND d.number <= :head{self.where} "
            f"ORDER BY {self.order}{limit}"
        )

    def of_many(self, ids: str, *, lateral: bool) -> str:
        """Give the statement for several logbooks; their numbers stand in the text."""
        select = f"SELECT d.logbook_id, d.number, {self.columns} FROM"
        order = f"ORDER BY d.logbook_id, {self.order}"
        if self.limit is None:
            table = f"{self.table} d {_ENTRY}"
            return f"{select} {table} WHERE d.logbook_id IN ({ids}){self.where} {order}"
        inner = (
            f"FROM {self.table} d WHERE d.logbook_id = b.id{self.where} "
            f"ORDER BY {self.order} LIMIT {int(self.limit)}"
        )
        if lateral:
            joined = f"logbook b CROSS JOIN LATERAL (SELECT d.* {inner}) d {_ENTRY}"
            return f"{select} {joined} WHERE b.id IN ({ids}) {order}"
        joined = f"logbook b CROSS JOIN {self.table} d {_ENTRY}"
        return (
            f"{select} {joined} WHERE b.id IN ({ids}) AND d.logbook_id = b.id "
            f"AND d.number IN (SELECT d.number {inner}) {order}"
        )


#: Records of one logbook, or what is wrong with them.
_Found = tuple[Logged[Any], ...] | StoreError
#: What gives the logbook of a row.
_BOOK = itemgetter(0)
_ENTRY = "JOIN entry e ON e.logbook_id = d.logbook_id AND e.number = d.number"


class SideBySide:
    """A batch of logbooks in one read transaction.

    Parameters
    ----------
    connection : Connection
        In a read transaction.
    books : sequence of Book
        The logbooks.
    """

    def __init__(self, connection: Connection, books: Sequence[Book]) -> None:
        self.books = tuple(books)
        self._connection = connection
        self._ids = ", ".join(str(int(book.id)) for book in books)
        self._names = {book.id: book.name for book in books}
        self._asked: list[Wanted] = []
        self._found: dict[tuple[object, ...], Mapping[int, _Found]] = {}

    def records(
        self, wanted: Wanted, book: Book, bound: Mapping[str, object]
    ) -> tuple[Logged[Any], ...]:
        """Give one logbook's records, those of all the others fetched with them.

        Raises
        ------
        StoreError
            When what is stored of this logbook is damaged.
        """
        key = (id(wanted), *bound.items())
        if key not in self._found:
            self._asked.append(wanted)  # while it is held, its id is its own
            self._found[key] = self._fetched(wanted, bound)
        found = self._found[key].get(book.id, ())
        if isinstance(found, StoreError):
            raise found
        return found

    def _fetched(self, wanted: Wanted, bound: Mapping[str, object]) -> Mapping[int, _Found]:
        """Fetch what is wanted of all the logbooks, by logbook."""
        lateral = self._connection.dialect.name == "postgresql"
        statement = text(wanted.of_many(self._ids, lateral=lateral))
        rows = self._connection.execute(statement, {"head": _ALL, **bound}).all()
        if self.corrected and not wanted.superseded:
            rows = [row for row in rows if row[1] not in self.corrected.get(row[0], ())]
        try:
            made = iter(logged(wanted.kind, rows, self._names, self.corrects))
        except StoreError:
            # One that is damaged holds up none of the others.
            return {book: self._own(wanted, tuple(own)) for book, own in groupby(rows, _BOOK)}
        return {book: tuple(islice(made, own)) for book, own in Counter(map(_BOOK, rows)).items()}

    def _own(self, wanted: Wanted, rows: Sequence[Any]) -> _Found:
        """Give the records of one logbook, or what is wrong with them."""
        try:
            return logged(wanted.kind, rows, self._names, self.corrects)
        except StoreError as damage:
            return damage

    @cached_property
    def corrected(self) -> Mapping[int, Mapping[int, int]]:
        """What was corrected by what, by logbook."""
        found: dict[int, dict[int, int]] = defaultdict(dict)
        for book, *pair in self._all(
            "SELECT logbook_id, supersedes, number FROM entry WHERE supersedes IS NOT NULL "
            f"AND logbook_id IN ({self._ids})"
        ):
            supersedes, number = stored_correction(*pair)
            found[book][supersedes] = number
        return dict(found)

    @cached_property
    def corrects(self) -> Mapping[int, Mapping[int, int]]:
        """The same, the other way round."""
        return {
            book: {number: supersedes for supersedes, number in pairs.items()}
            for book, pairs in self.corrected.items()
        }

    @cached_property
    def seals(self) -> Mapping[int, Seal]:
        """The newest entry of each logbook and its digest."""
        found = {
            book.id: Seal(
                logbook=book.name, entry=0, digest=genesis(book.uid, book.kind, book.name).hex()
            )
            for book in self.books
        }
        for book_id, name, number, digest in self._all(
            "SELECT b.id, b.name, e.number, e.digest FROM logbook b JOIN entry e "
            "ON e.logbook_id = b.id AND e.number = "
            "(SELECT max(number) FROM entry WHERE logbook_id = b.id) "
            f"WHERE b.id IN ({self._ids})"
        ):
            found[book_id] = Seal(
                logbook=name, entry=stored_number(number), digest=stored_digest(digest).hex()
            )
        return found

    @cached_property
    def drift_kept(self) -> Mapping[int, Any]:
        """What is kept beside each logbook of its drift, as :mod:`.drift_reader` reads it."""
        rows = self._all(
            "SELECT d.logbook_id, d.through, d.digest, d.content, e.digest FROM derived d "
            "JOIN entry e ON e.logbook_id = d.logbook_id AND e.number = d.through "
            f"WHERE d.name = 'drift' AND d.logbook_id IN ({self._ids})"
        )
        return {row[0]: row[1:] for row in rows}

    @cached_property
    def read_since(self) -> frozenset[int]:
        """The logbooks in which a reading was entered after what is kept of its drift."""
        rows = self._all(
            "SELECT DISTINCT k.logbook_id FROM derived k JOIN crosscheck_detail d "
            "ON d.logbook_id = k.logbook_id AND d.number > k.through "
            f"WHERE k.name = 'drift' AND k.logbook_id IN ({self._ids})"
        )
        return frozenset(row[0] for row in rows)

    def _all(self, statement: str) -> Sequence[Any]:
        return self._connection.execute(text(statement)).all()
