"""A fleet in which some airframes cannot be judged: each says what a check of it alone says."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.answers.deferral_board import fleet_deferrals
from rvsmlog.answers.fleet import each_told
from rvsmlog.answers.fleet_board import BoardRow, board_rows
from rvsmlog.answers.fleet_due import airframe_due, fleet_due
from rvsmlog.answers.monitoring_plan import monitoring_plan
from rvsmlog.errors import RvsmlogError, StoreError
from rvsmlog.facts import Facts, FlightData, NotJudged, Question
from rvsmlog.store.reading.airframes import registrations
from rvsmlog.store.reading.books import find_book
from rvsmlog.store.reading.facts_reader import read_facts
from rvsmlog.store.writing.checks import Asked, check
from rvsmlog.store.writing.clock import correct_clock
from rvsmlog.store.writing.fleet import check_fleet, each_airframe, fleet_facts
from rvsmlog.store.writing.logbook import writing
from rvsmlog.verdict import judge, judged

if TYPE_CHECKING:
    from tests.store.conftest import Log

NAMES = ("QX-ABC", "QX-DEF", "QX-GHI")


def add_airframe(log: "Log", number: int, registration: str, **work: str) -> None:
    """Enter another airframe, with a piece of work where one is given."""
    made = log.sample("airframe", registration=registration, serial_number=str(number))
    with writing(log.store, "A. Example", log.clock) as writer:
        book = writer.open_book(made.kind.logbook, f"VK71-{number}")
        writer.append(book, made)
        if work:
            writer.append(book, log.sample("work", **work))


@pytest.fixture
def fleet(log: "Log") -> "Log":
    """Give a log with three airframes that can be judged."""
    add_airframe(log, 1009, "QX-DEF", done_on="2027-02-01")
    add_airframe(log, 1010, "QX-GHI", done_on="2027-02-01")
    log.clock.move(hours=2)
    return log


def clock_behind(log: "Log") -> None:
    """Let the newest entry of QX-DEF lie ahead of the clock."""
    log.clock.move(days=400)
    with writing(log.store, "A. Example", log.clock) as writer:
        book = find_book(writer.connection, "VK71-1009")
        assert book is not None
        writer.append(book, log.sample("work", remarks="a"))
    log.clock.move(days=-400)


def time_to_come(log: "Log") -> None:
    """Let an entry of QX-DEF be of a time to come, the clock having been corrected since."""
    log.clock.move(days=365)
    with writing(log.store, "A. Example", log.clock) as writer:
        book = find_book(writer.connection, "VK71-1009")
        assert book is not None
        writer.append(book, log.sample("work", done_on="2028-03-12"))
    log.clock.move(days=-365)
    correct_clock(log.store, log.clock.now, "wrong year", by="A. Example", clock=log.clock)


def damaged(log: "Log") -> None:
    """Let the day of a piece of work on QX-DEF be none."""
    log.tamper(
        "UPDATE work_detail SET done_on = 'soon' WHERE logbook_id = "
        "(SELECT id FROM logbook WHERE name = 'VK71-1009')"
    )


def no_mach(mach: str) -> Callable[["Log"], None]:
    """Let the Mach number of a reading on QX-DEF be one that the database keeps, and is none."""

    def spoil(log: "Log") -> None:
        with writing(log.store, "A. Example", log.clock) as writer:
            book = find_book(writer.connection, "VK71-1009")
            assert book is not None
            writer.append(book, log.sample("crosscheck", mach="0.5"))
        log.tamper(f"UPDATE crosscheck_detail SET mach = {mach}")  # noqa: S608  # a number of ours

    return spoil


def borne_twice(log: "Log") -> None:
    """Let two airframes bear QX-DEF."""
    add_airframe(log, 1011, "QX-DEF")


def alone(log: "Log", registration: str, at: datetime | None) -> tuple[object, str]:
    """Give the highest level of one airframe by a check of it alone, or why there is none."""
    try:
        made = check(log.store, Asked(registration=registration, at=at), log.clock.now)
    except RvsmlogError as fault:
        return None, fault.message
    return made.verdict.highest_level, ""


def told(row: BoardRow) -> tuple[object, str]:
    """Give the same of a row of the board."""
    return row.highest_level, "" if row.not_judged is None else row.not_judged.message


def told_by_lists(log: "Log", at: datetime | None) -> list[tuple[NotJudged, ...]]:
    """Give what the due list, the board of deferrals and the plan of monitoring do not judge."""

    def fleet() -> Iterator[Facts | NotJudged]:
        return each_airframe(log.store, at, log.clock.now)

    due = fleet_due(each_told(fleet(), airframe_due), log.clock.now.date())
    _, undeferred = fleet_deferrals(fleet())
    return [due.not_judged, undeferred, monitoring_plan(fleet()).not_judged]


@pytest.mark.parametrize("backend", ["sqlite"])
@pytest.mark.parametrize("named", [True, False], ids=["at an instant", "now"])
@pytest.mark.parametrize(
    ("spoil", "barred"),
    [
        (clock_behind, {"QX-DEF"}),
        (time_to_come, {"QX-DEF"}),
        (damaged, {"QX-DEF"}),
        (no_mach("9e999"), {"QX-DEF"}),
        (no_mach("-1e308"), {"QX-DEF"}),
        (borne_twice, {"QX-DEF"}),
        (lambda _: None, set()),
    ],
    ids=[
        "clock behind",
        "time to come",
        "damaged",
        "Mach without end",
        "Mach too large",
        "borne twice",
        "sound",
    ],
)
def test_each_airframe_says_what_it_says_alone(
    fleet: "Log", spoil: Callable[["Log"], None], barred: set[str], named: bool
) -> None:
    """One that cannot be judged gives its reason, is never a pass, and bars no other."""
    spoil(fleet)
    at = fleet.clock.now if named else None
    if spoil is clock_behind and named:
        barred = set()  # whoever names the instant has said what time it is
    rows = board_rows(each_airframe(fleet.store, at, fleet.clock.now))
    assert {row.airframe for row in rows} == set(NAMES)
    assert {row.airframe for row in rows if row.not_judged} == barred
    why = tuple(row.not_judged for row in rows if row.not_judged)
    assert told_by_lists(fleet, at) == [why, why, why]
    for row in rows:
        assert told(row) == alone(fleet, row.airframe, at)
    for row, made in zip(
        rows,
        check_fleet(fleet.store, Asked(registration="", at=at), fleet.clock.now),
        strict=True,
    ):
        if isinstance(made, NotJudged):
            assert made == row.not_judged
            assert made.hint
        else:
            assert row.not_judged is None
            assert made.verdict.highest_level == row.highest_level


@pytest.mark.parametrize("backend", ["sqlite"])
def test_what_a_rule_stumbles_on_bars_that_airframe_only(
    fleet: "Log", monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault while judging is a reason too, on the board and in the check."""

    def stumble(judging: Callable[..., Any]) -> Callable[..., Any]:
        def stumbling(facts: Facts, *rules: Any, **options: Any) -> Any:
            if facts.particulars.registration == "QX-GHI":
                raise StoreError("no sense in it", "mend it")
            return judging(facts, *rules, **options)

        return stumbling

    monkeypatch.setattr("rvsmlog.answers.fleet_board.judged", stumble(judged))
    monkeypatch.setattr("rvsmlog.store.writing.fleet.judge", stumble(judge))
    now = fleet.clock.now
    why = NotJudged(
        airframe="QX-GHI", logbook="VK71-1010", message="no sense in it", hint="mend it"
    )
    rows = board_rows(each_airframe(fleet.store, None, now))
    assert [row.not_judged for row in rows] == [None, None, why]
    assert rows[2].highest_level is None
    made = check_fleet(fleet.store, Asked(registration=""), now)
    assert [isinstance(each, NotJudged) for each in made] == [False, False, True]


