"""The benchmarks of growth: their logs are sound, and a short run of each prints what it says."""

from datetime import timedelta
from pathlib import Path

import pytest

from rvsmlog.facts import Question
from rvsmlog.store.connection import open_store
from rvsmlog.store.reading.airframes import find_airframe
from rvsmlog.store.reading.facts_reader import read_facts
from rvsmlog.store.safekeeping.verify import verify
from rvsmlog.verdict import judge
from tests.benchmarks import drift_million, growth
from tests.benchmarks.gonogo_flat import ASKED_AT, fill
from tests.benchmarks.raw_fill import fill_raw


def test_a_log_filled_past_the_writer_is_the_writers(folder: Path) -> None:
    """Verification finds nothing, and the check is that of a log which the writer made."""
    found = []
    for number, make in enumerate((fill, fill_raw)):
        path = folder / f"{number}.sqlite3"
        make(path, 300)
        with open_store(str(path)) as store, store.reading() as connection:
            verified = verify(connection)
            assert (verified.faults, verified.entries) == ((), 302)
            book = find_airframe(connection, "QX-ABC")
            facts = read_facts(connection, book, Question(at=ASKED_AT + timedelta(hours=1)))
        found.append(judge(facts).findings)
    assert found[0] == found[1]


def test_growth_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    """Bytes by table and microseconds by question, one column for each size."""
    growth.main(["200", "400"])
    out = capsys.readouterr().out
    for said in ("crosscheck_detail", "together", "newest 60 readings", "slope"):
        assert said in out


def test_drift_is_that_of_numpy(capsys: pytest.CaptureFixture[str]) -> None:
    """Flights cut and medians found by arrays lead the detector to the very same state."""
    drift_million.main(["3000"])
    assert "3,000 readings, 150 flights" in capsys.readouterr().out
