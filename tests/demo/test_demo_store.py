"""The demo store: built whole or not at all, known again, and never in anybody's way."""

import csv
import shutil
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from rvsmlog.dates import now
from rvsmlog.errors import StoreError
from rvsmlog.rules.judged_readings import judgement
from rvsmlog.science.bench_judgement import Item
from rvsmlog.shipped import shipped
from rvsmlog.standards.altimeter_tests import TABLE_I
from rvsmlog.store.connection import open_store
from rvsmlog.store.importing import demo as demo_module
from rvsmlog.store.importing.demo import build_demo, demo, demo_store, is_demo, own_store
from rvsmlog.store.safekeeping.schema import create_store
from rvsmlog.store.safekeeping.verify import verify
from rvsmlog.store.writing.checks import Asked, Checked, check
from rvsmlog.store.writing.fleet import check_fleet

AT = datetime(2026, 11, 24, 8, tzinfo=UTC)


def ask(path: Path, registration: str, *, pilot: str = "IVO", region: str | None = None) -> Checked:
    """Ask about FL310 at the demo's instant, as the demo's pilot unless another is named."""
    asked = Asked(registration=registration, at=AT, level=310, pilot=pilot, region=region)
    with open_store(str(path)) as store:
        return check(store, asked, AT)


def faults(made: Checked) -> dict[str, int | None]:
    """Give the rules whose findings limit the level below the planned one."""
    return {
        finding.rule: finding.highest_level
        for finding in made.verdict.findings
        if finding.highest_level is not None and finding.highest_level < 310
    }


#: Of each aeroplane: the highest level at FL310 planned, and what holds it back.
STORIES: dict[str, tuple[int | None, dict[str, int]]] = {
    "QX-ALD": (310, {}),
    "QX-BRE": (280, {"altimeter-beyond-rvsm-limit": 280, "altimeters-disagree": 280}),
    "QX-CYR": (None, {"deferral-overdue": 0, "deferral-caps-level": 280}),
    "QX-DAN": (
        None,
        {
            "static-test-overdue": 0,
            "acas-version-too-old": 280,
            "height-monitoring-overdue": 280,
        },
    ),
    "QX-ESK": (310, {}),
}


def test_the_fleet_answers_as_its_stories_say(demo_file: Path) -> None:
    """Each of the five aeroplanes shows what it was invented to show; the good ones no fault."""
    with open_store(str(demo_file)) as store:
        answers = check_fleet(store, Asked(registration="", at=AT, level=310, pilot="IVO"), AT)
    made = [each for each in answers if isinstance(each, Checked)]
    assert [each.verdict.airframe for each in made] == list(STORIES)
    for each in made:
        highest, told = STORIES[each.verdict.airframe]
        found = faults(each)
        assert each.verdict.highest_level == highest
        assert found.items() >= told.items()
        assert bool(found) == bool(told)


def test_an_altimeter_passes_table_i_and_fails_the_rvsm_budget(demo_file: Path) -> None:
    """Altimeter 2 of QX-BRE: every reading within Appendix E, 190 ft where its own limit is 75.

    Table I of 14 CFR Part 43 Appendix E (2026 text, published) allows 205 ft at 35,000 ft.
    """
    facts = ask(demo_file, "QX-BRE").facts
    test = next(
        each
        for each in facts.tests
        if each.record.unit_serial == "1019-02" and (each.record.done_on == date(2026, 11, 19))
    )
    found = judgement(facts, test)
    assert (found.beyond, found.departures) == ((), ())
    assert len(found.points) == len(TABLE_I.value) - 3 + 2 + 1 + 10 + 1 + 8
    assert {each.item for each in found.points} == set(Item) - {
        Item.STATIC_LEAK,
        Item.CORRESPONDENCE,
    }
    top = next(each for each in found.points if each.item is Item.SCALE and each.point == 35_000)
    assert (top.error_ft, top.tolerance_ft) == (190, 205)
    worst = found.beyond_own[0]
    assert (worst.altitude_ft, worst.error_ft, worst.limit_ft) == (35_000, 190, 75)


def test_an_approval_is_about_to_lapse(demo_file: Path) -> None:
    """The approval of QX-CYR ends on 8 December: fourteen days are left, which is advice."""
    findings = ask(demo_file, "QX-CYR").verdict.findings
    lapsing = next(each for each in findings if each.rule == "rvsm-approval-lapsing")
    assert (str(lapsing.outcome), lapsing.values["days_left"]) == ("advice", 14)


def test_the_ads_b_based_authority_ends_at_the_border(demo_file: Path) -> None:
    """QX-ESK flies at FL310 in the United States only: 14 CFR part 91 appendix G section 9."""
    abroad = ask(demo_file, "QX-ESK", region="CAR")
    assert abroad.verdict.highest_level == 280
    assert "rvsm-approval-missing" in faults(abroad)


def test_a_pilot_without_training_on_record_stays_below(demo_file: Path) -> None:
    """The new pilot keeps even the best aeroplane below RVSM airspace."""
    assert faults(ask(demo_file, "QX-ALD", pilot="ABR")) == {"pilot-knowledge-missing": 280}


