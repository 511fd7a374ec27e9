"""Parts that pages are made of: tables of entries, and links from one entry to another.

An entry has its place in the page once, and whatever names it leads there. Rows that come by the
thousand carry a mark only where something leads to them.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from markupsafe import Markup, escape

from rvsmlog.facts import Logged
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import FieldSpec, Record, RecordKind, Ref
from rvsmlog.records.fields import Real, Whole
from rvsmlog.records.trade_fields import EntryNumber
from rvsmlog.reports.records import cell, head
from rvsmlog.reports.states import State

Cell = Any
#: A table of so few rows is kept on one sheet.
_FEW = 6
#: Text of so many letters is never folded, nor is a day or an instant, nor so many entries.
_SHORT = 14
_DAY = re.compile(r"(?:about )?\d{4}-\d\d-\d\d(?:T\d\d:\d\dZ)?", re.ASCII)
_FEW_LINKS = 2


class Links:
    """Entries that a cell names: each leads to its place where the page shows it."""

    __slots__ = ("_entries", "_places")

    def __init__(self, places: "Places", refs: Iterable[Ref]) -> None:
        self._places, self._entries = places, tuple(dict.fromkeys(refs))
        places.wanted.update(ref.entry for ref in self._entries if ref.logbook == places.logbook)

    def __len__(self) -> int:
        return len(self._entries)

    def __html__(self) -> str:
        return Markup(", ").join(self._one(ref) for ref in self._entries)

    def _one(self, ref: Ref) -> Markup:
        if ref.logbook != self._places.logbook:
            return escape(str(ref))
        if ref.entry not in self._places.shown:
            return Markup("#{}").format(ref.entry)
        return Markup('<a href="#e{0}">#{0}</a>').format(ref.entry)


def _stays_whole(cell: Cell) -> bool:
    """Whether a cell is too short to be folded, or would not be read folded."""
    if isinstance(cell, Links):
        return len(cell) <= _FEW_LINKS
    text = str(cell)
    return len(text) <= _SHORT or _DAY.fullmatch(text) is not None


class Places:
    """Which entries of a logbook a page shows, and which of them something leads to.

    Parameters
    ----------
    logbook : str
        The logbook's name.
    """

    def __init__(self, logbook: str) -> None:
        self.logbook = logbook
        self.shown: set[int] = set()
        self.wanted: set[int] = set()

    def links(self, refs: Iterable[Ref]) -> Links:
        """Name entries."""
        return Links(self, refs)

    def link(self, entry: int) -> Links:
        """Name one entry of this logbook."""
        return Links(self, (Ref(logbook=self.logbook, entry=entry),))

    def take(self, entry: int) -> int | None:
        """Give the mark of a row that shows an entry; None where another row has it."""
        if entry in self.shown:
            return None
        self.shown.add(entry)
        return entry


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row: its cells, the entry that it shows first in the page, and how it looks.

    Parameters
    ----------
    cells : sequence
        Text, or what gives its own HTML.
    entry : int or None
        The entry whose place this is.
    look : str
        A class of the style sheet; ``""`` for none.
    """

    cells: Sequence[Cell]
    entry: int | None = None
    look: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table.

    Parameters
    ----------
    caption : str
        What it shows, with its units.
    heads : sequence of str
        Heads of the columns.
    groups : sequence of (str, sequence of Row)
        Rows under a title each; one group with the title ``""`` for a plain table.
    numbers : frozenset of int
        Columns of numbers, from 0, that stand flush right.
    note : str
        What stands below it.
    """

    caption: str
    heads: Sequence[str]
    groups: Sequence[tuple[str, Sequence[Row]]]
    numbers: frozenset[int] = frozenset()
    note: str = ""

    @property
    def looks(self) -> str:
        """Classes that set columns flush right, or keep their lines whole: the cells carry none."""
        right = [f"n{index + 1}" for index in sorted(self.numbers)]
        whole = [f"w{index + 1}" for index in range(len(self.heads)) if self._is_short(index)]
        return " ".join((*right, *whole))

    def _is_short(self, index: int) -> bool:
        """Whether every cell of a column is too short to be folded."""
        cells = (row.cells[index] for _, rows in self.groups for row in rows)
        return all(_stays_whole(cell) for cell in cells)

    @property
    def is_small(self) -> bool:
        """Whether it is kept on one sheet of paper."""
        return sum(len(rows) for _, rows in self.groups) <= _FEW

    @property
    def is_empty(self) -> bool:
        """Whether there is no row."""
        return not any(rows for _, rows in self.groups)


def table(
    caption: str,
    heads: Sequence[str],
    rows: Iterable[Row],
    numbers: Iterable[int] = (),
    note: str = "",
) -> Table:
    """Make a table of one group."""
    return Table(
        caption=caption,
        heads=tuple(heads),
        groups=(("", tuple(rows)),),
        numbers=frozenset(numbers),
        note=note,
    )


def without_empty(made: Table) -> Table:
    """Leave out the columns in which no row has anything."""
    rows = [row for _, group in made.groups for row in group]
    kept = [
        index
        for index in range(len(made.heads))
        if any(row.cells[index] not in ("", "-", None) for row in rows)
    ]
    return Table(
        caption=made.caption,
        heads=[made.heads[index] for index in kept],
        groups=[
            (
                title,
                [
                    Row(
                        cells=[row.cells[index] for index in kept],
                        entry=row.entry,
                        look=row.look,
                    )
                    for row in group
                ],
            )
            for title, group in made.groups
        ],
        numbers=frozenset(at for at, index in enumerate(kept) if index in made.numbers),
        note=made.note,
    )


def value(places: Places, spec: FieldSpec, record: Record) -> Cell:
    """Write one field of a record; an entry that it names leads there."""
    if isinstance(spec.type, EntryNumber) and getattr(record, spec.name) is not None:
        return places.link(getattr(record, spec.name))
    text = cell(spec, record)
    if isinstance(getattr(record, spec.name), tuple):
        text = text.replace(",", ", ")  # a table of points is folded between them
    return "" if text == "-" else text


def made_by(logged: Logged[Any]) -> str:
    """Say on which day in UTC an entry was recorded, and by whom."""
    return f"{logged.recorded_at:%Y-%m-%d} {logged.recorded_by}"


def entry_cell(places: Places, logged: Logged[Any]) -> Cell:
    """Write the number of an entry, and the one first made where it was corrected."""
    number = Markup("#{}").format(logged.ref.entry)
    if logged.first == logged.ref.entry:
        return number
    return Markup("{} <em>corrects</em> {}").format(number, places.link(logged.first))


def record_table(
    places: Places,
    caption: str,
    kind: RecordKind,
    records: Sequence[Logged[Any]],
    *,
    names: Sequence[str] = (),
    states: Mapping[Ref, State] = MappingProxyType({}),
) -> Table:
    """Lay out records of one kind with all that is filled in.

    Parameters
    ----------
    places : Places
        Of the page.
    caption : str
        What the table shows.
    kind : RecordKind
        Of all the records.
    records : sequence of Logged
        In the order of the table.
    names : sequence of str
        The fields, in order; all of them when left out.
    states : mapping of Ref to State
        How those stand that others close.
    """
    specs = [kind.by_name[name] for name in names or kind.by_name]
    heads = ["entry", "state", *(head(spec.name) for spec in specs), "recorded"]
    rows = [
        Row(
            cells=[
                entry_cell(places, logged),
                str(states.get(logged.ref, "")),
                *(value(places, spec, logged.record) for spec in specs),
                made_by(logged),
            ],
            entry=places.take(logged.ref.entry),
        )
        for logged in records
    ]
    numbers = {at + 2 for at, spec in enumerate(specs) if isinstance(spec.type, Whole | Real)}
    return without_empty(table(caption, heads, rows, numbers))


#: What a section is made of: the name of the sort, and the thing itself. Sorts are ``table``,
#: ``text``, ``strong``, ``head``, ``list`` (of text), ``pairs`` (of term and text) and ``plot``.
Part = tuple[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A part of a page with a heading that the contents lead to.

    Parameters
    ----------
    slug : str
        Its mark in the page.
    title : str
        Its heading.
    lead : str
        What it comes to, in a sentence or two.
    parts : tuple of Part
        What follows.
    """

    slug: str
    title: str
    lead: str
    parts: tuple[Part, ...] = ()


def tables(*made: Table) -> tuple[Part, ...]:
    """Give tables that have rows as parts."""
    return tuple(("table", each) for each in made if not each.is_empty)
