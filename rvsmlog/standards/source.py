"""Where a figure comes from, and how sure it is."""

from enum import StrEnum
from typing import Generic, TypeVar

from rvsmlog.frozen import dataclass

T = TypeVar("T")


class Status(StrEnum):
    """How sure a figure is."""

    PUBLISHED = "published"
    SECOND_HAND = "published, read second-hand"
    MEMORY = "from memory"
    PRACTICE = "common practice, no source"
    DERIVED = "derived from published constants"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One place in one document.

    Parameters
    ----------
    key : str
        Short slug by which rules and figures cite it, for example ``appendix-g-2``.
    document : str
        The document's title.
    section : str
        Section, paragraph or table.
    edition : str
        Edition or date as read.
    status : Status
        How sure the figures taken from it are.
    """

    key: str
    document: str
    section: str
    edition: str
    status: Status

    def __str__(self) -> str:
        edition = f" ({self.edition})" if self.edition else ""
        return f"{self.document}, {self.section}{edition} [{self.status}]"


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure(Generic[T]):
    """One published value with its unit and source.

    Parameters
    ----------
    value : T
        The value.
    unit : str
        Its unit, ``""`` when it has none.
    source : Source
        Where it stands.
    note : str
        What a reader must know to use it rightly.
    """

    value: T
    unit: str
    source: Source
    note: str = ""
