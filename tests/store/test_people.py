"""The operator's list of people: who may record what, what is refused, and the trace of it."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.errors import InputError, RefusedError
from rvsmlog.records.base import FieldError, Record
from rvsmlog.records.kinds import KIND, KINDS
from rvsmlog.records.people import MAY_RECORD, ROLES, TRANSFER, Refusal
from rvsmlog.store.importing.csv_import import import_csv
from rvsmlog.store.reading.books import OPERATOR
from rvsmlog.store.safekeeping.export import export_airframe
from rvsmlog.store.safekeeping.transfer import import_airframe
from rvsmlog.store.writing.checks import Asked, check_and_record
from rvsmlog.store.writing.recording import record_entry, strike_entry

if TYPE_CHECKING:
    from tests.store.conftest import Log

#: Issue of the work between people as the trade shares it; common practice, no source.
EXAMPLES = {
    "crew": ("flight", "crosscheck", "oxygen-reading", "defect", "altimetry-fault", "deviation"),
    "releaser": ("rectification", "test", "test-readings", "work", "equipment", "removal"),
    "controller": ("operator", "person", "airframe", "approval", "deferral", "extension", "review"),
}


@pytest.fixture
def listed(log: "Log") -> "Log":
    """Give a log with a list: a controller, a crew, a releaser."""
    log.add("person", name="A. Example", may="controller")
    log.add("person", name="C. Example", may="crew")
    log.add("person", name="R. Example", may="releaser")
    return log


def record(log: "Log", by: str, kind: str, **texts: str) -> int:
    """Record the sample of a kind as somebody."""
    spec = KIND[kind]
    reg = "QX-ABC" if spec.logbook.value == "airframe" and kind != "airframe" else None
    given = {**log.samples[kind], **texts}
    ref, _ = record_entry(log.store, spec, given, by=by, clock=log.clock, registration=reg)
    return ref.entry


def refusals(log: "Log") -> list[Refusal]:
    """Give what was refused so far."""
    return [each.record for each in log.standing("refusal")]


@contextmanager
def refused(
    log: "Log", says: str, wanted: str, logbook: str | None = "VK71-1007"
) -> Iterator[None]:
    """Expect a refusal that writes nothing but its own trace."""
    before, entries = refusals(log), log.count()
    with pytest.raises(RefusedError, match=says) as error:
        yield
    assert error.value.exit_status == 2
    traced = log.standing("refusal")[-1]
    assert f"on record as operator#{traced.ref.entry}" in error.value.hint
    assert len(refusals(log)) == len(before) + 1
    assert log.count() == entries + 1
    assert (traced.record.wanted, traced.record.logbook) == (wanted, logbook)
    assert traced.record.why == error.value.message
    assert log.faults() == []


def test_every_kind_stands_in_the_table() -> None:
    """Each kind of record has its roles, each a known one; nothing else stands there."""
    astray = set(MAY_RECORD) ^ ({kind.name for kind in KINDS} | {TRANSFER})
    assert not astray, "in one only of MAY_RECORD (records/people.py) and KINDS (records/kinds.py)"
    assert all(roles and set(roles) <= set(ROLES) for roles in MAY_RECORD.values())
    for role, kinds in EXAMPLES.items():
        assert all(role in MAY_RECORD[kind] for kind in kinds), role
    assert [kind for kind, roles in MAY_RECORD.items() if "controller" not in roles] == [
        "rectification"
    ]


def test_without_a_list_everybody_may_record(log: "Log") -> None:
    """As long as nobody stands on the list, no name is asked for."""
    for by in ("anybody", "somebody else"):
        record(log, by, "work")
    assert refusals(log) == []


@pytest.mark.parametrize("backend", ["sqlite"])
def test_each_role_records_its_own(listed: "Log") -> None:
    """For every kind and every role: what the table allows is recorded, the rest is refused."""
    people = {"crew": "C. Example", "controller": "A. Example", "releaser": "R. Example"}
    named = {"defect": record(listed, "C. Example", "defect")}
    for kind in ("flight", "test", "work", "deferral", "review", "airframe", "route-profile"):
        for role, by in people.items():
            texts = {"defect": str(named["defect"])} if kind == "deferral" else {}
            if kind == "review":
                texts = {"subject": str(named["defect"])}
            book = KIND[kind].logbook.value
            name = OPERATOR if book == "operator" else "VK71-1007"
            if role in MAY_RECORD[kind]:
                if kind != "deferral" or role == "controller":
                    record(listed, by, kind, **texts)
            else:
                with refused(listed, f"may not record: {KIND[kind].title}", kind, name):
                    record(listed, by, kind, **texts)


def test_names_that_are_not_listed_are_refused(listed: "Log") -> None:
    """A name must stand on the list as it is written there; one that is near is named."""
    with refused(listed, "N. Body is not on the operator's list", "flight"):
        record(listed, "N. Body", "flight")
    assert refusals(listed)[-1].name == "N. Body"
    with refused(listed, "c. example is not on the", "flight"):
        record(listed, "c. example", "flight")
    with pytest.raises(RefusedError) as error:
        record(listed, "C. Exampel", "flight")
    assert "did you mean --by 'C. Example'?" in error.value.hint


def test_last_day_still_counts(listed: "Log") -> None:
    """The last day counts till it is over where the operator is: here in New Zealand."""
    # 14 March 2027 in Auckland, where summer time is 13 hours ahead of UTC.
    listed.add("person", name="T. Example", may="crew", valid_until="2027-03-14")
    record(listed, "T. Example", "flight")
    listed.clock.move(hours=8, minutes=29)
    record(listed, "T. Example", "defect")
    listed.clock.move(minutes=2)
    with refused(listed, "might record till 2027-03-14, and it is 2027-03-15", "deviation"):
        record(listed, "T. Example", "deviation")


def test_corrections_and_strikes_ask_for_the_kind_corrected(listed: "Log") -> None:
    """Who may not record a kind may not correct it or strike it out, nor a correction of it."""
    test = record(listed, "R. Example", "test")
    flight = record(listed, "C. Example", "flight")

    def correct(by: str, number: int, kind: str) -> None:
        record_entry(
            listed.store,
            KIND[kind],
            {"remarks": f"seen by {by}"},
            by=by,
            clock=listed.clock,
            registration="QX-ABC",
            supersedes=number,
            reason="misread",
        )

    def strike(by: str, number: int) -> None:
        strike_entry(listed.store, "QX-ABC", number, "twice", by=by, clock=listed.clock)

    with refused(listed, "may not record: altimeter, static", "test"):
        correct("C. Example", test, "test")
    with refused(listed, "may not record: altimeter, static", "test"):
        strike("C. Example", test)
    with refused(listed, "may not record: flight", "flight"):
        strike("R. Example", flight)
    correct("A. Example", test, "test")
    with refused(listed, "may not record", "test"):
        strike("C. Example", listed.standing("test")[-1].ref.entry)
    strike("C. Example", flight)
    assert listed.standing("flight") == ()


@pytest.mark.parametrize("backend", ["sqlite"])
@pytest.mark.parametrize("kind", ["defect", "altimetry-fault", "crosscheck", "deviation"])
def test_the_crew_does_not_strike_out_what_another_found(listed: "Log", kind: str) -> None:
    """Who may not release gets round no defect by striking it out; an own mistake is mended."""
    listed.add("person", name="D. Example", may="crew")
    listed.add("person", name="B. Example", may="crew,releaser")
    field = "remarks" if "remarks" in KIND[kind].by_name else "description"

    def strike(by: str, number: int) -> None:
        strike_entry(listed.store, "QX-ABC", number, "not so", by=by, clock=listed.clock)

    def correct(by: str, number: int) -> int:
        ref, _ = record_entry(
            listed.store,
            KIND[kind],
            {field: f"seen by {by}"},
            by=by,
            clock=listed.clock,
            registration="QX-ABC",
            supersedes=number,
            reason="misread",
        )
        return ref.entry

    number = record(listed, "D. Example", kind)
    with refused(listed, r"C. Example \(crew\) may not change what D. Example recorded", kind):
        strike("C. Example", number)
    with refused(listed, "may not change what D. Example recorded", kind):
        correct("C. Example", number)
    own = correct("D. Example", number)
    others = correct("A. Example", own)
    with refused(listed, "may not change what A. Example recorded", kind):
        strike("D. Example", others)
    strike("B. Example", others)
    assert listed.standing(kind) == ()
    strike("D. Example", record(listed, "D. Example", kind))
    assert listed.standing(kind) == ()
    assert listed.faults() == []


def test_a_file_is_refused_before_its_first_row(listed: "Log", folder: Path) -> None:
    """An import is refused as a whole, with one trace however many rows; nothing is rejected."""
    path, rejects = folder / "tests.csv", folder / "rejects.csv"
    rows = "".join(f"transponder,2026-01-{day:02},yes\n" for day in range(1, 21))
    path.write_text("test,done_on,passed\n" + rows, encoding="utf-8")

    def take_in(by: str, reject_file: Path | None = None) -> Any:
        return import_csv(
            listed.store,
            path,
            KIND["test"],
            by=by,
            clock=listed.clock,
            registration="QX-ABC",
            reject_file=reject_file,
        )

    with refused(listed, "may not record: altimeter, static", "test"):
        take_in("C. Example")
    with refused(listed, "may not record: altimeter, static", "test"):
        take_in("C. Example", rejects)
    assert not rejects.exists()
    assert take_in("R. Example").written == 20


def test_a_list_may_come_as_a_file(log: "Log", folder: Path) -> None:
    """Whoever enters the first list may finish it; each row is held against those before it."""
    path = folder / "people.csv"

    def take_in(*rows: str) -> Any:
        path.write_text("\n".join(("name,may", *rows)) + "\n", encoding="utf-8")
        return import_csv(log.store, path, KIND["person"], by="N. Body", clock=log.clock)

    crew_first = take_in('C. Example,"crew"', 'A. Example,"controller,crew"')
    assert [bad.line for bad in crew_first.bad] == [2]
    double = take_in("A. Example,controller", "A. Example,crew")
    assert [(bad.line, bad.column) for bad in double.bad] == [(3, "name")]
    assert take_in('A. Example,"controller,crew"', "C. Example,crew").written == 2
    with refused(log, "N. Body is not on", "person", OPERATOR):
        take_in("N. Body,controller")


def test_logbooks_are_taken_in_by_a_controller(
    listed: "Log", folder: Path, sample: Callable[..., Record]
) -> None:
    """A file of an airframe's logbook is refused to others, before anything of it is written."""
    path = folder / "QX-ABC.jsonl"
    export_airframe(listed.store, "QX-ABC", path)
    with refused(listed, r"C. Example \(crew\) may not take logbooks in", TRANSFER):
        import_airframe(listed.store, path, by="C. Example", clock=listed.clock)
    taken = import_airframe(listed.store, path, by="A. Example", clock=listed.clock)
    assert taken.added == 0


