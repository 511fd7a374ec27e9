"""Whatever the library is handed, it answers, or says what is wrong with it as an input error."""

import json
import shutil
from collections.abc import Callable, Iterator
from dataclasses import fields
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from rvsmlog import library
from rvsmlog.dates import now
from rvsmlog.facts import FlightData, NotJudged
from rvsmlog.library import Asked, InputError, Question, Store, open_store
from rvsmlog.records.checks import GoNoGo

REG = "QX-ALD"
AT = datetime(2026, 11, 24, 8, 0, tzinfo=UTC)
NAN, INFINITY = float("nan"), float("inf")


class NoZone(tzinfo):
    """A time zone that does not know its offset."""

    def utcoffset(self, _when: datetime | None) -> None:
        """Know nothing."""

    def dst(self, _when: datetime | None) -> None:
        """Know nothing."""

    def tzname(self, _when: datetime | None) -> None:
        """Know nothing."""


NO_INSTANTS: tuple[Any, ...] = (
    *(AT.replace(tzinfo=None), date(2026, 11, 24), "2026-11-24T08:00Z", 0, 1.5, b"x", [], NAN),
    *(object(), True, datetime.max.replace(tzinfo=UTC), AT.replace(tzinfo=NoZone())),
    datetime.min.replace(tzinfo=timezone(timedelta(hours=14))),
    *(datetime(2200, 1, 1, tzinfo=UTC), datetime(1949, 12, 31, 23, 59, tzinfo=UTC)),
)
NO_DAYS: tuple[Any, ...] = (
    AT,
    AT.replace(tzinfo=None),
    "2026-11-24",
    0,
    NAN,
    [],
    True,
    date.max,
    date.min,
)
NO_TEXTS: tuple[Any, ...] = (
    5,
    NAN,
    True,
    b"QX-ALD",
    [],
    ("QX-ALD",),
    object(),
    "\ud800",
    "QX-ALD\0",
    AT,
)
NO_NUMBERS: tuple[Any, ...] = (
    True,
    122.0,
    1.5,
    NAN,
    None,
    "122",
    b"1",
    [],
    object(),
    AT,
    0,
    -1,
    2**70,
)
NO_LEVELS: tuple[Any, ...] = (310.0, -1, 0, True, 661, NAN, "310", b"310", [], AT)
#: The shortest log that a check of REG can be kept in.
LOG: dict[str, dict[str, Any]] = {
    "operator": {"name": "Quill Air", "time_zone": "UTC"},
    "pilot": {"code": "IVO", "name": "I. Example"},
    "airframe": {
        "registration": REG,
        "type_designator": "VK71",
        "serial_number": "1012",
        "authority": "us-91",
        "rvsm_basis": "group",
        "type_certificate": "after-1997-04-09",
        "highest_level": 310,
    },
}
#: Of each of a flight's data, what no option would have given.
NO_DATA: dict[str, tuple[Any, ...]] = {
    "differential_psi": (NAN, INFINITY, -1, 12.1, "9", True, []),
    "track": (NAN, -1, 361, "270", [], True),
    "split": ("banana", 5, []),
    "passengers": (1.5, -1, 101, True, "2", NAN),
    "crew": (0, 2.0, 21, True),
    "hold_level": (0, 140.0, "FL140", True, 140),
    "hold_minutes": (-1, 30.5, NAN, 30),
    "recognition_s": (-1, 601, 17.0),
    "descent_fpm": (0, 20_001, 5000.0, -5000),
    "final_descent_fpm": (0, 2000.0),
    "cruise_minutes": (-1, 60.0, 1441),
    "contaminated_minutes": (-1, 1.5),
    "contaminated_mode": ("pure", 5),
    "route": (5, b"COAST", [], "\ud800", "NO-SUCH-ROUTE"),
    "second_pilot": (5, b"IVO", [], True),
}


@pytest.fixture
def store(demo_file: Path, tmp_path: Path) -> Iterator[Store]:
    """Open a copy of the demo store; the test leaves it as it was."""
    path = shutil.copy(demo_file, tmp_path / "copy.sqlite3")
    with open_store(str(path)) as opened:
        before = library.describe_store(opened).seals
        yield opened
        assert library.describe_store(opened).seals == before


