"""Some seven thousand situations, made from a few airframes by changing one thing at a time.

The healthy airframe; one of which there is something of every kind on record; one that flies high
with two pilots; one on the bench. Whatever a field of a record may hold, it holds once: numbers
about what stands there and at the ends of what is allowed, days and instants before and after, each
word of a list, nothing. Each situation has a name that says what was changed.
"""

from collections.abc import Iterable, Iterator
from dataclasses import fields, is_dataclass, replace
from datetime import timedelta
from typing import Any

from rvsmlog.errors import RvsmlogError
from rvsmlog.facts import EquipmentCase, Facts, FlightData, Logged
from rvsmlog.records.base import FieldSpec, Record
from rvsmlog.records.fields import Choice, Flag, Real, Whole, Words
from rvsmlog.records.routes import RouteProfile
from rvsmlog.records.static_errors import StaticError
from rvsmlog.records.trade_fields import Day, EntryNumber, Instant, Level
from rvsmlog.standards.authorities import AUTHORITIES
from rvsmlog.standards.equipment import Function
from rvsmlog.standards.regions import REGIONS
from tests.rules.conftest import Make
from tests.rules.test_drift_rule import drift_log, noisy

MAKE = Make()
_DAYS = (-800, -95, -32, -8, -1, 1, 8, 32, 800)
#: Of many alike, so many from each end are changed.
_ENDS = 2
_LEVELS = (None, 100, 180, 245, 250, 280, 285, 290, 310, 330, 410, 430)
_AHEAD = (-400, -1, 1, 7, 30, 90, 180, 365, 500, 730, 900)


def estimate(entry: int, **fields: Any) -> Logged[StaticError]:
    """Log an estimate of the common error, made after the last flight."""
    given: dict[str, Any] = {
        "estimated_on": MAKE.on("2027-03-12"),
        "first_on": MAKE.on("2027-03-01"),
        "last_on": MAKE.on("2027-03-11"),
        "flights": 12,
        "weather": "analysis",
        "error_ft": 60.0,
        "low_ft": 20.0,
        "high_ft": 100.0,
    }
    return MAKE.log(StaticError(**(given | fields)), entry)


def eventful() -> Facts:
    """Give an airframe of which there is something of every kind on record."""
    make = MAKE
    swap = make.swap(230, 10, 11, "2027-02-20")
    split = make.crosscheck(260, "2027-03-12", "02:20", primary_2_ft=30740)
    checks = (*make.day_of_checks(80, "2027-03-05"), *make.day_of_checks(90, "2027-03-12"), split)
    return make.swapped(
        swap,
        equipment=(
            *make.equipment(),
            make.unit(200, "acas", version="7.1"),
            make.unit(201, "transponder", position="2", fitted_on=make.on("2027-02-10")),
            make.unit(202, "altimeter", position="1", removed=make.removal(203, 202, "2027-02-01")),
        ),
        work=(make.work(210, "2027-02-20", position="1"), make.work(211, "2027-03-13")),
        defects=(
            make.case(make.defect(212), rectification=make.rectification(213, 212)),
            make.case(
                make.defect(214, function="standby-altimeter"),
                deferral=make.deferral(215, 214, highest_level=300),
                extensions=(make.extension(216, 215, 5),),
            ),
            make.case(make.altimetry_fault(217), reviews=(make.review(218, 217),)),
        ),
        approvals=(
            make.approval(40, expires_on=make.on("2027-04-30")),
            make.approval(41, approval="mel", regions=None),
            make.approval(219, approval="rvsm-ads-b", regions=("US",)),
            make.approval(220, withdrawal=make.withdrawal(221, 220, "2027-01-10")),
        ),
        tests=(*make.tests(), make.test(222, position="1", unit_serial="S010")),
        readings=(make.readings(223, 50),),
        monitoring=(make.monitoring(60), make.monitoring(224, measured_on=make.on("2027-02-01"))),
        crosschecks=checks,
        exceedances=(split,),
        deviations=(make.deviation(225, closure=make.closure(226, 225)), make.deviation(227)),
        closures=(make.closure(226, 225),),
        reviews=(make.review(218, 217), make.review(228, 260)),
        static_errors=(estimate(229),),
        oxygen_readings=(make.oxygen_reading(),),
        drift=drift_log(noisy((40, 10.0))),
    )