def test_a_check_is_answered_and_not_kept(listed: "Log") -> None:
    """Who may not record a check gets the answer and is told; to ask leaves no trace."""
    before = listed.count()
    asked = Asked(registration="QX-ABC", level=310)
    made = check_and_record(listed.store, asked, by="R. Example", clock=listed.clock)
    assert made.entry is None
    assert made.not_kept == "R. Example (releaser) may not record: go/no-go check"
    assert listed.count() == before
    kept = check_and_record(listed.store, asked, by="C. Example", clock=listed.clock)
    assert (kept.entry is not None, kept.not_kept) == (True, None)
    assert kept.verdict.findings == made.verdict.findings


def test_the_list_never_locks_everybody_out(log: "Log") -> None:
    """The first is a controller without a last day, and one such always stays."""
    for texts in (
        {"may": "crew,releaser"},
        {"may": "controller", "valid_until": "2030-01-01"},
    ):
        with pytest.raises(FieldError, match="must have a controller without a last day"):
            log.add("person", **texts)
    first = log.add("person", may="controller,crew")
    log.add("person", name="T. Example", may="controller", valid_until="2027-12-31")
    for texts in ({"may": "crew"}, {"valid_until": "2030-01-01"}):
        with pytest.raises(FieldError, match="must have a controller without a last day"):
            log.correct(first, "person", **texts)
    with pytest.raises(InputError, match="last controller on the list"):
        log.strike(first, OPERATOR)
    second = log.add("person", name="B. Example", may="controller")
    log.strike(second, OPERATOR)
    log.correct(
        log.strike(log.add("person", name="D. Example", may="crew"), OPERATOR),
        "person",
        name="D. Example",
        may="controller",
    )
    log.correct(first, "person", may="controller", valid_until="2027-12-31")
    (left,) = [each for each in log.standing("person") if each.record.valid_until is None]
    with pytest.raises(InputError, match="last controller on the list"):
        log.strike(left.ref.entry, OPERATOR)


