"""Facts read from the store: as known at an entry or instant, and of what had happened by then."""

import random
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import event

from rvsmlog.errors import InputError
from rvsmlog.facts import Facts, Logged, Question
from rvsmlog.records.base import Record
from rvsmlog.store.reading.comparisons import NEWEST_CROSSCHECKS
from rvsmlog.store.reading.facts_reader import NEWEST_FLIGHTS, Heads, heads_at, read_facts
from rvsmlog.store.writing.logbook import writing

if TYPE_CHECKING:
    from tests.store.conftest import Clock, Log

NOW = datetime(2027, 3, 14, 2, 30, tzinfo=UTC)


def facts(log: "Log", at: datetime = NOW, **heads: int) -> Facts:
    """Read the facts about the airframe for an instant, as known at some entries."""
    with log.store.reading() as connection:
        known = Heads(**heads) if heads else None
        return read_facts(connection, log.book(), Question(at=at), known)


def entries(records: tuple[Logged[Any], ...]) -> list[int]:
    """Give the entry numbers of records."""
    return [logged.ref.entry for logged in records]


def test_today_is_the_day_in_the_operators_zone(log: "Log") -> None:
    """In Auckland (UTC+13 in March) the 15th begins at 11:00 UTC on the 14th."""
    assert facts(log).today == date(2027, 3, 14)
    assert facts(log, NOW.replace(hour=10, minute=59)).today == date(2027, 3, 14)
    assert facts(log, NOW.replace(hour=11, minute=0)).today == date(2027, 3, 15)
    assert facts(log).time_zone == "Pacific/Auckland"


def test_without_an_operator_days_are_utc(log: "Log") -> None:
    """Before the operator was entered there is none, and days count in UTC."""
    read = facts(log, NOW.replace(hour=23), airframe=1, operator=0)
    assert (read.operator, read.time_zone, read.today) == (None, "UTC", date(2027, 3, 14))
    assert [(seal.logbook, seal.entry) for seal in read.seals] == [
        ("VK71-1007", 1),
        ("operator", 0),
    ]


def test_a_withdrawal_that_lies_ahead_is_known(log: "Log") -> None:
    """Asked about the day before it, the approval has its withdrawal beside it: it ends then."""
    approval = log.add("approval")
    withdrawal = log.add("withdrawal", approval=approval, withdrawn_on="2027-03-01")
    (case,) = facts(log, datetime(2027, 2, 27, 12, tzinfo=UTC)).approvals
    assert case.withdrawal is not None
    assert entries((case.approval, case.withdrawal)) == [approval, withdrawal]


def test_everything_on_record_is_read(log: "Log") -> None:
    """Each kind of record has its place in the facts, with what belongs to it beside it."""
    log.add("pilot")
    log.add("knowledge")
    unit = log.add("equipment")
    removal = log.add("removal", equipment=unit)
    work, test, monitoring = log.add("work"), log.add("test"), log.add("monitoring")
    defect = log.add("defect")
    deferral = log.add("deferral", defect=defect)
    extension = log.add("extension", deferral=deferral)
    fixed = log.add("rectification", defect=defect)
    reviews = [log.add("review", subject=defect), log.add("review", subject=deferral)]
    fault = log.add("altimetry-fault")
    approval = log.add("approval")
    withdrawal = log.add("withdrawal", approval=approval)
    flight, check = log.add("flight"), log.add("crosscheck")
    deviation = log.add("deviation")
    closure = log.add("closure", deviation=deviation)
    read = facts(log)
    assert (entries(read.pilots), entries(read.knowledge)) == ([2], [3])
    (unit_case,) = read.equipment
    assert unit_case.removal is not None
    assert entries((unit_case.equipment, unit_case.removal)) == [unit, removal]
    assert entries((*read.work, *read.tests, *read.monitoring)) == [work, test, monitoring]
    (case, other) = read.defects
    assert case.deferral is not None
    assert case.rectification is not None
    assert entries((case.defect, case.deferral, case.rectification)) == [defect, deferral, fixed]
    assert (entries(case.extensions), entries(case.reviews)) == ([extension], reviews)
    assert (entries((other.defect,)), other.is_open) == ([fault], True)
    (approved,) = read.approvals
    assert approved.withdrawal is not None
    assert entries((approved.approval, approved.withdrawal)) == [approval, withdrawal]
    assert (entries(read.flights), entries(read.crosschecks)) == ([flight], [check])
    (deviated,) = read.deviations
    assert deviated.closure is not None
    assert entries((deviated.deviation, deviated.closure)) == [deviation, closure]
    assert entries(read.reviews) == reviews


