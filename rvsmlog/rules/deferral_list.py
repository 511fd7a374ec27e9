"""The minimum equipment list under which defects are deferred."""

from collections.abc import Iterator

from rvsmlog.facts import ApprovalCase, Facts
from rvsmlog.findings import NO_FLIGHT
from rvsmlog.records.base import Ref
from rvsmlog.rules.base import Result, advice, met, not_applicable, not_on_record, rule
from rvsmlog.rules.basis import authority_fault, dates_fault, days_of, names_fault
from rvsmlog.rules.open_defects import open_defects
from rvsmlog.rules.term import Term, covered_until
from rvsmlog.standards.authorities import authority

_MEL = "mel"


@rule("91-213", "oro-mlr-105", "nco-ide-a-105", "nco-gen-155")
def deferral_without_mel(facts: Facts) -> Iterator[Result]:
    """Defect deferred without a minimum equipment list on record that is approved or notified.

    Checks: Where a deferral is open: whether an approval of a minimum equipment list on record
    names this registration and this operator, has been issued, has not expired and was not
    withdrawn. Its first and last day count; the day of withdrawal does not. It counts under the
    authority that the airframe's particulars stated when it was entered. Held to the day on which
    the flight ends, as far as --cruise-minutes tells.

    Why: Without a list a turbine aeroplane may not fly with required equipment inoperative, however
    the defect was written up. The authority approves it; under Part-NCO it is notified (NCO.GEN.155
    (b)), and recorded here as an approval from the day on which that was done.

    Remedy: Record the list's approval, or its notification, with its registration, holder and days;
    or have the defect rectified.

    Known problems: That the item deferred stands in the list is not checked.
    """
    cases = [case for case in open_defects(facts) if case.deferral is not None]
    if not cases:
        yield not_applicable("no deferral open")
        return
    papers = [case for case in facts.approvals if case.approval.record.approval == _MEL]
    good = [case for case in papers if not _fault(case, facts)]
    home = authority(facts.particulars.authority)
    sources = (home.mel_source.key, *(("nco-gen-155",) if home.mel_notified else ()))
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
    home = authority(facts.particulars.authority)
    notified = home.mel_notified
    kind = "notified" if notified else "approved"
    says = f"defect deferred, no {kind} minimum equipment list on record"
    if papers and facts.operator is None:
        says = "defect deferred, operator not on record: whose list counts is not known"
    elif papers:
        newest = papers[-1]
        says = f"defect deferred, list #{newest.approval.first} {_fault(newest, facts)}"
    what = (
        "that the list is notified, from that day on," if notified else "the approval of the list"
    )
    remedy = (
        f"Record {what} for this registration and operator with `rvsmlog approval add`, or have "
        "the defect rectified."
    )
    evidence = (*_deferrals(facts), *(case.approval.ref for case in papers[-1:]))
    if home.mel_required_for_deferral:
        return not_on_record(
            says, highest_level=NO_FLIGHT, remedy=remedy, evidence=evidence, sources=sources
        )
    return advice(says, remedy=remedy, evidence=evidence, sources=sources)


def _fault(case: ApprovalCase, facts: Facts) -> str:
    """Say why a list's approval does not count, ``""`` when it does."""
    return (
        dates_fault(case, facts.today)
        or names_fault(case.approval.record, facts)
        or authority_fault(case, facts)
    )


def mel_terms(facts: Facts) -> Iterator[Term]:
    """Give the last day of the approval of the minimum equipment list, however it was renewed."""
    if facts.operator is None:
        return
    ours = [
        case
        for case in facts.approvals
        if case.approval.record.approval == _MEL
        and not names_fault(case.approval.record, facts)
        and not authority_fault(case, facts)
    ]
    span = covered_until((days_of(case) for case in ours), facts.today)
    if span is None or span.last is None:
        return
    papers = tuple(case.approval for case in ours if days_of(case).last == span.last)
    yield Term(
        rule=deferral_without_mel.name,
        subject="",
        what=f"approval #{papers[-1].first} of the minimum equipment list",
        last_day=span.last,
        evidence=(*(paper.ref for paper in papers), *_deferrals(facts)),
        remedy="Have the list's approval renewed and record it with `rvsmlog approval add`.",
    )
