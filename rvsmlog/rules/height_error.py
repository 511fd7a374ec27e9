"""Large height errors: closed is not enough, a check must confirm that they are put right."""

from collections.abc import Iterator
from datetime import date

from rvsmlog.dates import local_day
from rvsmlog.facts import Facts, Logged
from rvsmlog.findings import Value
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Ref
from rvsmlog.records.flights import Closure, Deviation
from rvsmlog.rules.base import Result, met, not_applicable, not_met, rule
from rvsmlog.rules.confirmations import checked, large
from rvsmlog.rules.deviations import LIMITS_FT, contradiction, limit_passed, sizes_ft
from rvsmlog.rules.margins import BELOW_RVSM
from rvsmlog.rules.monitoring import beyond_limits
from rvsmlog.rules.monitoring_due import newest_result

_REMEDY = (
    "Have a functional check, a flight check or a monitored flight confirm that it is put right, "
    "and correct the closure with that check (--confirmation, --confirmed-on); or record a later "
    "height monitoring result within the limits."
)
_CLOSE = (
    "Find and mend the cause, and record the closure with `rvsmlog deviation close`, its "
    "conclusion and the check that confirms it."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Error:
    """A large height error on record.

    Parameters
    ----------
    ref : Ref
        Its entry.
    first : int
        The number under which it was first made.
    day : date
        When it was.
    says : str
        What and how large, in running text.
    values : mapping
        Its numbers.
    """

    ref: Ref
    first: int
    day: date
    says: str
    values: dict[str, Value]


@rule(
    "spa-rvsm-115-c",
    "aro-ops-200-d1",
    "ac-91-85b-4",
    "jaa-tgl-6",
    "rvsm-maintenance-guidance",
    "appendix-g-6",
    "appendix-g-2d",
    "appendix-g-2e",
    "appendix-g-2f",
    "appendix-g-9b",
)
def height_error_unconfirmed(facts: Facts) -> Iterator[Result]:
    """Large height error without a check that confirms it put right.

    Checks: Every deviation that was closed with an altimetry system error from 245 ft on or beyond
    the airframe's limit, or a total vertical error from 300 ft on (stated or worked out, as the
    rule deviation-open has them), and every height monitoring result beyond the airframe's limit or
    from those sizes on: whether its closure is on record, and whether that names a functional
    check, a flight check or a monitored flight since the error, or a monitoring result within the
    limits came after it. A large total is left out where the aeroplane was 300 ft or more off the
    level and an altimetry system error below 245 ft, and within the limit, is on record that makes
    the total with it. Of two entries of one day the one recorded later came later.

    Why: A height error does not show in the cockpit. That the work was done says what was tried; a
    check says whether it helped. Until then the next flight may be as wrong as the last.

    Remedy: Record the closure with the check that confirms it, or the later monitoring result.

    Known problems: That the operator acts at once to put right what caused the error was read
    (SPA.RVSM.115(c), AMC2 ARO.OPS.200(d)(1)); that RVSM is barred until a check confirms the fix is
    advisory material (AC 91-85B, JAA TGL 6) from memory. Deviations that are not closed, and a
    newest monitoring result beyond the limits, are findings of their own. That a total says nothing
    of the altimetry where the aeroplane was off the level by as much is our own reading. An error
    that is put down to the measurement is closed with that conclusion, and confirmed by a further
    result.
    """
    errors = (*_deviations(facts), *_monitored(facts))
    results = [_judge(facts, error) for error in errors]
    found = [result for result in results if result is not None]
    yield from found
    if found:
        return
    if not errors:
        yield not_applicable("no large height error on record")
        return
    last = errors[-1]
    evidence = [logged.ref for error in errors if (logged := facts.closure_of(error.first))]
    yield met(
        f"each large height error is closed and confirmed: {len(errors)}, the last of {last.day}",
        values={"errors": len(errors)},
        evidence=(*(error.ref for error in errors), *evidence),
    )


def _deviations(facts: Facts) -> Iterator[_Error]:
    """Give the deviations with a large height error that were closed."""
    for case in facts.deviations:
        size = _height_error(facts, case.deviation.record)
        if size and case.closure is not None:
            yield _Error(
                ref=case.deviation.ref,
                first=case.deviation.first,
                day=local_day(case.deviation.record.occurred_at, facts.time_zone),
                says=f"deviation #{case.deviation.first}: {size}",
                values={**sizes_ft(case.deviation.record)},
            )


def _height_error(facts: Facts, deviation: Deviation) -> str:
    """Name a deviation's large height error, ``""`` without one; off the level alone is none."""
    sizes = sizes_ft(deviation)
    ase, tve = sizes.get("ase_ft"), sizes.get("tve_ft")
    if large(ase_ft=ase) or limit_passed(facts, deviation) is not None:
        return f"altimetry system error {ase:+d} ft"
    if not large(tve_ft=tve) or _off_level_alone(deviation):
        return ""
    against = contradiction(deviation)
    return f"total vertical error {tve:+d} ft" + (f" ({against})" if against else "")


def _off_level_alone(deviation: Deviation) -> bool:
    """Whether a large total comes from being off the level, by the parts that explain it."""
    sizes = sizes_ft(deviation)
    ase, aad = sizes.get("ase_ft"), sizes.get("aad_ft")
    if ase is None or aad is None or contradiction(deviation):
        return False
    return abs(aad) >= LIMITS_FT["tve_ft"]


def _monitored(facts: Facts) -> Iterator[_Error]:
    """Give the monitoring results beyond limits but the newest, which is a finding by itself."""
    last = newest_result(facts)
    for result in facts.monitoring:
        record = result.record
        bad = beyond_limits(facts, record)
        barred = last is not None and result.ref == last.ref and bad
        if not barred and (bad or large(ase_ft=record.ase_ft, tve_ft=record.tve_ft)):
            yield _Error(
                ref=result.ref,
                first=result.first,
                day=record.measured_on,
                says=f"monitoring #{result.first}: altimetry system error {record.ase_ft:+d} ft",
                values={"ase_ft": record.ase_ft, "tve_ft": record.tve_ft},
            )


def _judge(facts: Facts, error: _Error) -> Result | None:
    """Say what is missing of closure and confirmation, None when nothing is."""
    closure = facts.closure_of(error.first)
    if closure is None or closure.record.closed_on < error.day:
        return not_met(
            f"{error.says} on {error.day} is not closed",
            highest_level=BELOW_RVSM,
            remedy=_CLOSE,
            values=error.values,
            evidence=(error.ref,),
        )
    if checked(facts, closure, error.day) or _measured_since(facts, closure):
        return None
    return not_met(
        f"{error.says} closed {closure.record.closed_on}, no check confirms it put right",
        highest_level=BELOW_RVSM,
        remedy=_REMEDY,
        values={**error.values, "closed_on": str(closure.record.closed_on)},
        evidence=(error.ref, closure.ref),
    )


def _measured_since(facts: Facts, closure: Logged[Closure]) -> bool:
    """Whether the height was measured within the limits after a closure."""
    closed = (closure.record.closed_on, closure.first)
    return any(
        (result.record.measured_on, result.first) > closed
        and not beyond_limits(facts, result.record)
        and not large(ase_ft=result.record.ase_ft, tve_ft=result.record.tve_ft)
        for result in facts.monitoring
    )