def refused(ask: Callable[[], object], given: object) -> None:
    """Hold that what was given is bad input, with a hint."""
    with pytest.raises(InputError) as caught:
        pytest.fail(f"{given!r} was answered with {ask()!r:.200}")
    assert caught.value.hint, given


def asked(**said: Any) -> Asked:
    """Ask about an airframe."""
    return Asked(**{"registration": REG, "at": AT, "level": 310, "pilot": "IVO", **said})


def reading(store: Store, clock: Callable[[], Any] = now, **said: Any) -> object:
    """Record a cross-check."""
    fields = {
        "taken_at": AT,
        "phase": "level",
        "level": 300,
        "primary_1_ft": 30_000,
        "primary_2_ft": 29_990,
    }
    given: dict[str, Any] = {"by": "M. Example", "registration": REG, **said}
    return library.record(store, "crosscheck", fields, clock=clock, **given)


def test_only_facts_are_judged(store: Store) -> None:
    """Nothing else comes out as a verdict; an airframe that cannot be judged says why."""
    facts = library.read_facts(store, REG, Question(at=AT, level=310, pilot="IVO"))
    assert library.judge(facts).answer == "GO"
    for given in (None, 5, "QX-ALD", [], {}, object(), facts.question, type(facts)):
        refused(lambda given=given: library.judge(given), given)  # type: ignore[misc]  # a lambda in a loop has no type told
    lost = NotJudged(airframe=REG, logbook="VK71-1012", message="is damaged", hint="restore it")
    with pytest.raises(InputError) as caught:
        library.judge(lost)  # type: ignore[arg-type]  # the wrong type is what is tried
    assert (caught.value.message, caught.value.hint) == (
        "QX-ALD cannot be judged: is damaged",
        "restore it",
    )


def test_a_question_is_one(store: Store, tmp_path: Path) -> None:
    """Each takes its own: one of the other functions' is none, nor is the airframe's name."""
    page = tmp_path / "sheet.html"
    others: tuple[Any, ...] = (Question(at=AT, level=310), REG, None, AT, {"at": AT}, 310)
    for given in others:
        of_asked: tuple[Callable[[Any], object], ...] = (
            lambda asked: library.check(store, asked, AT),
            lambda asked: library.check_and_record(store, asked, by="M. Example", clock=now),
            lambda asked: library.check_fleet(store, asked, AT),
            lambda asked: library.levels(store, asked, AT),
            lambda asked: library.oxygen(store, asked, AT),
            lambda asked: library.write_sheet(store, page, asked, AT),
        )
        for ask in of_asked:
            refused(partial(ask, given), given)
    none: tuple[Any, ...] = (asked(), REG, None, AT)
    for each in none:
        refused(partial(library.read_facts, store, REG, each), each)
    assert not page.exists()


def test_an_instant_is_one(store: Store, tmp_path: Path) -> None:
    """Aware and within the log's calendar, wherever one is asked for."""
    page = tmp_path / "page.html"
    whole = library.dossier(store, "QX-ESK", AT)
    asks: tuple[Callable[[Any], object], ...] = (
        lambda at: library.read_facts(store, REG, Question(at=at)),
        lambda at: library.check(store, asked(at=at), AT),
        lambda at: library.check(store, asked(), at),
        lambda at: library.check_and_record(store, asked(), by="x", clock=lambda: at),
        lambda at: library.check_and_record(store, asked(at=at), by="x", clock=now),
        lambda at: library.check_fleet(store, asked(at=at), AT),
        lambda at: library.check_fleet(store, asked(), at),
        lambda at: library.levels(store, asked(at=at, level=None), AT),
        lambda at: library.oxygen(store, asked(at=at), AT),
        lambda at: library.board(store, at),
        lambda at: library.due(store, at, REG),
        lambda at: library.deferrals(store, at),
        lambda at: library.monitoring_plan(store, at),
        lambda at: library.drift(store, REG, at),
        lambda at: library.draw_drift(store, REG, at, tmp_path / "drift.svg"),
        lambda at: library.dossier(store, REG, at),
        lambda at: library.write_dossier(whole, page, at),
        lambda at: library.write_board(store, page, AT, at),
        lambda at: library.write_sheet(store, page, asked(), at),
        lambda at: library.unit_history(store, "5-1043", at),
        lambda at: library.judged_test(store, "QX-BRE", 35, at),
        lambda at: library.look_at_clock(store, at),
        lambda at: library.upgrade_store(str(store.path), at),
        lambda at: library.backup(store, tmp_path / "b.sqlite3", now=at),
        lambda at: reading(store, clock=lambda: at),
        lambda at: library.strike(store, REG, 40, "r", by="x", clock=lambda: at),
    )
    for ask in asks:
        for at in NO_INSTANTS:
            refused(lambda: ask(at), at)  # noqa: B023 - asked at once
    for at in (None,):
        for ask in (asks[0], asks[2], asks[13], asks[15], asks[19], asks[20]):
            refused(lambda: ask(at), at)  # noqa: B023 - asked at once
    assert not page.exists()