def test_nobody_stands_on_the_list_twice(listed: "Log") -> None:
    """A name, and a login, stands on the list once; a change of it is a correction."""
    with pytest.raises(FieldError, match=r"C. Example is on the list already, operator#3"):
        listed.add("person", name="C. Example", may="controller")
    listed.correct(3, "person", name="C. Example", may="crew", database_role="cex")
    with pytest.raises(FieldError, match="cex is on the list already"):
        listed.add("person", name="D. Example", may="crew", database_role="cex")


def test_refusals_stay(listed: "Log") -> None:
    """What was refused is never corrected or struck out, not by a controller either."""
    with refused(listed, "may not record", "flight"):
        record(listed, "R. Example", "flight")
    number = listed.standing("refusal")[-1].ref.entry
    with pytest.raises(InputError, match="recording that was refused"):
        listed.strike(number, OPERATOR)
    with pytest.raises(InputError, match="recording that was refused"):
        listed.correct(number, "refusal", why="a mistake")


def test_list_is_read_as_it_was_for_old_entries(listed: "Log", folder: Path) -> None:
    """Entries made by people who left stay valid; the list counts for what is recorded now."""
    flight = record(listed, "C. Example", "flight")
    listed.strike(3, OPERATOR)
    assert listed.faults() == []
    assert [each.ref.entry for each in listed.standing("flight")] == [flight]
    assert listed.standing("person")[0].record.valid_until is None
    with refused(listed, "C. Example is not on", "defect"):
        record(listed, "C. Example", "defect")


