"""Reading the comparisons of the altimeters that a check needs, out of any number of them."""

from collections.abc import Callable
from datetime import datetime

from sqlalchemy import Connection

from rvsmlog.facts import Logged
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.flights import GROUND_PHASES, CrossCheck
from rvsmlog.records.trade_fields import instant_to_scalar
from rvsmlog.standards.rvsm import CROSSCHECK_TOLERANCE_FT
from rvsmlog.store.reading.reader import View, read

#: How many of the newest comparisons the rules are shown: those of the last flights.
NEWEST_CROSSCHECKS = 60
#: How many of the newest comparisons beyond tolerance.
NEWEST_EXCEEDANCES = 200

_IN_FLIGHT = f"d.phase NOT IN {GROUND_PHASES!r}"
# What some rule asks for the newest of, however long ago it was: as the database knows it, and how
# one is told that has been read.
_NEWEST_OF: tuple[tuple[str, Callable[[CrossCheck], bool]], ...] = (
    (f"d.phase IN {GROUND_PHASES!r}", lambda check: check.on_ground),
    (_IN_FLIGHT, lambda check: not check.on_ground),
    (
        f"{_IN_FLIGHT} AND d.standby_ft IS NOT NULL",
        lambda check: not check.on_ground and check.standby_ft is not None,
    ),
    (
        f"{_IN_FLIGHT} AND d.transponder_ft IS NOT NULL",
        lambda check: not check.on_ground and check.transponder_ft is not None,
    ),
)


def newest_crosschecks(
    connection: Connection, seen: View, at: datetime
) -> tuple[Logged[CrossCheck], ...]:
    """Give the newest comparisons, and the newest of each sort where it is older than those.

    Parameters
    ----------
    connection, seen
        Where, as known at an entry.
    at : datetime
        Comparisons after this instant are left out.

    Returns
    -------
    tuple of Logged
        From the earliest to the latest.
    """
    newest = _newest(connection, seen, at, "", NEWEST_CROSSCHECKS)
    if len(newest) < NEWEST_CROSSCHECKS:
        return newest
    # Where one of a sort is among the newest, so is the newest of that sort.
    older = {
        logged.ref.entry: logged
        for condition, is_one in _NEWEST_OF
        if not any(is_one(each.record) for each in reversed(newest))
        for logged in _newest(connection, seen, at, condition, 1)
    }
    if not older:
        return newest
    first = sorted(older.values(), key=lambda each: (each.record.taken_at, each.ref.entry))
    return (*first, *newest)


def _newest(
    connection: Connection, seen: View, at: datetime, condition: str, count: int
) -> tuple[Logged[CrossCheck], ...]:
    """Give the newest comparisons that meet a condition, by one seek."""
    found: tuple[Logged[CrossCheck], ...] = read(
        connection,
        seen,
        CrossCheck.kind,
        where="d.taken_at <= :at" + (f" AND {condition}" if condition else ""),
        order="d.taken_at DESC, d.number DESC",
        limit=count,
        at=instant_to_scalar(at),
    )
    return tuple(reversed(found))


def exceedances(
    connection: Connection, seen: View, at: datetime, airframe: Airframe
) -> tuple[Logged[CrossCheck], ...]:
    """Find every comparison in flight beyond its level's tolerance, by the index on differences.

    Returns
    -------
    tuple of Logged
        From the earliest to the latest, the newest :data:`NEWEST_EXCEEDANCES` at the most.
    """
    published = CROSSCHECK_TOLERANCE_FT.value
    table = airframe.primary_tolerance or ()
    found: tuple[Logged[CrossCheck], ...] = read(
        connection,
        seen,
        CrossCheck.kind,
        # The plus signs keep the database from walking the index on time, through every
        # comparison ever made, in search of the few beyond tolerance.
        where=(
            "abs(d.primary_1_ft - d.primary_2_ft) > :tightest AND "
            f"abs(d.primary_1_ft - d.primary_2_ft) > {_tolerance_of_row(table)} "
            f"AND +d.taken_at <= :at AND {_IN_FLIGHT}"
        ),
        order="+d.taken_at DESC, d.number DESC",
        limit=NEWEST_EXCEEDANCES,
        tightest=min((published, *(feet for _, feet in table))),
        at=instant_to_scalar(at),
    )
    return tuple(reversed(found))


def _tolerance_of_row(table: tuple[tuple[int, int], ...]) -> str:
    """Write a row's own tolerance in SQL, as :func:`rvsmlog.records.airframe.tolerance_at` has it.

    The numbers come out of checked records and are whole; nothing else enters the statement.
    """
    published = CROSSCHECK_TOLERANCE_FT.value
    if not table:
        return str(published)
    steps = []
    before = published
    for level, feet in table:
        tighter = min(int(feet), before, published)
        steps.append(f"WHEN d.level < {int(level)} THEN {tighter}")
        steps.append(f"WHEN d.level = {int(level)} THEN {min(int(feet), published)}")
        before = int(feet)
    return f"CASE {' '.join(steps)} ELSE {min(before, published)} END"