def test_what_happened_later_is_left_out(log: "Log") -> None:
    """Asked about an earlier instant, what happened after it is not there, though on record."""
    unit = log.add("equipment", fitted_on="2027-01-10")
    log.add("removal", equipment=unit, removed_on="2027-02-01")
    defect = log.add("defect", found_at="2027-01-15T10:00Z")
    log.add("deferral", defect=defect, deferred_on="2027-01-16")
    log.add("rectification", defect=defect, done_at="2027-01-20T09:00Z")
    log.add("crosscheck", taken_at="2027-01-18T00:00Z", primary_2_ft=31300)
    log.add("flight", off_at="2027-01-18T00:00Z", on_at="2027-01-18T03:00Z")
    log.add("work", done_on="2027-01-18")

    def read(text: str) -> Facts:
        return facts(log, datetime.fromisoformat(text))

    first = read("2027-01-09T10:59:59+00:00")
    assert (first.equipment, first.defects, first.crosschecks) == ((), (), ())
    fitted = read("2027-01-09T11:00:00+00:00")  # The 10th in Auckland (UTC+13 in January).
    assert [case.is_fitted for case in fitted.equipment] == [True]
    found = read("2027-01-15T10:00:00+00:00")
    assert [(case.is_open, case.deferral) for case in found.defects] == [(True, None)]
    before, during = read("2027-01-17T23:59:59.999999+00:00"), read("2027-01-18T00:00:00+00:00")
    for name in ("crosschecks", "exceedances", "flights"):
        assert (len(getattr(before, name)), len(getattr(during, name))) == (0, 1)
    assert (len(before.work), len(during.work)) == (1, 1)  # The 18th began in Auckland already.
    assert during.defects[0].is_open
    assert during.defects[0].deferral is not None
    assert not read("2027-01-20T09:00:00+00:00").defects[0].is_open
    assert not read("2027-02-01T00:00:00+00:00").equipment[0].is_fitted


def test_corrections_are_read_as_corrected(log: "Log") -> None:
    """A corrected record stands once, in its place; a struck one not at all."""
    early = log.add("work", done_on="2027-01-01", description="one")
    later = log.add("work", done_on="2027-01-05", description="two")
    twice = log.add("work", done_on="2027-01-05", description="twice")
    moved = log.correct(early, "work", done_on="2027-01-09", description="one")
    log.strike(twice)
    assert entries(facts(log).work) == [later, moved]
    assert [logged.first for logged in facts(log).work] == [later, early]


def test_reference_follows_a_correction(log: "Log") -> None:
    """What names a defect stays with it when the defect is corrected afterwards."""
    defect = log.add("defect")
    log.add("deferral", defect=defect)
    log.add("review", subject=defect)
    corrected = log.correct(defect, "defect", description="both flags")
    (case,) = facts(log).defects
    assert (case.defect.ref.entry, case.defect.first) == (corrected, defect)
    assert case.deferral is not None
    assert len(case.reviews) == 1
    assert len(facts(log).reviews_of(defect)) == 1


def test_newest_particulars_are_those_made_last(log: "Log") -> None:
    """A correction of older particulars does not put them before newer ones."""
    newer = log.add("airframe", highest_level=410)
    log.correct(1, "airframe", highest_level=300)
    assert facts(log).airframe.ref.entry == newer
    log.strike(newer)
    assert facts(log).particulars.highest_level == 300


def test_newest_readings_go_by_their_time(log: "Log", sample: Callable[..., Record]) -> None:
    """The newest cross-checks and flights are those of the latest time, however entered."""
    start = datetime(2026, 6, 1, tzinfo=UTC)
    count = NEWEST_CROSSCHECKS + 15
    order = list(range(count))
    random.Random(5).shuffle(order)
    times = [start + timedelta(hours=hour) for hour in order]
    with writing(log.store, "A. Example", log.clock) as writer:
        book = log.book()
        writer.append_many(book, (sample("crosscheck", taken_at=time) for time in times))
        writer.append_many(
            book, (sample("flight", off_at=time, on_at=time + timedelta(hours=1)) for time in times)
        )
    read = facts(log)
    expected = [start + timedelta(hours=hour) for hour in range(count)]
    assert [each.record.taken_at for each in read.crosschecks] == expected[-NEWEST_CROSSCHECKS:]
    assert [each.record.off_at for each in read.flights] == expected[-NEWEST_FLIGHTS:]
    earlier = facts(log, start + timedelta(hours=9, minutes=30))
    assert [each.record.taken_at for each in earlier.crosschecks] == expected[:10]


