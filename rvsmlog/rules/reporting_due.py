"""The periodic test of automatic altitude reporting: that it gives what the altimeters show."""

from collections.abc import Iterator
from datetime import date

from rvsmlog.dates import calendar_months_due
from rvsmlog.facts import Facts, Logged
from rvsmlog.findings import NO_FLIGHT
from rvsmlog.records.papers import Test
from rvsmlog.rules.base import Result, not_on_record, rule
from rvsmlog.rules.periodic import by_day, failed
from rvsmlog.rules.proof import CORRESPONDENCE, STANDBY, SYSTEMS, failure, newest
from rvsmlog.rules.term import Term
from rvsmlog.standards.authorities import authority
from rvsmlog.standards.rvsm import CORRESPONDENCE_TOLERANCE_FT

_REMEDY = (
    "Have the altitude reported compared with the altimeters, and record the correspondence test "
    "with `rvsmlog test add`; until then no flight under IFR."
)


@rule("91-411-a1", "43-appendix-e-c", "91-411-c")
def altitude_reporting_test_overdue(facts: Facts) -> Iterator[Result]:
    """Correspondence test of the altitude reporting missing, failed or overdue.

    Checks: For altimetry systems 1 and 2 the newest correspondence test that covers the position:
    passed, not beyond 125 ft by its own number or its readings, and done within the calendar months
    that hold for altimeter and static tests, to the end of the month. A failed test cancels every
    earlier pass. Held to the day on which the flight ends, as far as --cruise-minutes tells.

    Why: 91.411(a)(1) bars flight under IFR in controlled airspace unless each automatic pressure
    altitude reporting system was tested within the preceding 24 calendar months, as it does for
    altimeters and static systems. What appendix E asks of altitude reporting is its paragraph (c):
    that the altitude the transponder replies with is within 125 ft of the altimeter. Controllers
    and other aeroplanes see nothing but the reported altitude.

    Remedy: Have the altitude reported compared with the altimeters, and record the test. Where one
    test went for both systems, record it for all positions.

    Known problems: A transponder test (91.413, appendix F) is taken to prove nothing here, for
    appendix F does not compare with the altimeter; a shop that does both records both. Outside the
    United States the maintenance programme's interval holds, and 24 months stand in. An interval of
    the airframe's own is one of altimeters and static system, and does not shorten this one. The
    test is asked for even where no transponder is on record or none works. Equipment that counts by
    its date of manufacture (91.411(c)) must be recorded as tested on that day.
    """
    for last, positions in _tests(facts).items():
        yield _judge(facts, last, _name(positions))


def altitude_reporting_terms(facts: Facts) -> Iterator[Term]:
    """Give the last day of the correspondence tests that count."""
    for last, positions in _tests(facts).items():
        if last is not None and not failure(facts, last):
            yield Term(
                rule=altitude_reporting_test_overdue.name,
                subject=positions[0],
                what=f"correspondence test, {_name(positions)}",
                last_day=_due_on(facts, last),
                evidence=(last.ref,),
                remedy=_REMEDY,
            )


def _tests(facts: Facts) -> dict[Logged[Test] | None, list[str]]:
    """Give the newest correspondence tests, with the positions that each is the newest of."""
    found: dict[Logged[Test] | None, list[str]] = {}
    for position in SYSTEMS:
        last = newest(test for test in facts.tests if _covers(facts, test, position))
        found.setdefault(last, []).append(position)
    return found


def _covers(facts: Facts, test: Logged[Test], position: str) -> bool:
    """Whether a test is one of the altitude reported from a system.

    One recorded for the standby altimeter, from which nothing is reported, counts where it failed.
    """
    if test.record.test != CORRESPONDENCE:
        return False
    where = test.record.position
    return where in ("all", position) or (where == STANDBY and failure(facts, test) != "")


def _due_on(facts: Facts, test: Logged[Test]) -> date:
    """Give the last day on which a correspondence test counts."""
    return calendar_months_due(test.record.done_on, _months(facts))


def _months(facts: Facts) -> int:
    return authority(facts.particulars.authority).static_test_months.value


def _name(positions: list[str]) -> str:
    plural = "s" if len(positions) > 1 else ""
    return f"altitude reporting, system{plural} {' and '.join(positions)}"


def _judge(facts: Facts, last: Logged[Test] | None, name: str) -> Result:
    """Judge the newest test."""
    if last is None:
        return not_on_record(
            f"{name}: no correspondence test on record",
            highest_level=NO_FLIGHT,
            remedy=_REMEDY,
            evidence=(facts.airframe.ref,),
        )
    fault = failure(facts, last)
    if fault:
        return failed(
            name,
            last,
            fault,
            highest_level=NO_FLIGHT,
            remedy=_REMEDY,
            values={"correspondence_ft": last.record.correspondence_ft},
            limits={"correspondence_ft": CORRESPONDENCE_TOLERANCE_FT.value},
        )
    return by_day(
        f"{name}: tested {last.record.done_on}",
        today=facts.today,
        done=last.record.done_on,
        due=_due_on(facts, last),
        months=_months(facts),
        highest_level=NO_FLIGHT,
        remedy=_REMEDY,
        evidence=(last.ref,),
    )