def high() -> Facts:
    """Give an airframe that flies high under European rules, with two pilots and a hold."""
    make = MAKE
    flight = make.flight_data(
        crew=2,
        second_pilot="RTA",
        hold_level=160,
        hold_minutes=40,
        cruise_minutes=90,
        contaminated_minutes=10,
        contaminated_mode="100-percent",
        differential_psi=8.0,
    )
    return make.facts(
        question=make.question(level=410, flight=flight, region="EUR"),
        airframe=make.airframe(
            authority="eu-cat",
            rvsm_basis="non-group",
            highest_level=430,
            max_differential_psi=8.5,
            static_test_months=12,
            primary_tolerance=((290, 150), (350, 180)),
            ground_tolerance_ft=50,
        ),
        pilots=(make.pilot(2), make.pilot(5, code="RTA", name="R. Tan")),
        knowledge=(make.knowledge(4), make.knowledge(6, pilot="RTA", valid_until=None)),
        oxygen=(
            make.oxygen_fitted(serves=("crew",), passenger_flow=None, system="crew"),
            make.oxygen_fitted(64, system="cabin", crew_emergency_flow=((50, 9000), (410, 9000))),
        ),
        oxygen_readings=(
            make.oxygen_reading(system="crew"),
            make.oxygen_reading(65, system="cabin"),
        ),
    )


def on_the_bench() -> Facts:
    """Give an airframe whose units were tested by themselves, with readings of each test."""
    make = MAKE
    tests = (
        make.test(240, position="1", unit_serial="S010"),
        make.test(241, position="2", unit_serial="S011"),
        make.test(242, position="all", done_on=make.on("2025-05-10")),
        make.test(243, test="leak-check", leak_ft=60, done_on=make.on("2026-08-01")),
        make.test(244, test="transponder", position="1"),
        make.test(245, test="correspondence", position="1", correspondence_ft=100),
        make.test(246, test="correspondence", position="2", tested_altitude_ft=33000),
    )
    readings = (
        make.readings(250, 240, scale_error=((0, 0), (29_000, 60), (30_000, 70), (35_000, 180))),
        make.readings(251, 241),
        make.readings(252, 242, scale_error=((0, 10), (20_000, -40), (35_000, -90))),
    )
    return make.facts(
        tests=tests,
        readings=readings,
        airframe=make.airframe(altimeter_scale_limit=((250, 60), (290, 75))),
        static_errors=(
            estimate(260, error_ft=280.0, low_ft=250.0, high_ft=310.0),
            estimate(261, error_ft=190.0, low_ft=150.0, high_ft=260.0),
            estimate(262),
        ),
        reviews=(make.review(263, 260),),
        crosschecks=make.day_of_checks(90, "2027-03-12")[1:],
        exceedances=(make.crosscheck(264, "2027-02-12", "02:20", primary_2_ft=30740),),
    )


def situations() -> Iterator[tuple[str, Facts]]:
    """Give every situation with its name; of those of one name the first."""
    known: set[str] = set()
    for name, facts in _all():
        if name not in known:
            known.add(name)
            yield name, facts


def _all() -> Iterator[tuple[str, Facts]]:
    bases = (MAKE.facts(), eventful(), high(), on_the_bench())
    for name, facts in zip(("healthy", "eventful", "high", "bench"), bases, strict=True):
        yield name, facts
        for part in fields(facts):
            if part.name in ("question", "time_zone", "today", "seals"):
                continue
            for changed, value in _varied(getattr(facts, part.name)):
                yield f"{name} {part.name}{changed}", replace(facts, **{part.name: value})
        yield from _asked(name, facts)
    yield from _elsewhere()
    for flights in ((5, 10.0),), ((60, 10.0),), ((60, 0.0), (15, 80.0)), ((60, 0.0), (15, -80.0)):
        yield f"drift {flights}", MAKE.facts(drift=drift_log(noisy(*flights)))


def _asked(name: str, facts: Facts) -> Iterator[tuple[str, Facts]]:
    """Ask otherwise: another level, region, day, pilot, flight."""
    question = facts.question
    for level in _LEVELS:
        yield f"{name} level {level}", replace(facts, question=replace(question, level=level))
    for region in REGIONS:
        yield f"{name} region {region}", replace(facts, question=replace(question, region=region))
    for pilot in ("MKO", "XXX"):
        yield f"{name} pilot {pilot}", replace(facts, question=replace(question, pilot=pilot))
    for days in _AHEAD:
        ahead = timedelta(days=days)
        later = replace(question, at=question.at + ahead)
        yield f"{name} in {days} days", replace(facts, question=later, today=facts.today + ahead)
    nothing = replace(question, flight=FlightData())
    yield f"{name} nothing said", replace(facts, question=nothing)
    specs = RouteProfile.kind.by_name
    for each in fields(FlightData):
        if each.name not in specs or each.name == "route":
            continue
        for said, value in _values(getattr(question.flight, each.name), specs[each.name]):
            flight = replace(question.flight, **{each.name: value})
            asked = replace(question, flight=flight)
            yield f"{name} {each.name} {said}", replace(facts, question=asked)


