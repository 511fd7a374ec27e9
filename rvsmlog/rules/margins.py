"""A result that follows from how much is left to a limit."""

from collections.abc import Mapping

from rvsmlog.findings import Margin, Outcome, Value
from rvsmlog.records.base import Ref
from rvsmlog.rules.base import Result
from rvsmlog.standards.rvsm import HIGHEST_LEVEL_BELOW_RVSM

#: What remains when only RVSM is lost.
BELOW_RVSM = HIGHEST_LEVEL_BELOW_RVSM.value


def by_margin(
    says: str,
    margin: Margin,
    *,
    remedy: str,
    highest_level: int = BELOW_RVSM,
    values: Mapping[str, Value] | None = None,
    limits: Mapping[str, Value] | None = None,
    evidence: tuple[Ref, ...] = (),
    sources: tuple[str, ...] = (),
) -> Result:
    """Say that a requirement is met, or not met where the margin is negative.

    Parameters
    ----------
    says : str
        One line with the numbers, the same either way.
    margin : Margin
        What is left; zero is met.
    remedy, highest_level
        Given to a requirement that is not met only.
    values, limits, evidence, sources
        As in :class:`rvsmlog.rules.base.Result`.
    """
    failed = margin.value < 0
    return Result(
        outcome=Outcome.NOT_MET if failed else Outcome.MET,
        says=says,
        highest_level=highest_level if failed else None,
        values=values or {},
        limits=limits or {},
        margin=margin,
        evidence=evidence,
        sources=sources,
        remedy=remedy if failed else "",
    )
