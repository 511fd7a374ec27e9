"""Stores of every released schema revision, frozen when it was new, are brought up to date.

What stands beside each was said by the edition that made it: seals, checks, and checks repeated.
An upgrade changes nothing of it.
"""

import gzip
import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from rvsmlog.rules import RULES
from rvsmlog.rules.base import Rule
from rvsmlog.store.connection import SCHEMA_REVISION, open_store
from rvsmlog.store.safekeeping.guards import guard_faults
from rvsmlog.store.safekeeping.schema import upgrade_store
from rvsmlog.store.safekeeping.seals import check_claims, parse_claim
from rvsmlog.store.safekeeping.verify import verify
from tests.store.freeze import REVISIONS, answer, frozen_bytes, load, onto_server

#: Answers that a mended rule changed, by what was asked: the level that is left, and the rules that
#: leave it, with the first edition that answers so. Everything else of them, any other answer, and
#: what that edition and later ones said already, is as it was.
#:
#: QX-DAN: its standby altimeter was never tested. 91.411(a)(1) wants a test of each altimeter, and
#: (d) an altitude to which all were tested; until edition 5 the standby was advice.
MENDED: dict[tuple[str, str], tuple[int | None, set[str], int]] = {
    ("QX-DAN", "2026-11-25T08:00Z"): (None, {"static-test-overdue", "tested-too-low"}, 5),
}
NOW = datetime(2027, 3, 14, 2, 30, tzinfo=UTC)


@pytest.fixture
def frozen(
    request: pytest.FixtureRequest, backend: str, folder: Path
) -> Callable[[str], tuple[str, dict[str, Any]]]:
    """Give what makes a frozen store anew, with what was said of it."""

    def make(revision: str) -> tuple[str, dict[str, Any]]:
        path = folder / "old.sqlite3"
        load(revision, path)
        where = str(path)
        if backend == "postgresql":
            where = request.getfixturevalue("postgres").empty()
            onto_server(revision, path, where)
        return where, json.loads(gzip.decompress(frozen_bytes(revision, "json")))

    return make


def test_every_older_revision_is_frozen() -> None:
    """There is a frozen store of every revision before the present one."""
    before = [f"{number:04}" for number in range(1, int(SCHEMA_REVISION))]
    missing = set(before) - set(REVISIONS)
    assert not missing, "run `python -m tests.store.freeze` in a checkout that has that revision"


@pytest.mark.parametrize("revision", REVISIONS)
def test_upgrade_changes_nothing(
    frozen: Callable[[str], tuple[str, dict[str, Any]]], revision: str, backend: str
) -> None:
    """Seals hold, every digest agrees, each check and repeated check is answered as it was."""
    where, said = frozen(revision)
    before, after, copy = upgrade_store(where, NOW)
    assert (before, after) == (revision, SCHEMA_REVISION)
    assert (copy is not None) == (backend == "sqlite" and before != after)
    with open_store(where) as store:
        with store.reading() as connection:
            found = verify(connection)
            claims = check_claims(connection, found, [parse_claim(each) for each in said["seals"]])
            assert guard_faults(connection) == ()
        assert found.faults == ()
        assert found.entries == said["entries"]
        seals = {f"{each.logbook}#{each.entry}:{each.digest}" for each in found.seals}
        assert seals == set(said["seals"])
        assert all(claim.holds for claim in claims)
        rules = rules_then(said)
        for check in said["checks"]:
            mended = MENDED.get((check["asked"]["registration"], check["asked"].get("at", "")))
            now = answer(store, check["asked"], rules)
            then = check["answer"] if mended is None else as_mended(now, check["answer"], *mended)
            assert_same(now, then)


def rules_then(said: dict[str, Any]) -> tuple[Rule, ...]:
    """Give the rules that stood when a store was frozen; one made since may ask for more."""
    known = {finding["rule"] for check in said["checks"] for finding in check["answer"]["findings"]}
    gone = known - {rule.name for rule in RULES}
    assert not gone, "a rule of that edition is gone or renamed: its answers cannot be compared"
    return tuple(rule for rule in RULES if rule.name in known)


def as_mended(
    now: dict[str, Any], then: dict[str, Any], level: int | None, rules: set[str], edition: int
) -> dict[str, Any]:
    """Give the frozen answer with a mended level, which the mended rules and no others leave."""
    if int(then["rulebook"].rpartition(" ")[2]) >= edition:
        return then
    assert then["highest_level"] != level
    lowest = [each["rule"] for each in now["findings"] if each["highest_level"] == (level or 0)]
    assert set(lowest) == rules
    return {**then, "highest_level": level}


def assert_same(now: dict[str, Any], then: dict[str, Any]) -> None:
    """Hold an answer against the frozen one: all of it while the rules are the same edition."""
    if now["rulebook"] == then["rulebook"]:
        assert now == then
        return
    names = ("verdict", "highest_level", "planned_level", "at", "seal", "repeats")
    assert {name: now[name] for name in names} == {name: then[name] for name in names}, (
        "a rule that stood then answers otherwise now"
    )


@pytest.mark.parametrize("revision", REVISIONS)
@pytest.mark.parametrize("backend", ["sqlite"])
def test_backup_of_an_upgrade_is_the_store_as_it_was(
    frozen: Callable[[str], tuple[str, dict[str, Any]]], revision: str
) -> None:
    """The copy made before holds the old schema and every row, byte for byte as a dump has it."""
    where, _ = frozen(revision)
    if revision == SCHEMA_REVISION:
        return
    _, _, copy = upgrade_store(where, NOW)
    assert copy is not None
    with closing(sqlite3.connect(copy)) as connection:
        dump = "\n".join(connection.iterdump())
    assert dump == gzip.decompress(frozen_bytes(revision, "sql")).decode()