def test_a_day_is_one(store: Store) -> None:
    """A plain date within the log's calendar."""
    for day in NO_DAYS:
        refused(lambda: library.dossier(store, REG, AT, first=day), day)  # noqa: B023  # called at once
        refused(lambda: library.dossier(store, REG, AT, last=day), day)  # noqa: B023  # called at once
        refused(lambda: library.check(store, asked(at=None, on=day), AT), day)  # noqa: B023  # called at once
        refused(lambda: library.within((), day), day)  # noqa: B023  # called at once


def test_a_level_is_one(store: Store) -> None:
    """Whoever asks, and however the question is built."""
    for level in NO_LEVELS:
        question = Question(at=AT, level=level, pilot="IVO")
        refused(lambda: library.read_facts(store, REG, question), level)  # noqa: B023  # called at once
        refused(lambda: library.check(store, asked(level=level), AT), level)  # noqa: B023  # called at once


@pytest.mark.parametrize("name", NO_DATA)
def test_data_of_a_flight_are_those_of_an_option(store: Store, name: str) -> None:
    """Nothing is judged, and nothing kept as JSON that is none; a hold has a level and a time."""
    assert set(NO_DATA) == {each.name for each in fields(FlightData)}
    for value in NO_DATA[name]:
        flight = FlightData(**{name: value})
        whole = {"hold_level": 140, "hold_minutes": 30, name: value}
        for data in (flight, FlightData(**whole)) if "hold" in name else (flight,):
            if data.said() == {"hold_level": 140, "hold_minutes": 30}:
                continue
            said = asked(flight=data)
            refused(lambda: library.check(store, said, AT), value)  # noqa: B023 - asked at once
            refused(lambda: library.check_fleet(store, said, AT), value)  # noqa: B023  # called at once
            refused(lambda: library.check_and_record(store, said, by="x", clock=now), value)  # noqa: B023  # called at once
            if name != "route":  # which is looked up before a question is made
                question = Question(at=AT, level=310, flight=data)
                refused(lambda: library.read_facts(store, REG, question), value)  # noqa: B023  # called at once


def test_what_a_check_keeps_of_its_flight_is_json(demo_file: Path, tmp_path: Path) -> None:
    """Data at the bounds of the options are kept, and read back by any strict reader of JSON."""
    with open_store(str(shutil.copy(demo_file, tmp_path / "copy.sqlite3"))) as store:
        flight = FlightData(
            track=360.0, split="000-179", crew=1, passengers=0, differential_psi=12.0
        )
        kept = library.check_and_record(store, asked(flight=flight), by="x", clock=now)
        (*_, last) = library.entries(store, "gonogo", REG)
        assert kept.entry == last.ref
        assert isinstance(last.record, GoNoGo)

        def no_constant(name: str) -> None:
            raise ValueError(name)

        assert json.loads(last.record.question or "", parse_constant=no_constant) == flight.said()