@pytest.mark.parametrize("backend", ["sqlite"])
@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("c. example", "reads like C. Example, operator#3"),
        ("C.  Example", "reads like C. Example"),
        ("C.\u00a0Example", "reads like C. Example"),
        ("\uff23. Example", "reads like C. Example"),
        ("C.\u200b Example", r"U\+200B, which does not show"),
        ("\u202eC. Example", r"U\+202E, which does not show"),
        ("N. Body\nrecorded operator#9", r"U\+000A, which does not show"),
    ],
)
def test_names_are_told_apart_by_eye(listed: "Log", name: str, says: str) -> None:
    """Nobody new comes onto the list under a name that reads like another, or does not show."""
    with pytest.raises(FieldError, match=says):
        record(listed, "A. Example", "person", name=name, may="crew")
    # The person so called may be corrected, to another writing of the name too.
    listed.correct(3, "person", name="C.  EXAMPLE", may="crew")


@pytest.mark.parametrize("backend", ["sqlite"])
@pytest.mark.parametrize("login", ["pg_monitor", "rvsmlog_crew", "rvsmlog_releaser"])
def test_a_group_is_nobodys_login(listed: "Log", login: str) -> None:
    """A role that stands for many is no person's: one group would be put into another."""
    with pytest.raises(FieldError, match=f"{login} is a group role, no login"):
        record(listed, "A. Example", "person", name="N. Body", may="crew", database_role=login)


@pytest.mark.parametrize("backend", ["sqlite"])
def test_who_records_is_one_line(log: "Log") -> None:
    """A name of several lines could pass for what rvsmlog says; it is no name to record under."""
    with pytest.raises(InputError, match="who records: the name has several lines"):
        record(log, "N. Body\nrecorded VK71-1007#9", "work")
    assert log.count() == 2
