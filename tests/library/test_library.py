"""What the commands do can be done from Python: each command has its functions in the library."""

import doctest
import shutil
import subprocess
import sys
from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from rvsmlog import library
from rvsmlog.cli.nouns import NOUNS
from rvsmlog.dates import now, parse_instant
from rvsmlog.library import InputError, Store, open_store
from rvsmlog.verdict import CAUTION
from tests.cli.conftest import Cli
from tests.cli.test_help import EVERY

AT = parse_instant("2026-11-24T08:00Z")
#: What every noun has: recording, and these.
_OF_A_NOUN = {
    "list": ("entries",),
    "show": ("entry",),
    "import": ("import_csv", "kind"),
    "strike": ("strike",),
}
#: What the other commands call, by their words.
COMMANDS: Mapping[str, tuple[str, ...]] = {
    "gonogo": ("check", "check_and_record", "check_fleet", "judge", "read_facts"),
    "levels": ("levels",),
    "board": ("board", "write_board"),
    "due": ("due", "within", "write_calendar"),
    "drift": ("drift", "draw_drift"),
    "dossier": ("dossier", "write_dossier"),
    "static-error": ("static_error", "record_estimate"),
    "crosscheck log": ("record", "comparisons_of", "doubts"),
    "crosscheck sheet": ("write_sheet",),
    "crosscheck extract": ("extract", "enter_extracted"),
    "airframe list": ("airframes",),
    "airframe export": ("export_airframe",),
    "airframe import": ("import_csv", "import_airframe"),
    "defect board": ("deferrals",),
    "defect rectify": ("record", "checks_called_for"),
    "equipment history": ("unit_history",),
    "monitoring plan": ("monitoring_plan",),
    "oxygen need": ("oxygen",),
    "deviation text": ("deviation_report",),
    "test show": ("entry", "judged_test"),
    "test import-points": ("read_points", "record"),
    "rules": ("RULES",),
    "store init": ("create_store",),
    "store info": ("describe_store", "open_store", "self_check"),
    "store upgrade": ("upgrade_store",),
    "store backup": ("backup",),
    "store restore": ("restore",),
    "store verify": ("verify_store", "parse_claim"),
    "store export": ("export_store",),
    "store import": ("import_store",),
    "store copy": ("copy_store", "open_or_create"),
    "store clock": ("look_at_clock", "correct_clock"),
    "store roles": ("make_roles",),
    "demo": ("build_demo",),
}
#: What serves all of them.
_SHARED = {"now", "parse_instant"}


def functions_of(path: tuple[str, ...]) -> tuple[str, ...]:
    """Give the functions that do what a command does."""
    found = COMMANDS.get(" ".join(path))
    if found is not None:
        return found
    noun, name = path if len(path) == 2 else (path[0], "")
    if name in {recording.name for recording in NOUNS.get(noun, ())}:
        return ("record",)
    return _OF_A_NOUN.get(name, ()) if noun in NOUNS else ()


@pytest.fixture
def store(demo_file: Path, tmp_path: Path) -> Iterator[Store]:
    """Open a copy of the demo store."""
    with open_store(str(shutil.copy(demo_file, tmp_path / "copy.sqlite3"))) as opened:
        yield opened


@pytest.mark.parametrize("path", EVERY, ids=" ".join)
def test_each_command_has_its_library_equal(path: tuple[str, ...]) -> None:
    """A new command gets its function in rvsmlog/library.py, and its line in COMMANDS above."""
    found = functions_of(path)
    assert found, f"`{' '.join(path)}` has no function in the library"
    assert set(found) <= set(library.__all__)


def test_the_table_and_the_library_hold_nothing_else() -> None:
    """Every line of the table is a command, and every function of the library serves one."""
    assert {tuple(words.split()) for words in COMMANDS} <= set(EVERY)
    used = {name for path in EVERY for name in functions_of(path)} | _SHARED
    functions = {
        name
        for name in library.__all__
        if callable(getattr(library, name)) and not isinstance(getattr(library, name), type)
    }
    assert functions - used == set()
    assert set(library.__all__) == {name for name in library.__all__ if hasattr(library, name)}