def test_authorities_differ(demo_file: Path) -> None:
    """The European aeroplane's deferral was extended; ORO.MLR.105(f) does not reach Part-NCO."""
    findings = ask(demo_file, "QX-CYR").verdict.findings
    overdue = next(each for each in findings if each.rule == "deferral-overdue")
    # Found on 26 October, category C: 10 days end with 5 November.
    assert overdue.limits["last_day"] == "2026-11-05"
    assert overdue.values["extensions"] == 0
    assert "does not count" in overdue.says


def test_every_row_is_an_entry_and_every_digest_agrees(demo_file: Path) -> None:
    """The import takes each row of each file, and the store verifies."""
    count = 0
    for name, _ in demo().files:
        with (shipped("sample_data") / name).open(encoding="utf-8", newline="") as handle:
            count += len(list(csv.DictReader(handle)))
    with open_store(str(demo_file)) as store, store.reading() as connection:
        found = verify(connection)
    assert (found.faults, found.entries) == ((), count)


def test_a_named_store_is_made_once(tmp_path: Path) -> None:
    """The first call makes the store that is named; the second finds it and writes nothing."""
    named = tmp_path / "deep" / "log.sqlite3"
    first = demo_store(str(named), now)
    content = named.read_bytes()
    second = demo_store(str(named), now)
    assert (first.where, first.made, second.where, second.made) == (
        str(named),
        True,
        str(named),
        False,
    )
    assert named.read_bytes() == content
    assert [path.name for path in named.parent.iterdir()] == ["log.sqlite3"]


def test_a_demo_that_was_written_to_is_still_the_demo(demo_copy: Path) -> None:
    """Entries that an explorer adds do not make it anything else."""
    assert is_demo(str(demo_copy))
    assert demo_store(str(demo_copy), now).made is False


@pytest.mark.usefixtures("ready_made")
def test_a_store_with_other_records_is_left_alone(tmp_path: Path, data_folder: Path) -> None:
    """The demo goes into its own file; not a byte of the named one changes."""
    other = tmp_path / "mine.sqlite3"
    create_store(str(other)).close()
    content = other.read_bytes()
    place = demo_store(str(other), now)
    again = demo_store(str(other), now)
    assert other.read_bytes() == content
    assert place.where == again.where == str(data_folder / "demo.sqlite3")
    assert (place.made, again.made) == (True, False)
    assert place.kept_clear_of == again.kept_clear_of == str(other)


@pytest.mark.usefixtures("ready_made")
def test_a_file_that_is_no_store_is_left_alone(tmp_path: Path, data_folder: Path) -> None:
    """A letter under the name that was given stays a letter."""
    letter = tmp_path / "letter.txt"
    letter.write_text("dear controller", "utf-8")
    assert demo_store(str(letter), now).where == str(data_folder / "demo.sqlite3")
    assert letter.read_text("utf-8") == "dear controller"


def test_something_else_in_the_demo_s_place_is_an_error(data_folder: Path) -> None:
    """Where the demo's own file is another store, nothing is written and a hint is given."""
    data_folder.mkdir()
    create_store(own_store()).close()
    content = Path(own_store()).read_bytes()
    with pytest.raises(StoreError, match="no demo store") as caught:
        demo_store(None, now)
    assert "--store" in caught.value.hint
    assert Path(own_store()).read_bytes() == content


def test_a_clock_that_is_behind_does_not_hinder_the_demo(tmp_path: Path) -> None:
    """On a machine set to last year the records are made at the demo's own instant."""
    path = tmp_path / "demo.sqlite3"
    build_demo(str(path), lambda: AT - timedelta(days=400))
    made = ask(path, "QX-ALD")
    assert made.facts.airframe.recorded_at == AT
    assert made.verdict.highest_level == 310


def test_a_damaged_file_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When one row cannot be imported there is no store afterwards, and the row is named."""
    folder = Path(shutil.copytree(shipped("sample_data"), tmp_path / "sample_data"))
    flights = folder / "flights.csv"
    text = flights.read_text("utf-8")
    flights.write_text(text.replace("QX-ALD,2025-11-2", "QX-ALD,2025-11-3", 1), "utf-8")
    monkeypatch.setattr(demo_module, "shipped", lambda _: folder)
    target = tmp_path / "new" / "demo.sqlite3"
    with pytest.raises(StoreError, match=r"flights\.csv is damaged: line \d+, off_at"):
        build_demo(str(target), now)
    assert list(target.parent.iterdir()) == []


def test_what_stands_in_its_place_meanwhile_is_not_overwritten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file that appears while the demo is being built stays, and no draft is left."""
    target = tmp_path / "demo.sqlite3"
    monkeypatch.setattr(demo_module, "_fill", lambda *_: target.write_text("mine", "utf-8"))
    with pytest.raises(StoreError, match="exists already"):
        build_demo(str(target), now)
    assert target.read_text("utf-8") == "mine"
    assert [path.name for path in tmp_path.iterdir()] == ["demo.sqlite3"]


def test_a_place_that_cannot_be_written_is_a_plain_error(tmp_path: Path) -> None:
    """A folder that is a file is named, not traced back."""
    (tmp_path / "file").write_text("", "utf-8")
    with pytest.raises(StoreError, match="cannot be made"):
        build_demo(str(tmp_path / "file" / "demo.sqlite3"), now)
