"""What the rules of periodic tests find alike: a test that proves nothing, and one by its day."""

from collections.abc import Mapping
from datetime import date

from rvsmlog.dates import days_left
from rvsmlog.facts import Logged
from rvsmlog.findings import Margin, Value
from rvsmlog.records.base import Ref
from rvsmlog.records.papers import Test
from rvsmlog.rules.base import Result, met, not_met


def failed(
    name: str,
    last: Logged[Test],
    fault: str,
    *,
    highest_level: int,
    remedy: str,
    values: Mapping[str, Value] | None = None,
    limits: Mapping[str, Value] | None = None,
) -> Result:
    """Say that the newest test proves nothing.

    Parameters
    ----------
    name : str
        What was tested.
    last : Logged of Test
        That test.
    fault : str
        Why, as :func:`rvsmlog.rules.proof.failure` says it.
    highest_level, remedy
        What remains, and what puts it right.
    values, limits
        What was measured beside the day, and its limits.
    """
    done = last.record.done_on
    return not_met(
        f"{name}: test of {done}: {fault}",
        highest_level=highest_level,
        remedy=remedy,
        values={"done_on": str(done)} | dict(values or {}),
        limits=limits,
        evidence=(last.ref,),
    )


def by_day(
    says: str,
    *,
    today: date,
    done: date,
    due: date,
    months: int,
    highest_level: int,
    remedy: str,
    evidence: tuple[Ref, ...],
) -> Result:
    """Say whether a good test still counts; on its last day it does.

    Parameters
    ----------
    says : str
        What was tested, and when.
    today : datetime.date
        The day it is held against.
    done, due : datetime.date
        The day of the test that sets the last day, and that last day.
    months : int
        Calendar months for which it counts.
    highest_level, remedy
        Given where it counts no longer.
    evidence : tuple of Ref
        The tests.
    """
    left = days_left(due, today)
    values: dict[str, Value] = {"done_on": str(done), "due_on": str(due)}
    limits: dict[str, Value] = {"calendar_months": months}
    margin = Margin(value=left, unit="days")
    if left >= 0:
        return met(
            f"{says}, counts until {due}: {left} days left",
            values=values,
            limits=limits,
            margin=margin,
            evidence=evidence,
        )
    return not_met(
        f"{says}, counted until {due} ({months} calendar months)",
        highest_level=highest_level,
        remedy=remedy,
        values=values,
        limits=limits,
        margin=margin,
        evidence=evidence,
    )