def test_its_examples_are_true(store: Store) -> None:
    """The examples in the library's docstrings, run on the demo store."""
    globs = {**vars(library), "store": store}
    found = doctest.DocTestFinder().find(library, "library", globs=globs)
    ran = doctest.DocTestRunner()
    for test in found:
        ran.run(test)
    assert sum(bool(test.examples) for test in found) >= 7
    assert ran.failures == 0


def test_every_function_is_described() -> None:
    """Each name that is offered has a docstring; kinds of data too."""
    assert [name for name in library.__all__ if not getattr(library, name).__doc__] == []


def test_the_same_answers_as_the_commands(store: Store) -> None:
    """Level, rules and due items are those that the command line prints."""
    assert store.path is not None
    cli = Cli(store.path)

    def ran(*words: str) -> Any:
        return cli(*words, "--at", "2026-11-24T08:00Z", "--json").json

    asked = library.Asked(registration="QX-BRE", at=AT, level=310, pilot="IVO")
    verdict = library.check(store, asked, now()).verdict
    printed = ran("gonogo", "QX-BRE", "--level", "310", "--pilot", "IVO", "--dry-run")
    assert printed["highest_level"] == verdict.highest_level
    assert [each["rule"] for each in printed["findings"]] == [
        finding.rule for finding in verdict.findings
    ]
    board = ran("board")
    assert [(each["registration"], each["highest_level"]) for each in board] == [
        (row.airframe, row.highest_level) for row in library.board(store, AT)
    ]
    listed = ran("due", "QX-CYR", "--within", "3000d")
    assert [each["key"] for each in listed] == [
        item.key for item in library.due(store, AT, "QX-CYR")
    ]


def test_a_store_is_made_filled_moved_and_verified(tmp_path: Path) -> None:
    """Make, record, correct, strike, back up, export, import and verify, all from Python."""
    with library.create_store(str(tmp_path / "log.sqlite3")) as log:

        def record(kind: str, under: str | None = None, **fields: object) -> int:
            ref, _ = library.record(log, kind, fields, by="MKO", clock=now, registration=under)
            return ref.entry

        record("operator", name="Quill Air", time_zone="UTC", region="NAM")
        record(
            "airframe",
            registration="QX-ABC",
            type_designator="VK71",
            serial_number="1007",
            authority="us-91",
            rvsm_basis="group",
            type_certificate="after-1997-04-09",
            highest_level=310,
            standby_tolerance=((290, 180),),
        )
        number = record(
            "crosscheck",
            under="QX-ABC",
            taken_at=parse_instant("2024-05-01T10:00Z"),
            phase="hourly",
            primary_1_ft=31000,
            primary_2_ft=31040,
            level=310,
            static_air_temperature_c=-45.5,
        )
        fields = {"primary_2_ft": 31060}
        library.record(
            log,
            "crosscheck",
            fields,
            by="MKO",
            clock=now,
            registration="QX-ABC",
            corrects=number,
            reason="slip",
        )
        (standing,) = library.entries(log, "crosscheck", "QX-ABC")
        assert standing.record.difference_ft == -60
        assert len(library.entries(log, "crosscheck", "QX-ABC", superseded=True)) == 2
        library.strike(log, "QX-ABC", standing.ref.entry, "twice", by="MKO", clock=now)
        assert library.entries(log, "crosscheck", "QX-ABC") == ()
        assert library.entry(log, number, "QX-ABC") is not None
        seals = [str(seal) for seal in library.describe_store(log).seals or ()]
        copied = library.backup(log, tmp_path / "copy.sqlite3", now=now())
        library.export_store(log, tmp_path / "all.jsonl")
    assert copied.entries == 5
    with library.create_store(str(tmp_path / "second.sqlite3")) as second:
        library.import_store(second, tmp_path / "all.jsonl", by="MKO", clock=now)
        claims = [library.parse_claim(seal) for seal in seals]
        assert library.verify_store(second, claims).sound
        wrong = library.parse_claim(seals[0][:-32] + "0" * 32)
        assert not library.verify_store(second, [wrong]).sound


