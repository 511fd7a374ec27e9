"""The edition of the rules: the same edition gives the same answers.

What is on file was made by the rules themselves, and says nothing of whether they are right: other
tests hold that. It says that they answer as they did when the edition was written down.
"""

import pytest

from rvsmlog.rules import RULEBOOK, RULES
from rvsmlog.rules.reporting_due import altitude_reporting_test_overdue
from tests.rules.rulebook import TOGETHER, kept, otherwise

ANEW = "then write the answers down anew: `python -m tests.rules.rulebook`"


def test_one_edition_gives_one_set_of_answers() -> None:
    """A rule that answers otherwise, a new one, and one that is gone want another edition."""
    edition, _, telling = kept()
    assert edition == RULEBOOK, ANEW
    changed = otherwise()
    assert changed == [], f"raise RULEBOOK in rvsmlog/rules/__init__.py, {ANEW}"
    assert set(telling) == {*(rule.name for rule in RULES), TOGETHER}
    assert all(telling.values())


def test_a_month_less_is_another_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is held can fail: a rule that counts to another day is named, and no other rule."""
    monkeypatch.setattr("rvsmlog.rules.reporting_due._months", lambda _: 23)
    assert otherwise() in (
        [altitude_reporting_test_overdue.name],
        sorted((TOGETHER, altitude_reporting_test_overdue.name)),
    )