def test_corrections_leave_no_gap_in_the_newest(log: "Log", sample: Callable[..., Record]) -> None:
    """However many of the newest were struck out, as many older ones are read instead."""
    start = datetime(2026, 6, 1, tzinfo=UTC)
    count = 3 * NEWEST_FLIGHTS
    with writing(log.store, "A. Example", log.clock) as writer:
        book = log.book()
        made = writer.append_many(
            book,
            (
                sample("flight", off_at=off_at, on_at=off_at + timedelta(hours=1))
                for off_at in (start + timedelta(days=day) for day in range(count))
            ),
        )
        for number in made[-2 * NEWEST_FLIGHTS :]:
            writer.strike(book, number, "entered twice")
    assert entries(facts(log).flights) == list(made[:NEWEST_FLIGHTS])
    as_before = facts(log, airframe=made[-1], operator=1)
    assert entries(as_before.flights) == list(made[-NEWEST_FLIGHTS:])


def test_exceedances_are_found_however_old(log: "Log", sample: Callable[..., Record]) -> None:
    """Comparisons in flight beyond 200 ft are read even when hundreds of newer ones are good."""
    old = [
        log.add("crosscheck", taken_at="2020-01-01T00:00Z", primary_2_ft=31201),
        log.add("crosscheck", taken_at="2020-01-01T01:00Z", primary_2_ft=30799, phase="hourly"),
    ]
    log.add("crosscheck", taken_at="2020-01-01T02:00Z", primary_2_ft=31200)
    ground = {"phase": "ground", "field_elevation_ft": 100, "qnh_hpa": "1013.25"}
    log.add("crosscheck", taken_at="2020-01-01T03:00Z", primary_2_ft=31900, **ground)
    corrected = log.add("crosscheck", taken_at="2020-01-01T04:00Z", primary_2_ft=31900)
    log.correct(corrected, "crosscheck", taken_at="2020-01-01T04:00Z", primary_2_ft=31000)
    start = datetime(2026, 6, 1, tzinfo=UTC)
    with writing(log.store, "A. Example", log.clock) as writer:
        good = (sample("crosscheck", taken_at=start + timedelta(hours=hour)) for hour in range(90))
        writer.append_many(log.book(), good)
    read = facts(log)
    assert entries(read.exceedances) == old
    assert not {logged.ref.entry for logged in read.crosschecks} & set(old)


def test_own_tolerance_tightens_what_counts_as_an_exceedance(log: "Log") -> None:
    """The tightest of the manual's tolerances decides what is read; it never loosens 200 ft."""
    close = log.add("crosscheck", taken_at="2027-01-01T00:00Z", primary_2_ft=31101)
    wide = log.add("crosscheck", taken_at="2027-01-01T01:00Z", primary_2_ft=31201)
    log.add("crosscheck", taken_at="2027-01-01T02:00Z", primary_2_ft=31100)
    assert entries(facts(log).exceedances) == [wide]
    log.add("airframe", primary_tolerance="290:100,350:150")
    assert entries(facts(log).exceedances) == [close, wide]


@pytest.fixture
def history(log: "Log", clock: "Clock") -> list[tuple[Facts, int, int, datetime]]:
    """Write a log at random; give the facts after each entry, with the newest numbers then."""
    rng = random.Random(11)
    seen = []
    made: dict[str, list[int]] = {}
    kinds = ("crosscheck", "flight", "work", "defect", "approval", "airframe", "deferral", "review")
    for step in range(40):
        clock.move(minutes=rng.choice([0, 1, 30]))
        kind = rng.choice((*kinds, "pilot", "strike", "correct"))
        written(log, rng, made, kind, step)
        read = facts(log)
        newest = {seal.logbook: seal.entry for seal in read.seals}
        seen.append((read, newest["VK71-1007"], newest["operator"], clock.now))
    return seen