def test_wrong_input_raises_and_writes_nothing(store: Store) -> None:
    """An unknown field, a wrong value and an unknown airframe are InputError with a hint."""
    before = library.describe_store(store).seals
    for name, fields, registration in (
        ("crosscheck", {"primary_3_ft": 1}, "QX-ALD"),
        ("crosscheck", {"taken_at": "yesterday"}, "QX-ALD"),
        ("flight", {}, "QX-NIX"),
        ("nothing", {}, None),
    ):
        with pytest.raises(library.InputError) as caught:
            library.record(store, name, fields, by="MKO", clock=now, registration=registration)
        assert caught.value.hint
    assert library.describe_store(store).seals == before


def test_pages_and_pictures(store: Store, tmp_path: Path) -> None:
    """Board, in-flight sheet and drift plot are written from Python too."""
    library.write_board(store, tmp_path / "board.html", AT, AT)
    assert CAUTION in (tmp_path / "board.html").read_text(encoding="utf-8")
    asked = library.Asked(registration="QX-ALD", at=AT, level=310, pilot="IVO")
    made = library.write_sheet(store, tmp_path / "sheet.html", asked, now())
    assert made.verdict.highest_level == 310
    assert CAUTION in (tmp_path / "sheet.html").read_text(encoding="utf-8")
    library.draw_drift(store, "QX-BRE", AT, tmp_path / "drift.svg")
    assert (tmp_path / "drift.svg").stat().st_size > 1000
    one = library.dossier(store, "QX-BRE", AT, first=date(2026, 11, 1))
    library.write_dossier(one, tmp_path / "dossier.html", AT)
    assert CAUTION in (tmp_path / "dossier.html").read_text(encoding="utf-8")


def test_it_loads_only_what_it_needs() -> None:
    """Importing the package loads nothing; the library no page, plot, migration or terminal."""
    code = (
        "import sys, rvsmlog; alone = set(sys.modules); import rvsmlog.library;"
        "print(any(name.startswith('rvsmlog.') for name in alone),"
        "[name for name in ('jinja2', 'matplotlib', 'alembic', 'typer', 'rich', 'psycopg', 'numpy')"
        " if name in sys.modules])"
    )
    done = subprocess.run((sys.executable, "-c", code), capture_output=True, text=True, check=True)
    assert done.stdout == "False []\n"


@pytest.mark.parametrize("level", [0, -1, True, 661, 31_000, 310.0, "310"])
def test_what_is_no_level_is_never_a_go(store: Store, level: Any) -> None:
    """A level below all that RVSM asks, or none at all, is refused as the command line does."""
    for asks in (library.check, library.levels, library.oxygen):
        with pytest.raises(InputError, match="flight level"):
            asks(store, library.Asked(registration="QX-ALD", level=level), AT)
    with pytest.raises(InputError, match="flight level"):
        library.check_fleet(store, library.Asked(registration="", level=level), AT)


def test_an_instant_without_a_zone_is_refused(store: Store) -> None:
    """An unknown offset is lost evidence, whatever is asked."""
    naive: Any = AT.replace(tzinfo=None)
    asked = library.Asked(registration="QX-ALD", level=310, at=naive)
    for ask in (
        lambda: library.check(store, asked, AT),
        lambda: library.board(store, naive),
        lambda: library.due(store, naive),
        lambda: library.deferrals(store, naive),
        lambda: library.monitoring_plan(store, naive),
    ):
        with pytest.raises(InputError, match="has no time zone"):
            ask()


def test_what_is_no_number_or_instant_is_refused_plainly(store: Store) -> None:
    """Numbers that no entry has, and instants beyond the log's calendar, raise no bare error."""
    for number in (-1, 0, 2**63 - 1, 2**63, 2**70):
        with pytest.raises(InputError, match="there is no entry"):
            library.entry(store, number)
    far = datetime.max.replace(tzinfo=UTC)
    for at in (far, datetime.min.replace(tzinfo=UTC), datetime(2200, 1, 1, tzinfo=UTC)):
        for ask in (library.board, library.due, library.look_at_clock):
            with pytest.raises(InputError, match="out of range"):
                ask(store, at)
        with pytest.raises(InputError, match="out of range"):
            library.backup(store, now=at)
        clock = partial(datetime.fromisoformat, at.isoformat())
        with pytest.raises(InputError, match="out of range"):
            library.strike(store, None, 1, "x", by="A. Example", clock=clock)
    last = datetime(2199, 12, 31, 23, 59, tzinfo=UTC)
    assert library.look_at_clock(store, last).now == last
