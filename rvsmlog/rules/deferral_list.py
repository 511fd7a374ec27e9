"""The minimum equipment list under which defects are deferred."""

from collections.abc import Iterator

from rvsmlog.facts import ApprovalCase, Facts
from rvsmlog.findings import NO_FLIGHT
from rvsmlog.records.base import Ref
from rvsmlog.rules.base import Result, advice, met, not_applicable, not_on_record, rule
from rvsmlog.rules.basis import same_marks, same_name
from rvsmlog.rules.open_defects import open_defects
from rvsmlog.standards.authorities import authority

_MEL = "mel"


@rule("91-213", "oro-mlr-105", "nco-ide-a-105")
def deferral_without_mel(facts: Facts) -> Iterator[Result]:
    """Defect deferred without an approved minimum equipment list on record.

    Checks: Where a deferral is open: whether an approval of a minimum equipment list on record
    names this registration and this operator, has been issued, has not expired and was not
    withdrawn. Its first and last day count; the day of withdrawal does not.

    Why: Without an approved list a turbine aeroplane may not fly with required equipment
    inoperative, however the defect was written up.

    Remedy: Record the list's approval with its registration, holder and days, or have the defect
    rectified.

    Known problems: That the item deferred stands in the list is not checked.
    """
    cases = [case for case in open_defects(facts) if case.deferral is not None]
    if not cases:
        yield not_applicable("no deferral open")
        return
    papers = [case for case in facts.approvals if case.approval.record.approval == _MEL]
    good = [case for case in papers if not _fault(case, facts)]
    sources = (authority(facts.particulars.authority).mel_source.key,)
    if good and facts.operator is not None:
        paper = good[-1].approval
        yield met(
            f"minimum equipment list #{paper.first} counts for {len(cases)} deferral(s)",
            evidence=(paper.ref, *_deferrals(facts)),
            sources=sources,
        )
        return
    yield _without(facts, papers, sources)


def _deferrals(facts: Facts) -> tuple[Ref, ...]:
    return tuple(case.deferral.ref for case in open_defects(facts) if case.deferral is not None)


def _without(facts: Facts, papers: list[ApprovalCase], sources: tuple[str, ...]) -> Result:
    """Say that no list counts, and what is wrong with the newest."""
    says = "defect deferred, no approved minimum equipment list on record"
    if papers and facts.operator is None:
        says = "defect deferred, operator not on record: whose list counts is not known"
    elif papers:
        newest = papers[-1]
        says = f"defect deferred, list #{newest.approval.first} {_fault(newest, facts)}"
    remedy = (
        "Record the approval of the list for this registration and operator with `rvsmlog approval "
        "add`, or have the defect rectified."
    )
    evidence = (*_deferrals(facts), *(case.approval.ref for case in papers[-1:]))
    if authority(facts.particulars.authority).mel_required_for_deferral:
        return not_on_record(
            says, highest_level=NO_FLIGHT, remedy=remedy, evidence=evidence, sources=sources
        )
    return advice(says, remedy=remedy, evidence=evidence, sources=sources)


def _fault(case: ApprovalCase, facts: Facts) -> str:
    """Say why a list's approval does not count, ``""`` when it does."""
    paper, withdrawal = case.approval.record, case.withdrawal
    if withdrawal is not None and withdrawal.record.withdrawn_on <= facts.today:
        return f"withdrawn on {withdrawal.record.withdrawn_on}"
    if paper.expires_on is not None and paper.expires_on < facts.today:
        return f"expired on {paper.expires_on}"
    if paper.issued_on > facts.today:
        return f"not valid before {paper.issued_on}"
    if not same_marks(paper.registration, facts.particulars.registration):
        return f"names registration {paper.registration}"
    if facts.operator is not None and not same_name(paper.holder, facts.operator.record.name):
        return f"names holder {paper.holder}"
    return ""
