"""What the readings of a test say beyond passed: fitness for RVSM, and how the test was made."""

from collections.abc import Iterator

from rvsmlog.facts import EquipmentCase, Facts, Logged
from rvsmlog.findings import Margin
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Ref
from rvsmlog.records.papers import Test
from rvsmlog.rules.base import (
    Result,
    advice,
    met,
    not_applicable,
    not_on_record,
    rule,
)
from rvsmlog.rules.judged_readings import OwnLimit, judgement
from rvsmlog.rules.margins import BELOW_RVSM, by_margin
from rvsmlog.rules.places import Moment, fitted_at, place_at
from rvsmlog.rules.proof import (
    CORRESPONDENCE,
    LEAK_CHECK,
    STANDBY,
    SYSTEMS,
    indicating,
    moment,
    names,
    newest,
    of_unit,
    proof_of,
)
from rvsmlog.rules.work_events import worked
from rvsmlog.science.bench_judgement import RVSM_CAUTION
from rvsmlog.standards.equipment import Function

_REMEDY = (
    "Have the altimeter or its air data computer put right or exchanged for one within the RVSM "
    "data's limit; record the unit fitted, its test and the readings."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """A scale error in RVSM airspace, with its test."""

    test: Logged[Test]
    own: OwnLimit
    readings: Ref


@rule("rvsm-maintenance-guidance", "43-appendix-e-table-1")
def altimeter_beyond_rvsm_limit(facts: Facts) -> Iterator[Result]:
    """Altimeter within Appendix E but beyond the airframe's own RVSM limit of scale error.

    Checks: For altimetry systems 1 and 2 the newest scale error on record of the altimeter or air
    data computer that is fitted there, at FL290 to FL410, and lower down where the limit's table
    reaches, against the limit of the airframe's RVSM data package or instructions for continued
    airworthiness as its particulars state it; between two levels of that table the tighter limit
    holds. An error of exactly the limit passes. Readings count that a test of the position or of
    the serial number brought while the unit was there, and after the last work on it; those of a
    test that names neither show no altimeter to be within the limit. Without a limit on record this
    is advice.

    Why: Table I of appendix E allows 175 ft at FL290 and 235 ft at FL410. That is wider than the 80
    ft of mean altimetry system error allowed to a group of aeroplanes, and leaves nothing of the
    200 ft allowed to one aeroplane for its static source. An altimeter may pass and still use up
    the whole budget.

    Remedy: Have the unit put right or exchanged, and record the test with its readings. Enter the
    limit of the aeroplane's RVSM data in the airframe's particulars.

    Known problems: Whether an air data computer or an altimeter was read is not told apart where a
    test names no serial number: one of the two is enough. Points above the highest one read are not
    judged. With a limit on record and no readings RVSM is lost, for nothing shows the limit kept.
    """
    if facts.particulars.altimeter_scale_limit is None:
        yield advice(
            "the altimeters' own limit of scale error for RVSM is not on record",
            remedy=(
                "Enter the limit of the aeroplane's RVSM data: `rvsmlog airframe add` with "
                "--altimeter-scale-limit, as a correction of entry "
                f"#{facts.airframe.ref.entry}. {RVSM_CAUTION}"
            ),
            evidence=(facts.airframe.ref,),
        )
        return
    for position in SYSTEMS:
        yield _within_own_limit(facts, position)


def _within_own_limit(facts: Facts, position: str) -> Result:
    """Judge the worst scale error of one system."""
    found = [each for case in indicating(facts, position) for each in _of_case(facts, case)]
    worst = min(found, key=lambda each: each.own.margin_ft, default=None)
    known = any(_of_one(each.test.record) for each in found)
    if worst is None:
        return not_on_record(
            f"altimeter {position}: no scale error at RVSM levels on record for the own limit",
            highest_level=BELOW_RVSM,
            remedy="Record the readings of its test with `rvsmlog test readings`, the test naming "
            "the position or the unit's serial number.",
            evidence=(facts.airframe.ref,),
        )
    if worst.own.margin_ft >= 0 and not known:
        tests = ", ".join(f"#{entry}" for entry in dict.fromkeys(e.test.ref.entry for e in found))
        return not_on_record(
            f"altimeter {position}: scale errors on record name neither position nor unit",
            highest_level=BELOW_RVSM,
            remedy=f"Correct the test {tests} to the position or the serial number that was read, "
            "or record one test with its readings for each altimeter.",
            evidence=tuple(dict.fromkeys(each.readings for each in found)),
        )
    own = worst.own
    return by_margin(
        f"altimeter {position}: scale error {own.error_ft:+d} ft at {own.altitude_ft:,} ft, own "
        f"limit {own.limit_ft} ft, test of {worst.test.record.done_on}",
        Margin(value=own.margin_ft, unit="ft"),
        remedy=_REMEDY,
        values={"scale_error_ft": own.error_ft, "altitude_ft": own.altitude_ft},
        limits={"own_limit_ft": own.limit_ft},
        evidence=(worst.test.ref, worst.readings),
    )


def _of_case(facts: Facts, case: EquipmentCase) -> Iterator[_Found]:
    """Give the newest scale errors of a unit, and later ones that may be of it."""
    since = max(_worked_on(facts, case), default=None)
    for test in sorted(facts.tests, key=moment, reverse=True):
        if not _may_be_of(facts, test, case) or (since is not None and moment(test) < since):
            continue
        judged = judgement(facts, test)
        if judged.readings is not None and judged.own:
            for own in judged.own:
                yield _Found(test=test, own=own, readings=judged.readings.ref)
            if _of_one(test.record):
                return


def _worked_on(facts: Facts, case: EquipmentCase) -> Iterator[Moment]:
    """Give when altimeter or computer were worked on where a unit was."""
    for event in worked(facts, ("altimeter", "air-data-computer")):
        if event.at > fitted_at(case) and place_at(facts, case, event.at) in event.positions:
            yield event.at


def _may_be_of(facts: Facts, test: Logged[Test], case: EquipmentCase) -> bool:
    """Whether a test may have read a unit: it names it, or was made where the unit was."""
    if of_unit(test.record):
        return names(test.record, case.equipment.record)
    there = place_at(facts, case, moment(test))
    return moment(test) > fitted_at(case) and test.record.position in ("all", there)


def _of_one(test: Test) -> bool:
    """Whether a test says which altimeter was read."""
    return of_unit(test) or test.position != "all"


@rule("43-appendix-e-b", "25-1325", "43-9")
def appendix_e_not_followed(facts: Facts) -> Iterator[Result]:
    """Test whose readings show another order, other times or fewer points than Appendix E wants.

    Checks: The readings of the tests that stand behind the altimeters and the standby, and of the
    newest leak check and correspondence test: that scale points rise, the time kept at each point,
    the rates, when and where hysteresis and after effect were read, that the leak check went to the
    greatest cabin differential, and which points of Tables I, III and IV have no reading. Only what
    is recorded is looked at.

    Why: A reading taken too soon or too late shows less than the error there is, and a point that
    was left out shows nothing.

    Remedy: Ask whoever signed the test whether it counts, and have it repeated where it does not.
    Correct the readings where they were copied wrongly.

    Known problems: Advice only, for the signature under the test is the licensed person's judgement
    that it was made as wanted. Units tested to their maker's specification have steps of their own.
    Settings outside the range of a barometric scale may be left out and are named all the same.
    How close a hysteresis point lies to its share of the highest altitude is common practice.
    """
    tests = tuple(_standing(facts))
    judged = [(test, judgement(facts, test).departures) for test in tests]
    for test, departures in judged:
        if departures:
            more = f", and {len(departures) - 1} more" if len(departures) > 1 else ""
            yield advice(
                f"test #{test.first} of {test.record.done_on}: {departures[0]}{more}",
                remedy="Ask whoever signed the test whether it counts; see `rvsmlog test show`.",
                values={"departures": "; ".join(departures)},
                evidence=_evidence(facts, test),
            )
    if not tests:
        yield not_applicable("no readings of a test on record")
    elif not any(departures for _, departures in judged):
        yield met(
            f"tests made as appendix E wants, as far as recorded: {len(tests)}",
            evidence=tuple(ref for test in tests for ref in _evidence(facts, test)),
        )


def _standing(facts: Facts) -> Iterator[Logged[Test]]:
    """Give the tests with readings that count today, each once."""
    standby = (STANDBY,) if facts.fitted(Function.STANDBY_ALTIMETER) else ()
    found = [test for where in (*SYSTEMS, *standby) for test in proof_of(facts, where).tests]
    for kind in (LEAK_CHECK, CORRESPONDENCE):
        last = newest(test for test in facts.tests if test.record.test == kind)
        found += [last] if last is not None else []
    for test in {test.first: test for test in found}.values():
        if facts.readings_of(test.first) is not None:
            yield test


def _evidence(facts: Facts, test: Logged[Test]) -> tuple[Ref, ...]:
    readings = facts.readings_of(test.first)
    return (test.ref,) if readings is None else (test.ref, readings.ref)
