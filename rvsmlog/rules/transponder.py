"""The periodic test of the transponder."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from rvsmlog.dates import calendar_months_due
from rvsmlog.facts import EquipmentCase, Facts, Logged
from rvsmlog.findings import Outcome
from rvsmlog.records.airframe import Equipment
from rvsmlog.records.papers import Test
from rvsmlog.rules.base import Result, not_on_record, rule
from rvsmlog.rules.open_defects import affects, open_defects
from rvsmlog.rules.periodic import by_day, failed
from rvsmlog.rules.places import place_at
from rvsmlog.rules.proof import failure, moment, names, newest
from rvsmlog.rules.term import Term
from rvsmlog.standards.authorities import authority
from rvsmlog.standards.equipment import Function
from rvsmlog.standards.rvsm import TRANSPONDER_NEEDED_FT
from rvsmlog.units import feet_to_level

#: Highest level at which a flight does without one.
LEVEL_WITHOUT_TRANSPONDER = feet_to_level(TRANSPONDER_NEEDED_FT.value) - 10
_REMEDY = (
    "Have the transponder tested and record it with `rvsmlog test add`; until then it may not be "
    "used, and airspace that asks for one is closed."
)


@rule("91-413", "43-appendix-f", "91-215")
def transponder_test_overdue(facts: Facts) -> Iterator[Result]:
    """Transponder test missing, failed or overdue.

    Checks: For each transponder that is fitted and has no open defect (for all, when each has one)
    the newest test that covers it: passed, and done within the calendar months of the airframe's
    rules, to the end of the month. A failed test cancels an earlier pass; a unit fitted after the
    test needs a test that names its serial number. One transponder in order is enough: the others
    are advice. Held to the day on which the flight ends, as far as --cruise-minutes tells.

    Why: 91.413 bars the use of a transponder that was not tested within the preceding 24 calendar
    months. Without one the airspace from 10,000 ft up is closed in the United States (91.215), and
    RVSM needs altitude reporting.

    Remedy: Have it tested to appendix F, and record the test.

    Known problems: 10,000 ft are of the United States and stand in elsewhere, where airspace may
    ask for a transponder lower down, or for every flight under IFR; the level that remains is
    written as a flight level though it lies below the transition level there. That air traffic
    control may let a flight go without one is not known here. 24 months stand in for the
    maintenance programme's interval outside the United States.
    """
    units: tuple[EquipmentCase | None, ...] = _usable(facts) or (None,)
    results = [_judge(facts, unit) for unit in units]
    enough = any(result.outcome is Outcome.MET for result in results)
    for result in results:
        if enough and result.outcome is not Outcome.MET:
            yield replace(
                result,
                outcome=Outcome.ADVICE,
                highest_level=None,
                remedy="Do not use this transponder before it is tested; record the test.",
            )
        else:
            yield result


def _usable(facts: Facts) -> tuple[EquipmentCase, ...]:
    """Give the transponders without an open defect, or all when each has one."""
    fitted = facts.fitted(Function.TRANSPONDER)
    broken = open_defects(facts, (Function.TRANSPONDER,))
    working = tuple(
        unit for unit in fitted if not any(affects(case, unit, fitted) for case in broken)
    )
    return working or fitted


def _covers(facts: Facts, test: Logged[Test], case: EquipmentCase | None) -> bool:
    """Whether a transponder test is about a unit; without a unit on record each is."""
    if case is None:
        return True
    unit, where = case.equipment.record, test.record.position
    here = where == "all" or place_at(facts, case, moment(test)) in (None, where)
    unknown = test.record.unit_serial is None or unit.serial_number is None
    return here and (unknown or names(test.record, unit))


def _judge(facts: Facts, case: EquipmentCase | None) -> Result:
    """Judge the newest test of one transponder."""
    unit, name = None if case is None else case.equipment, _name(case)
    last = _newest_test(facts, case)
    if last is None:
        return not_on_record(
            f"{name}: no test on record",
            highest_level=LEVEL_WITHOUT_TRANSPONDER,
            remedy=_REMEDY,
            evidence=(facts.airframe.ref if unit is None else unit.ref,),
        )
    fault = failure(facts, last)
    if fault:
        return failed(name, last, fault, highest_level=LEVEL_WITHOUT_TRANSPONDER, remedy=_REMEDY)
    if unit is not None and _fitted_since(unit, last):
        return not_on_record(
            f"{name}: fitted {unit.record.fitted_on}, after the test of {last.record.done_on}",
            highest_level=LEVEL_WITHOUT_TRANSPONDER,
            remedy="Record a test that names the unit's serial number, or test it now.",
            evidence=(last.ref, unit.ref),
        )
    return by_day(
        f"{name}: tested {last.record.done_on}",
        today=facts.today,
        done=last.record.done_on,
        due=transponder_test_due(facts, last),
        months=_months(facts),
        highest_level=LEVEL_WITHOUT_TRANSPONDER,
        remedy=_REMEDY,
        evidence=(last.ref,),
    )


def _name(case: EquipmentCase | None) -> str:
    return "transponder" + (f" {case.position}" if case and case.position else "")


def _newest_test(facts: Facts, case: EquipmentCase | None) -> Logged[Test] | None:
    """Give the newest test of one transponder, passed or not."""
    return newest(
        test
        for test in facts.tests
        if test.record.test == "transponder" and _covers(facts, test, case)
    )


def transponder_test_due(facts: Facts, test: Logged[Test]) -> date:
    """Give the last day on which a transponder test counts."""
    return calendar_months_due(test.record.done_on, _months(facts))


def _months(facts: Facts) -> int:
    return authority(facts.particulars.authority).transponder_test_months.value


def transponder_terms(facts: Facts) -> Iterator[Term]:
    """Give the last day of the test of each transponder that may be used."""
    units: tuple[EquipmentCase | None, ...] = _usable(facts) or (None,)
    for case in units:
        last = _newest_test(facts, case)
        if last is None or failure(facts, last):
            continue
        if case is not None and _fitted_since(case.equipment, last):
            continue
        yield Term(
            rule=transponder_test_overdue.name,
            subject="" if case is None or len(units) == 1 else _place(case),
            what=f"test of {_name(case)}",
            last_day=transponder_test_due(facts, last),
            evidence=(last.ref,),
            remedy=_REMEDY,
        )


def _place(case: EquipmentCase) -> str:
    return case.position or f"unit-{case.equipment.first}"


def _fitted_since(unit: Logged[Equipment], last: Logged[Test]) -> bool:
    """Whether a unit came after a test that does not name it."""
    return (unit.record.fitted_on, unit.first) > moment(last) and not names(
        last.record, unit.record
    )
