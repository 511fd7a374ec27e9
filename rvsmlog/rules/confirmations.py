"""Which height errors are large, and whether one that was closed is confirmed put right."""

from datetime import date

from rvsmlog.facts import Facts, Logged
from rvsmlog.records.flights import Closure
from rvsmlog.standards.rvsm import LARGE_ASE_FT, LARGE_TVE_FT


def large(*, ase_ft: int | None = None, tve_ft: int | None = None) -> bool:
    """Whether a height error must be reported: 245 ft of altimetry system error, 300 ft in all."""
    return (ase_ft is not None and abs(ase_ft) >= LARGE_ASE_FT.value) or (
        tve_ft is not None and abs(tve_ft) >= LARGE_TVE_FT.value
    )


def checked(facts: Facts, closure: Logged[Closure], since: date) -> bool:
    """Whether a functional check, a flight check or a monitored flight is on record by today.

    Parameters
    ----------
    facts : Facts
        With the day asked about.
    closure : Logged
        It names the check and its day.
    since : date
        The day of the error: a check from before it confirms nothing.
    """
    day = closure.record.confirmed_on
    return day is not None and since <= day <= facts.today


def confirmed_closure(facts: Facts, entry: int, since: date) -> Logged[Closure] | None:
    """Give the closure of an entry where it names the check that confirms it, else None."""
    closure = facts.closure_of(entry)
    return closure if closure is not None and checked(facts, closure, since) else None