@pytest.mark.parametrize("backend", ["sqlite"])
def test_what_a_list_stumbles_on_leaves_out_that_airframe_only(
    fleet: "Log", monkeypatch: pytest.MonkeyPatch
) -> None:
    """The due list, the board of deferrals and the plan go on with the others."""

    def stumble(facts: Facts) -> Any:
        if facts.particulars.registration == "QX-GHI":
            raise StoreError("no sense in it", "mend it")
        return ()

    for name in ("fleet_due.due_items", "deferral_board.deferred", "monitoring_plan.in_use"):
        monkeypatch.setattr(f"rvsmlog.answers.{name}", stumble)
    why = NotJudged(
        airframe="QX-GHI", logbook="VK71-1010", message="no sense in it", hint="mend it"
    )
    assert told_by_lists(fleet, fleet.clock.now) == [(why,), (why,), (why,)]


@pytest.mark.parametrize("backend", ["sqlite"])
def test_the_operators_logbook_bars_all(fleet: "Log") -> None:
    """What is wrong with it concerns every airframe, and is refused as for one."""
    fleet.clock.move(days=400)
    fleet.add("pilot")
    fleet.clock.move(days=-400)
    for ask in (
        lambda: board_rows(each_airframe(fleet.store, None, fleet.clock.now)),
        lambda: check_fleet(fleet.store, Asked(registration=""), fleet.clock.now),
        lambda: check(fleet.store, Asked(registration="QX-ABC"), fleet.clock.now),
    ):
        with pytest.raises(StoreError, match="the newest entry of operator was made at"):
            ask()