@pytest.mark.parametrize(
    "at",
    [
        datetime(1950, 1, 1, tzinfo=UTC),
        datetime(2199, 12, 31, 23, 59, 59, 999_999, tzinfo=UTC),
        datetime(2199, 12, 31, 13, 0, tzinfo=timezone(timedelta(hours=-10, minutes=-30))),
    ],
)
def test_what_is_recorded_can_be_taken_in_elsewhere(
    demo_file: Path, tmp_path: Path, at: Any
) -> None:
    """An instant at either end of the calendar is kept, exported, imported and copied."""
    with open_store(str(shutil.copy(demo_file, tmp_path / "copy.sqlite3"))) as store:
        kept = library.check_and_record(store, asked(at=at), by="x", clock=now)
        assert kept.entry is not None
        library.export_store(store, tmp_path / "all.jsonl")
        seals = set(library.describe_store(store).seals or ())
        with library.create_store(str(tmp_path / "new.sqlite3")) as new:
            library.import_store(new, tmp_path / "all.jsonl", by="x", clock=now)
            assert set(library.describe_store(new).seals or ()) == seals
        with library.create_store(str(tmp_path / "copied.sqlite3")) as new:
            library.copy_store(store, new, by="x", clock=now)
            assert set(library.describe_store(new).seals or ()) == seals


def test_a_text_is_one(store: Store, tmp_path: Path) -> None:
    """Registrations, names, codes, reasons and serial numbers."""
    asks: tuple[Callable[[Any], object], ...] = (
        lambda text: library.due(store, AT, text),
        lambda text: library.read_facts(store, text, Question(at=AT)),
        lambda text: library.check(store, asked(registration=text), AT),
        lambda text: library.entries(store, "crosscheck", text),
        lambda text: library.entry(store, 3, text),
        lambda text: library.drift(store, text, AT),
        lambda text: library.judged_test(store, text, 35, AT),
        lambda text: library.export_airframe(store, text, tmp_path / "one.jsonl"),
        lambda text: library.strike(store, text, 40, "r", by="x", clock=now),
        lambda text: library.strike(store, REG, 40, text, by="x", clock=now),
        lambda text: library.strike(store, REG, 40, "r", by=text, clock=now),
        lambda text: reading(store, by=text),
        lambda text: reading(store, registration=text),
        lambda text: reading(store, corrects=40, reason=text),
        lambda text: library.check_and_record(store, asked(), by=text, clock=now),
        lambda text: library.check(store, asked(pilot=text), AT),
        lambda text: library.check(store, asked(region=text), AT),
        lambda text: library.check(store, asked(as_of=text), AT),
        lambda text: library.unit_history(store, text, AT),
        lambda text: library.unit_history(store, "5-1043", AT, text),
        library.parse_instant,
        library.parse_claim,
        library.kind,
        lambda text: library.entries(store, text),
    )
    for ask in asks:
        for text in NO_TEXTS:
            refused(lambda: ask(text), text)  # noqa: B023 - asked at once
    for ask in (asks[1], asks[2], asks[5], asks[9], asks[10], asks[11], asks[18]):
        refused(lambda: ask(None), None)  # noqa: B023 - asked at once


def test_a_number_of_an_entry_is_one(store: Store) -> None:
    """True is no 1, and 122.0 no 122: what they named would be struck out for good."""
    asks: tuple[Callable[[Any], object], ...] = (
        lambda number: library.strike(store, REG, number, "r", by="x", clock=now),
        lambda number: library.entry(store, number, REG),
        lambda number: library.judged_test(store, "QX-BRE", number, AT),
        lambda number: library.deviation_report(store, "QX-BRE", number),
        lambda number: reading(store, corrects=number or 0, reason="r"),
    )
    for ask in asks:
        for number in NO_NUMBERS:
            refused(lambda: ask(number), number)  # noqa: B023 - asked at once


def test_two_pilots_are_no_crew_of_one(store: Store) -> None:
    """A second pilot is named where one crew is counted: both options are said, none is guessed."""
    flight = FlightData(crew=1, passengers=2, second_pilot="TQU")
    routed = FlightData(route="RIDGE", second_pilot="TQU")
    question = Question(at=AT, level=310, pilot="IVO", flight=flight)
    for ask in (
        lambda: library.read_facts(store, REG, question),
        lambda: library.check(store, asked(flight=flight), AT),
        lambda: library.check(store, asked(flight=routed), AT),
        lambda: library.check_fleet(store, asked(flight=routed), AT),
        lambda: library.check_and_record(store, asked(flight=flight), by="x", clock=now),
    ):
        with pytest.raises(InputError, match="--second-pilot names TQU") as caught:
            ask()
        assert "--people" in caught.value.hint
