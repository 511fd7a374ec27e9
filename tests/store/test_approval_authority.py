"""An approval counts under the authority that the particulars stated when it was entered.

Appendix G section 3(a) issues authority by a letter of authorization, operations or management
specifications, as fits the operation; SPA.GEN.100(a) has authorities of their own for commercial
and non-commercial operators (both published).
"""

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from rvsmlog.facts import Facts, Question
from rvsmlog.rules.approvals import rvsm_approval_missing
from rvsmlog.rules.deferral_list import deferral_without_mel
from rvsmlog.store.reading.facts_reader import Heads, read_facts, read_fleet

if TYPE_CHECKING:
    from tests.store.conftest import Log

ASKED = Question(at=datetime(2027, 3, 14, 2, 30, tzinfo=UTC), level=310, region="NAM")


def facts(log: "Log", **heads: int) -> Facts:
    """Read the facts about the airframe, as known at some entries."""
    with log.store.reading() as connection:
        return read_facts(connection, log.book(), ASKED, Heads(**heads) if heads else None)


def under(log: "Log") -> list[tuple[int, str | None]]:
    """Give each approval with the authority under which it was entered; a fleet reads the same."""
    alone = facts(log)
    with log.store.reading() as connection:
        (other,) = read_fleet(connection, [log.book()], ASKED)
    assert isinstance(other, Facts)
    assert other.approvals == alone.approvals
    return [(case.approval.first, case.entered_under) for case in alone.approvals]


def outcome(read: Facts) -> tuple[str, int | None]:
    """Judge the approval."""
    (finding,) = rvsm_approval_missing.findings(read)
    return str(finding.outcome), finding.highest_level


def test_another_authority_asks_for_another_approval(log: "Log") -> None:
    """us-91 to us-135: the letter no longer counts; entered again, the specifications do."""
    letter = log.add("approval")
    before = log.add("approval", approval="mel")
    assert outcome(facts(log)) == ("met", None)
    changed = log.add("airframe", authority="us-135")
    assert under(log) == [(letter, "us-91"), (before, "us-91")]
    assert outcome(facts(log)) == ("not on record", 280)
    again = log.add("approval")
    assert under(log)[-1] == (again, "us-135")
    assert outcome(facts(log)) == ("met", None)
    # What was known before the change is answered as it was, and going back brings it back.
    assert outcome(facts(log, airframe=changed - 1, operator=1)) == ("met", None)
    log.add("airframe", authority="us-91")
    assert outcome(facts(log)) == ("met", None)


def test_the_list_goes_with_it(log: "Log") -> None:
    """A minimum equipment list approved under other rules bars a deferral from flight."""
    log.add("approval", approval="mel")
    defect = log.add("defect")
    log.add("deferral", defect=defect)
    assert [str(each.outcome) for each in deferral_without_mel.findings(facts(log))] == ["met"]
    log.add("airframe", authority="eu-cat")
    (finding,) = deferral_without_mel.findings(facts(log))
    assert (str(finding.outcome), finding.highest_level) == ("not on record", 0)
    assert "entered under us-91, eu-cat on record now" in finding.says


def test_corrected_particulars_count_as_corrected(log: "Log") -> None:
    """Particulars that were wrong never stood; a correction of the paper does not move it."""
    letter = log.add("approval")
    log.correct(1, "airframe", authority="us-135")
    assert under(log) == [(letter, "us-135")]
    log.add("airframe", authority="us-91")
    log.correct(letter, "approval", reference="LOA 7")
    assert under(log) == [(letter, "us-135")]
    assert outcome(facts(log)) == ("not on record", 280)


def test_a_change_of_other_particulars_changes_nothing(log: "Log") -> None:
    """A later entry with the same authority leaves the approval as it was."""
    log.add("approval")
    log.add("airframe", highest_level="FL410")
    assert outcome(facts(log)) == ("met", None)