def _elsewhere() -> Iterator[tuple[str, Facts]]:
    """Put the healthy airframe under each authority, at several levels; open each function."""
    for code in AUTHORITIES:
        for basis in ("group", "non-group"):
            airframe = MAKE.airframe(authority=code, rvsm_basis=basis, highest_level=430)
            for level in _LEVELS:
                question = MAKE.question(level=level)
                facts = MAKE.facts(airframe=airframe, question=question)
                yield f"{code} {basis} level {level}", facts
    for function in Function:
        case = MAKE.case(MAKE.defect(200, function=function))
        deferred = MAKE.case(MAKE.defect(200, function=function), deferral=MAKE.deferral(201, 200))
        yield f"{function} broken", MAKE.facts(defects=(case,))
        yield f"{function} deferred", MAKE.facts(defects=(deferred,))
        yield f"{function} missing", MAKE.facts(equipment=MAKE.equipment_without(function))


def _varied(value: Any) -> Iterator[tuple[str, Any]]:
    """Give a part of the facts with one thing of it changed, and what that is."""
    if isinstance(value, tuple):
        yield " none", ()
        for place, each in enumerate(value):
            yield f"[{place}] gone", (*value[:place], *value[place + 1 :])
            if _ENDS <= place < len(value) - _ENDS and not isinstance(each, EquipmentCase):
                continue
            for said, other in _varied(each):
                yield f"[{place}]{said}", (*value[:place], other, *value[place + 1 :])
    elif isinstance(value, Record):
        yield from _records(value)
    elif is_dataclass(value) and not isinstance(value, type):
        yield from _parts(value)


def _parts(case: Any) -> Iterator[tuple[str, Any]]:
    """Give a case, or an entry, with one thing of one of its parts changed."""
    for each in fields(case):
        held = getattr(case, each.name)
        of_records = isinstance(held, tuple) and bool(held) and is_dataclass(held[0])
        if not (is_dataclass(held) or of_records):
            continue
        if each.default is None:
            yield f".{each.name} none", replace(case, **{each.name: None})
        for said, other in _varied(held):
            yield f".{each.name}{said}", replace(case, **{each.name: other})


def _records(record: Record) -> Iterator[tuple[str, Record]]:
    """Give a record with one field changed; what the record itself refuses is left out."""
    for spec in record.kind.fields:
        for said, value in _values(getattr(record, spec.name), spec):
            try:
                yield f".{spec.name} {said}", replace(record, **{spec.name: value})  # type: ignore[type-var]  # records are dataclasses
            except RvsmlogError:
                continue


def _values(held: Any, spec: FieldSpec) -> Iterator[tuple[str, Any]]:
    """Give other values of a field, each with its name."""
    if held is not None and not spec.required and spec.default is None:
        yield "none", None
    for value in _others(held, spec.type):
        if value != held:
            yield str(value), value


def _others(held: Any, kind: Any) -> Iterable[Any]:  # noqa: PLR0911 - one for each type
    """Give other values of a type of field about the one that stands there, if any does."""
    if isinstance(kind, Choice):
        return kind.words
    if isinstance(kind, Words):
        return [(word,) for word in kind.words]
    if isinstance(kind, Flag):
        return (True, False)
    if isinstance(kind, EntryNumber):
        return [held + 1 if held else 10]
    if isinstance(kind, Day | Instant):
        base = held or (MAKE.NOW if isinstance(kind, Instant) else MAKE.NOW.date())
        return [base + timedelta(days=days) for days in _DAYS]
    if isinstance(kind, Whole | Level | Real):
        return _numbers(held, kind)
    return _tables(held) if isinstance(held, tuple) else ()


def _numbers(held: float | None, kind: Whole | Level | Real) -> Iterator[float]:
    """Give numbers about one, and at the ends of what is allowed."""
    low, high = (100, 450) if isinstance(kind, Level) else (kind.low, kind.high)
    if isinstance(kind, Real):
        middle = 10.0 if held is None else held
        wanted = [middle * part for part in (0.98, 1.02, 0.5, 2.0, -1.0)]
    else:
        middle = 300 if held is None else held
        wanted = [middle - 1, middle + 1, middle // 2, middle * 2, -middle, low, high]
    return (min(max(value, low), high) for value in wanted)


def _tables(table: tuple[Any, ...]) -> Iterator[Any]:
    """Give a table of pairs with other values, and shorter ones."""
    yield tuple((at, value // 2) for at, value in table)
    yield tuple((at, value * 3) for at, value in table)
    if len(table) > 1:
        yield table[1:]
        yield table[:-1]
