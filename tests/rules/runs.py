"""Runs of situations in which one number goes up by small steps: each limit has two sides there."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from datetime import timedelta
from functools import partial
from typing import Any

from rvsmlog.facts import Facts
from tests.rules.conftest import Make
from tests.rules.situations import estimate

MAKE = Make()
_HEALTHY = MAKE.facts()


def _on_day(days: int, **parts: Any) -> Facts:
    """Ask about so many days later."""
    ahead = timedelta(days=days)
    asked = replace(_HEALTHY.question, at=_HEALTHY.question.at + ahead)
    return MAKE.facts(question=asked, today=_HEALTHY.today + ahead, **parts)


def _deferred(days: int) -> Facts:
    case = MAKE.case(
        MAKE.defect(214),
        deferral=MAKE.deferral(215, 214),
        extensions=(MAKE.extension(216, 215, 5),),
    )
    return _on_day(days, defects=(case,))


def _read(phase: str, **fields: int) -> Facts:
    check = MAKE.crosscheck(200, "2027-03-12", "02:10", phase, **fields)
    return MAKE.facts(crosschecks=(check,))


def _tested(**fields: Any) -> Facts:
    newest = MAKE.test(200, done_on=MAKE.on("2027-03-01"), **fields)
    return MAKE.facts(tests=(*MAKE.tests(), newest))


def _bench(feet: int) -> Facts:
    points = ((0, 0), (30_000, feet), (35_000, -feet))
    return MAKE.facts(readings=(MAKE.readings(200, 50, scale_error=points),))


def _reported(feet: int) -> Facts:
    points = ((0, 0), (feet, 30))
    return MAKE.facts(readings=(MAKE.readings(200, 53, correspondence=points),))


def _deviated(feet: int) -> Facts:
    return MAKE.facts(deviations=(MAKE.deviation(200, aad_ft=None, ase_ft=feet),))


def _fed(millilitres: int) -> Facts:
    flow = ((50, millilitres), (410, millilitres))
    return MAKE.facts(oxygen=(MAKE.oxygen_fitted(passenger_flow=flow),))


def _estimated(feet: int) -> Facts:
    found = estimate(260, error_ft=float(feet), low_ft=feet - 40.0, high_ft=feet + 40.0)
    return MAKE.facts(static_errors=(found,))


def _flown(**fields: int) -> Facts:
    return MAKE.facts(question=MAKE.question(flight=MAKE.flight_data(**fields)))


_RUNS: Mapping[str, tuple[Callable[[int], Facts], range]] = {
    "day": (_on_day, range(-10, 800)),
    "day of a deferral": (_deferred, range(30)),
    "altimeter 2": (lambda feet: _read("hourly", primary_2_ft=feet), range(30_780, 31_220)),
    "standby": (lambda feet: _read("hourly", standby_ft=feet), range(30_550, 31_450)),
    "transponder": (lambda feet: _read("hourly", transponder_ft=feet), range(30_860, 31_140)),
    "on the ground": (lambda feet: _read("ground", primary_1_ft=feet), range(550, 730)),
    "tested to": (lambda feet: _tested(tested_altitude_ft=feet), range(24_900, 31_100, 50)),
    "leak": (lambda feet: _tested(test="leak-check", leak_ft=feet), range(250, 330)),
    "correspondence": (
        lambda feet: _tested(test="correspondence", correspondence_ft=feet),
        range(-130, 131),
    ),
    "reported to": (_reported, range(29_900, 31_100, 50)),
    "deviated": (_deviated, range(320)),
    "passenger flow": (_fed, range(1_100, 1_200)),
    "monitored": (lambda ft: MAKE.facts(monitoring=(MAKE.monitoring(60, ase_ft=ft),)), range(320)),
    "estimated": (_estimated, range(-320, 321, 5)),
    "bench": (_bench, range(0, 260, 5)),
    "gauge": (
        lambda psi: MAKE.facts(oxygen_readings=(MAKE.oxygen_reading(gauge_psi=float(psi)),)),
        range(200, 1850, 10),
    ),
    "hold level": (lambda at: _flown(hold_level=at, hold_minutes=20), range(100, 320, 5)),
    "hold": (lambda minutes: _flown(hold_level=160, hold_minutes=minutes), range(0, 200, 2)),
    "recognition": (lambda seconds: _flown(recognition_s=seconds), range(0, 300, 5)),
    "passengers": (lambda count: _flown(passengers=count), range(8)),
    "cruise": (lambda minutes: _flown(cruise_minutes=minutes), range(0, 720, 30)),
}


def runs() -> Iterator[list[tuple[str, Callable[[], Facts]]]]:
    """Give the situations of each run in their order: its name, and what makes it."""
    for name, (make, values) in _RUNS.items():
        yield [(f"{name} {value}", partial(make, value)) for value in values]