@pytest.mark.parametrize("backend", ["sqlite"])
def test_answers_that_leave_none_out_are_refused(fleet: "Log") -> None:
    """A due list with a hole in it would be taken for a whole one."""
    damaged(fleet)
    with pytest.raises(StoreError, match="done_on of an entry"):
        fleet_facts(fleet.store, fleet.clock.now)


@pytest.mark.parametrize("backend", ["sqlite"])
def test_a_fleet_as_it_was_known(fleet: "Log") -> None:
    """What was known at an instant, of each airframe; one that came later was not on record."""
    fleet.clock.move(hours=1)
    then = fleet.clock.now
    fleet.clock.move(hours=1)
    add_airframe(fleet, 1012, "QX-NEW")
    asked = Asked(registration="", as_of=then.isoformat())
    *others, new = check_fleet(fleet.store, asked, fleet.clock.now)
    assert isinstance(new, NotJudged)
    assert "had no particulars at entry 0" in new.message
    for name, made in zip(NAMES, others, strict=True):
        assert made == check(fleet.store, replace(asked, registration=name), fleet.clock.now)
    with pytest.raises(RvsmlogError, match="an entry number needs its airframe"):
        check_fleet(fleet.store, replace(asked, as_of="2"), fleet.clock.now)


@pytest.mark.parametrize("backend", ["sqlite"])
def test_what_is_asked_wrongly_is_refused_once(fleet: "Log") -> None:
    """A route that is not there is a fault of the question and of no airframe."""
    now = fleet.clock.now
    asked = Asked(registration="", flight=FlightData(route="NOWHERE"))
    with pytest.raises(RvsmlogError, match="there is no route 'NOWHERE'"):
        check_fleet(fleet.store, asked, now)
    with pytest.raises(RvsmlogError, match="the hold lacks its time"):
        check_fleet(fleet.store, replace(asked, flight=FlightData(hold_level=140)), now)
    with pytest.raises(RvsmlogError, match="is past"):
        check_fleet(fleet.store, Asked(registration="", on=(now - timedelta(days=2)).date()), now)


@pytest.mark.parametrize("backend", ["sqlite"])
def test_a_look_ahead_at_the_fleet(fleet: "Log") -> None:
    """A day ahead is the same question to each as to one."""
    asked = Asked(registration="", on=(fleet.clock.now + timedelta(days=40)).date())
    for name, made in zip(NAMES, check_fleet(fleet.store, asked, fleet.clock.now), strict=True):
        assert made == check(fleet.store, replace(asked, registration=name), fleet.clock.now)


@pytest.mark.parametrize("backend", ["sqlite"])
def test_one_state_of_the_store(fleet: "Log") -> None:
    """The facts of the board are those of each airframe read alone."""
    at = fleet.clock.now
    found = list(each_airframe(fleet.store, at, at))
    with fleet.store.reading() as connection:
        for (_, name), facts in zip(registrations(connection), found, strict=True):
            book = find_book(connection, name)
            assert book is not None
            assert facts == read_facts(connection, book, Question(at=at))