def written(
    log: "Log", rng: random.Random, made: dict[str, list[int]], kind: str, step: int
) -> None:
    """Make one entry; corrections and strikes fall back to a remark where there is nothing."""
    airframe = [(name, number) for name, numbers in made.items() for number in numbers]
    changes: dict[str, object] = {"remarks": f"step {step}"}
    if kind in {"strike", "correct"} and airframe:
        name, number = rng.choice(airframe)
        made[name].remove(number)
        if kind == "strike":
            log.strike(number)
        elif name not in {"deferral", "review"}:
            made[name].append(log.correct(number, name, **changes))
        return
    if kind == "pilot":
        log.add("pilot", code=f"P{step}")
        return
    kind = "work" if kind in {"strike", "correct"} else kind
    if kind in {"deferral", "review"}:
        field = "defect" if kind == "deferral" else "subject"
        free = [number for number in made.get("defect", ()) if kind == "review" or number > 0]
        if not free or kind in made:
            return
        changes[field] = free[-1]
    made.setdefault(kind, []).append(log.add(kind, **changes))


@pytest.mark.parametrize("backend", ["sqlite"])
def test_facts_as_of_an_entry_are_those_of_then(
    log: "Log", history: list[tuple[Facts, int, int, datetime]]
) -> None:
    """Whatever is added, corrected or struck out later, facts as of an entry never change.

    As of an instant, what was recorded up to and including it is known, of both logbooks.
    """
    assert len({airframe for _, airframe, _, _ in history}) > 20
    for before, airframe, operator, _ in history:
        assert facts(log, airframe=airframe, operator=operator) == before
    newest = {then: (airframe, operator) for _, airframe, operator, then in history}
    with log.store.reading() as connection:
        for then, (airframe, operator) in newest.items():
            for late in (timedelta(0), timedelta(seconds=59)):
                found = heads_at(connection, log.book(), then + late)
                assert (found.airframe, found.operator) == (airframe, operator)
        just_before = heads_at(connection, log.book(), NOW - timedelta(microseconds=1))
    assert just_before == Heads(airframe=0, operator=0)


def test_before_the_first_particulars_there_are_no_facts(log: "Log") -> None:
    """As of a time when nothing was on record there is nothing to judge; that is said."""
    with pytest.raises(InputError, match="VK71-1007 had no particulars at entry 0"):
        facts(log, airframe=0, operator=0)
    for wrong in (2, -1, 10**9):
        with pytest.raises(InputError, match=f"there is no entry VK71-1007#{wrong}"):
            facts(log, airframe=wrong)


def test_one_reading_sees_one_state(log: "Log") -> None:
    """What another program writes while facts are read is not seen half."""
    with log.store.reading() as connection:
        first = read_facts(connection, log.book(), Question(at=NOW))
        log.add("crosscheck")
        log.add("pilot")
        assert read_facts(connection, log.book(), Question(at=NOW)) == first
    assert len(facts(log).crosschecks) == 1


@contextmanager
def statements(log: "Log") -> Iterator[list[tuple[str, Any]]]:
    """Note each statement that is run."""
    noted: list[tuple[str, Any]] = []

    def note(_c: object, _cursor: object, statement: str, bound: object, *_: object) -> None:
        noted.append((statement, bound))

    event.listen(log.store.engine, "before_cursor_execute", note)
    try:
        yield noted
    finally:
        event.remove(log.store.engine, "before_cursor_execute", note)


@pytest.mark.parametrize("backend", ["sqlite"])
def test_what_comes_by_the_thousand_is_found_by_a_seek(
    log: "Log", sample: Callable[..., Record]
) -> None:
    """No statement of a check walks all entries, cross-checks or flights, nor a whole index.

    Nor does it walk all of an index on time in search of a sort that was never recorded.
    """
    start = datetime(2026, 6, 1, tzinfo=UTC)
    with writing(log.store, "A. Example", log.clock) as writer:
        hours = (start + timedelta(hours=hour) for hour in range(NEWEST_CROSSCHECKS))
        writer.append_many(log.book(), (sample("crosscheck", taken_at=hour) for hour in hours))
    with statements(log) as noted:
        facts(log)
        with log.store.reading() as connection:
            heads_at(connection, log.book(), NOW)
    plans = []
    with log.store.reading() as connection:
        for statement, bound in noted:
            if statement.startswith("SELECT"):
                rows = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", bound)
                plans += [(str(row[-1]), statement) for row in rows]
    used = " ".join(plan for plan, _ in plans)
    for index in ("taken_at", "difference", "ground", "standby", "transponder"):
        assert f"ix_crosscheck_detail_{index}" in used
    assert "ix_flight_detail_off_at" in used
    assert [plan for plan in plans if plan[0].startswith("SCAN")] == []
