"""Repair intervals of a minimum equipment list: categories, due days and extensions."""

from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from types import MappingProxyType

from rvsmlog.dates import interval_due
from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.standards.source import Figure, Source
from rvsmlog.standards.sources import source


class Category(StrEnum):
    """Repair category of a deferred item."""

    A = "A"
    B = "B"
    C = "C"
    D = "D"


def _days(value: int) -> Figure[int]:
    """State a repair interval."""
    return Figure(
        value=value,
        unit="days",
        source=source("mel-preamble"),
        note="consecutive calendar days, the day of discovery excluded",
    )


#: Repair intervals in consecutive calendar days; category A has the one its item states.
INTERVAL_DAYS: Mapping[Category, Figure[int]] = MappingProxyType(
    {Category.B: _days(3), Category.C: _days(10), Category.D: _days(120)}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ExtensionPolicy:
    """Which repair intervals an authority lets an operator extend.

    Parameters
    ----------
    categories : tuple of Category
        Categories that may be extended; empty where none may.
    times : int
        How often one deferral may be extended.
    source : Source
        Where that stands.
    note : str
        Conditions.
    read : bool
        Whether a rule on extensions was read; without one none is taken to be allowed.
    """

    categories: tuple[Category, ...]
    times: int
    source: Source
    note: str = ""
    read: bool = True


def parse_category(text: str) -> Category:
    """Read a repair category, in either case.

    Raises
    ------
    InputError
        When it is none of A, B, C and D.
    """
    try:
        return Category(text.strip().upper())
    except ValueError:
        raise InputError(f"{text.strip()!r} is no repair category", "write A, B, C or D") from None


def repair_due(category: str, discovered: date, stated_due: date | None = None) -> date:
    """Give the last day of a repair interval.

    Parameters
    ----------
    category : str
        A, B, C or D.
    discovered : date
        Day of discovery, which does not count.
    stated_due : date, optional
        Last day as the item or the operator states it. Category A needs it; for the others an
        earlier one shortens the interval, and a later one changes nothing.

    Returns
    -------
    date
        The last day on which the item may still be open.

    Raises
    ------
    InputError
        When the category is unknown, category A has no stated day, or that day precedes discovery.

    Examples
    --------
    >>> repair_due("C", date(2027, 1, 26))
    datetime.date(2027, 2, 5)
    """
    known = parse_category(category)
    if stated_due is not None and stated_due < discovered:
        raise InputError(
            f"the stated last day {stated_due} precedes the discovery on {discovered}",
            "correct one of the two days",
        )
    if known is Category.A:
        if stated_due is None:
            raise InputError(
                "category A has no interval of its own",
                "state the last day that the item's remarks give",
            )
        return stated_due
    due = interval_due(discovered, INTERVAL_DAYS[known].value)
    return due if stated_due is None else min(due, stated_due)


def extended_due(
    due: date, category: str, days: int, policy: ExtensionPolicy, *, granted_before: int = 0
) -> date:
    """Give the last day of an extended repair interval.

    Parameters
    ----------
    due : date
        Last day before the extension.
    category : str
        A, B, C or D.
    days : int
        Length of the extension, at most the interval itself again.
    policy : ExtensionPolicy
        What the authority allows.
    granted_before : int
        How many extensions the deferral has had.

    Returns
    -------
    date
        The last day on which the item may still be open.

    Raises
    ------
    InputError
        When the category may not be extended, the extension is no whole day or too long, or the
        deferral has been extended as often as it may be.
    """
    known = parse_category(category)
    if known is Category.A or known not in policy.categories:
        allowed = ", ".join(policy.categories) or "none"
        if not policy.read and known is not Category.A:
            raise InputError(
                f"category {known} is taken as one that may not be extended: no source was read "
                "that allows it under these rules",
                "rectify the defect; whether the authority may extend the interval, ask it",
            )
        raise InputError(
            f"category {known} may not be extended", f"the authority's policy allows: {allowed}"
        )
    if granted_before >= policy.times:
        raise InputError(
            f"the deferral has been extended {granted_before} time(s) already",
            "rectify the defect, or ask the authority",
        )
    longest = INTERVAL_DAYS[known].value
    if not 1 <= days <= longest:
        raise InputError(
            f"an extension of {days} days is out of range",
            f"category {known} may be extended by 1 to {longest} days",
        )
    return interval_due(due, days)
