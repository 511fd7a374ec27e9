"""The rule of the error that both altimeters share."""

from collections.abc import Iterator

from rvsmlog.facts import Facts, Logged
from rvsmlog.findings import Margin
from rvsmlog.records.static_errors import StaticError
from rvsmlog.rules.altimetry_work import PRIMARIES, disturbances
from rvsmlog.rules.base import Result, advice, met, not_applicable, not_met, rule
from rvsmlog.rules.basis import basis_of
from rvsmlog.rules.reviews import accepting_review
from rvsmlog.standards.rvsm import HIGHEST_LEVEL_BELOW_RVSM, ase_limit

_REMEDY = (
    "Have the static ports and the skin around them looked at, arrange a height monitoring, and "
    "record what was found; or record the controller's accepting review of the estimate."
)
#: Fields of an estimate that a finding carries.
_SHOWN = ("error_ft", "low_ft", "high_ft", "flights")


@rule("appendix-g-2d", "appendix-g-2e", "appendix-g-2f", "appendix-g-9b", "practice")
def static_error_suspected(facts: Facts) -> Iterator[Result]:
    """Error that both altimeters share, suspected from GNSS heights and weather.

    Checks: The newest estimate on record, made since the altimetry was last disturbed, against the
    limit of altimetry system error for one aeroplane of this basis of approval. Wholly beyond the
    limit, interval and all, it limits the level; when the interval reaches beyond, it is advice,
    and does not set aside an earlier one that was wholly beyond.

    Why: A cross-check compares two altimeters and cannot see what both have in common: a dented
    skin or a blocked port moves both alike.

    Remedy: Look at ports and skin, arrange a height monitoring, record the outcome.

    Known problems: An estimate from ordinary logs is no approved height monitoring and never
    stands in for one; a good one proves nothing. Nothing is missing when there is none.
    """
    limit = ase_limit(
        basis_of(facts),
        tc_after_split=facts.particulars.type_certificate == "after-1997-04-09",
    ).individual_ft
    newest = _deciding(facts, limit)
    if newest is None:
        yield not_applicable("no estimate of the common error since work on the altimetry")
        return
    record = newest.record
    nearest, farthest = _reach_ft(record)
    says = (
        f"common error estimated {record.error_ft:+.0f} ft ({record.low_ft:+.0f} to "
        f"{record.high_ft:+.0f}) in {record.flights} flights, limit {limit} ft"
    )
    values = {name: getattr(record, name) for name in _SHOWN}
    limits = {"ase_ft": limit}
    margin = Margin(value=round(limit - farthest, 1), unit="ft")
    if farthest <= limit:
        yield met(says, values=values, limits=limits, margin=margin, evidence=(newest.ref,))
        return
    review = accepting_review(facts, newest, newest.recorded_at)
    if nearest > limit and review is None:
        yield not_met(
            says,
            highest_level=HIGHEST_LEVEL_BELOW_RVSM.value,
            values=values,
            limits=limits,
            margin=margin,
            evidence=(newest.ref,),
            remedy=_REMEDY,
        )
        return
    evidence = (newest.ref,) if review is None else (newest.ref, review.ref)
    yield advice(
        says, values=values, limits=limits, margin=margin, evidence=evidence, remedy=_REMEDY
    )


def _deciding(facts: Facts, limit_ft: int) -> Logged[StaticError] | None:
    """Give the newest estimate whose flights all came after the last work on the altimetry.

    One that tells nothing either way, its interval reaching beyond the limit, does not take the
    place of an earlier one that is wholly beyond and that no review accepts.
    """
    disturbed = max((work.day for work in disturbances(facts, PRIMARIES)), default=None)
    found = [
        each
        for each in facts.static_errors
        if disturbed is None or each.record.first_on >= disturbed
    ]
    for each in reversed(found):
        nearest, farthest = _reach_ft(each.record)
        if nearest > limit_ft and accepting_review(facts, each, each.recorded_at) is None:
            return each
        if farthest <= limit_ft:
            break
    return found[-1] if found else None


def _reach_ft(estimate: StaticError) -> tuple[float, float]:
    """Give the least and the greatest error, without sign, that an estimate leaves possible."""
    nearest = max(estimate.low_ft, -estimate.high_ft, 0.0)
    return nearest, max(abs(estimate.low_ft), abs(estimate.high_ft))
