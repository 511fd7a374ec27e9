"""The paper on which flight in RVSM airspace rests: approved, and for how long."""

from collections.abc import Iterator

from rvsmlog.dates import days_left
from rvsmlog.facts import ApprovalCase, Facts
from rvsmlog.findings import Margin
from rvsmlog.records.base import Ref
from rvsmlog.rules.base import (
    Result,
    advice,
    met,
    not_applicable,
    not_met,
    not_on_record,
    rule,
)
from rvsmlog.rules.basis import (
    ADS_B,
    SPECIFIC,
    ads_b_faults,
    authority_fault,
    days_of,
    faults_of,
    in_use,
    names_fault,
    of_rvsm,
    region_fault,
)
from rvsmlog.rules.term import Term, covered_until
from rvsmlog.standards.regions import HIGH_LEVEL_REGION, HIGH_LEVELS, covers
from rvsmlog.standards.rvsm import APPROVAL_LAPSING_DAYS, HIGHEST_LEVEL_BELOW_RVSM
from rvsmlog.units import show_level

_BELOW = HIGHEST_LEVEL_BELOW_RVSM.value
_SHOWN = 2
_SOURCES = ("appendix-g-4b", "appendix-g-3", "spa-rvsm-100", "spa-gen-100", "91-706")


@rule(*_SOURCES)
def rvsm_approval_missing(facts: Facts) -> Iterator[Result]:
    """No RVSM approval counts for this flight.

    Checks: Whether one approval on record names this registration and this operator, covers the
    region of the flight, has been issued, has not expired and was not withdrawn. Its first and its
    last day count; the day of withdrawal does not. It counts under the authority that the
    airframe's particulars stated when it was entered: once they state another, none is on record
    until one is entered again. The authority that rests on ADS-B Out is no paper, and counts where
    the airframe's rules know it and the flight stays in airspace of the United States.
    Registrations are compared without hyphens, holders without regard to case and blanks. Held to
    the day on which the flight ends, as far as --cruise-minutes tells. In the North Atlantic, from
    FL285 to FL420, advice says that an authorization for navigation is asked for as well.

    Why: Nobody may fly in RVSM airspace, or show approval on the flight plan, unless operator and
    aircraft are authorised (appendix G sections 3, 4 and 9; SPA.RVSM.100). An approval goes with
    operator and aircraft: a new operator or new marks end it. It goes with the kind of operation:
    a letter of authorization, operations or management specifications, as fits (appendix G section
    3(a)); in Europe commercial and other operators ask different authorities (SPA.GEN.100).

    Remedy: Obtain the approval, or a new one in the right name, and record it with registration,
    holder, regions and days. Where it stands under the airframe's present rules too, enter it
    again. Until then plan below RVSM airspace and leave W out of item 10a.

    Known problems: The approval is taken as recorded; whether the authority's data base shows it is
    not known here. Where the authority in the particulars is corrected, not changed by a new entry,
    earlier approvals count under the corrected one. In Europe a commercial operator's authority is
    that of its principal place of business (SPA.GEN.100(a)(1)), which is not on record: that it
    issued the approval is not checked. A non-commercial operator of an aeroplane registered in a
    third country needs no European approval where the State of Registry issued one
    (SPA.GEN.100(b)): once the particulars state other rules, this finding can be wrong there; enter
    the approval again, and it counts. An approval for North America covers the United States, not
    the other way round. SPA.RVSM.100 and 91.706 stand in from memory and from an older text.
    Whether the operator holds the authorization of the North Atlantic cannot be recorded, nor what
    other regions ask of navigation and communication.
    """
    if not of_rvsm(facts):
        yield _none_on_record(facts)
        return
    if facts.operator is None:
        yield not_on_record(
            "no operator on record: whose approval it is cannot be seen",
            highest_level=_BELOW,
            remedy="Record the operator's particulars with the name as on the approval.",
            evidence=_refs(of_rvsm(facts)),
        )
        return
    if facts.region is None:
        yield not_on_record(
            "region of the flight not known: whether the approval covers it cannot be seen",
            highest_level=_BELOW,
            remedy="Name the region of the flight, or record the operator's usual region.",
            evidence=_refs(of_rvsm(facts)),
        )
        return
    case = in_use(facts)
    yield _none_counts(facts) if case is None else _counts(facts, case)
    if case is not None:
        yield from _navigation(facts, case)


@rule("practice")
def rvsm_approval_lapsing(facts: Facts) -> Iterator[Result]:
    """RVSM approval that ends soon.

    Checks: Whether the approval that the flight rests on ends within the next 30 days, its last day
    included. Of several that count, the one that lasts longest is taken.

    Why: A renewal takes the authority weeks; without it RVSM airspace is closed from one day to the
    next. The 30 days are common practice, no source.

    Remedy: Apply for the renewal now, and record the new approval when it is issued.

    Known problems: An approval without a last day is taken to last until it is withdrawn.
    """
    case = in_use(facts)
    if case is None:
        yield not_applicable("no RVSM approval counts for this flight")
        return
    last = case.approval.record.expires_on
    evidence = (case.approval.ref,)
    if last is None:
        yield met(f"approval #{_number(case)} has no last day", evidence=evidence)
        return
    left = days_left(last, facts.today)
    says = f"approval #{_number(case)} ends with {last}: {left} days left"
    margin = Margin(value=left, unit="days")
    values, limits = {"days_left": left}, {"warning_days": APPROVAL_LAPSING_DAYS.value}
    if left > APPROVAL_LAPSING_DAYS.value:
        yield met(says, values=values, limits=limits, margin=margin, evidence=evidence)
        return
    yield advice(
        says,
        remedy="Apply for the renewal, and record the new approval when it is issued.",
        values=values,
        limits=limits,
        margin=margin,
        evidence=evidence,
    )


def approval_terms(facts: Facts) -> Iterator[Term]:
    """Give the last day of each kind of RVSM approval, however it was renewed.

    What names other marks, another holder or another region ends nothing that this flight rests on.
    """
    for kind, title in ((SPECIFIC, "RVSM approval"), (ADS_B, "ADS-B based RVSM authority")):
        ours = [
            case
            for case in of_rvsm(facts)
            if case.approval.record.approval == kind and not _other_faults(case, facts)
        ]
        span = covered_until((days_of(case) for case in ours), facts.today)
        if span is None or span.last is None:
            continue
        papers = tuple(case for case in ours if days_of(case).last == span.last)
        yield Term(
            rule=rvsm_approval_missing.name,
            subject=kind,
            what=f"{title} #{_number(papers[-1])}",
            last_day=span.last,
            evidence=_refs(papers),
            remedy="Have it renewed and record the new approval with `rvsmlog approval add`.",
        )


def _other_faults(case: ApprovalCase, facts: Facts) -> bool:
    """Whether something other than its days stands against an approval."""
    paper = case.approval.record
    if names_fault(paper, facts) or region_fault(paper, facts) or authority_fault(case, facts):
        return True
    return paper.approval == ADS_B and bool(ads_b_faults(facts))


def _none_on_record(facts: Facts) -> Result:
    """Say that there is no approval about RVSM at all."""
    return not_on_record(
        "no RVSM approval on record",
        highest_level=_BELOW,
        remedy=(
            "Obtain the approval and record it with `rvsmlog approval add`: registration, holder, "
            f"regions and days; the ADS-B based authority as {ADS_B}."
        ),
        evidence=(facts.airframe.ref,),
    )


def _none_counts(facts: Facts) -> Result:
    """Say of each approval why it does not count, the newest first."""
    cases = tuple(reversed(of_rvsm(facts)))
    reasons = {case: " and ".join(faults_of(case, facts)) for case in cases}
    shown = [f"#{_number(case)} {reasons[case]}" for case in cases[:_SHOWN]]
    if len(cases) > _SHOWN:
        shown.append(f"and {len(cases) - _SHOWN} older")
    under = facts.particulars.authority
    elsewhere = [
        case
        for case in cases
        if authority_fault(case, facts) == " and ".join(faults_of(case, facts))
    ]
    if elsewhere:
        return not_on_record(
            f"no RVSM approval under {under}: " + "; ".join(shown),
            highest_level=_BELOW,
            remedy=(
                f"Enter the approval that stands under {under} with `rvsmlog approval add`; where "
                f"#{_number(elsewhere[0])} does, enter it again."
            ),
            values={f"approval_{_number(case)}": reason for case, reason in reasons.items()},
            limits={"authority": under},
            evidence=(facts.airframe.ref, *_refs(cases)),
        )
    return not_met(
        "no approval counts: " + "; ".join(shown),
        highest_level=_BELOW,
        remedy=(
            "Obtain an approval that names this registration and operator and covers the region, "
            "and record it; or plan below RVSM airspace without W in item 10a."
        ),
        values={f"approval_{_number(case)}": reason for case, reason in reasons.items()},
        limits={
            "registration": facts.particulars.registration,
            "region": facts.region,
            "today": str(facts.today),
        },
        evidence=_refs(cases),
    )


def _counts(facts: Facts, case: ApprovalCase) -> Result:
    """Name the approval that counts."""
    paper = case.approval.record
    kind = "ADS-B based authority" if paper.approval == ADS_B else "approval"
    if paper.expires_on is None:
        last, margin = "without a last day", None
    else:
        last = f"until {paper.expires_on}"
        margin = Margin(value=days_left(paper.expires_on, facts.today), unit="days")
    return met(
        f"{kind} #{_number(case)} of {paper.issued_on} counts for {facts.region}, {last}",
        values={"approval": paper.approval, "region": facts.region},
        margin=margin,
        evidence=(case.approval.ref,),
    )


def _navigation(facts: Facts, case: ApprovalCase) -> Iterator[Result]:
    """Tell that the region asks for an authorization that is not about heights."""
    low, high = HIGH_LEVELS.value
    planned = facts.question.level
    top = facts.particulars.highest_level if planned is None else planned
    above = planned is not None and planned > high
    over = facts.region is not None and covers((facts.region,), HIGH_LEVEL_REGION)
    if not over or top < low or above:
        return
    yield advice(
        f"North Atlantic, {show_level(low)} to {show_level(high)}: an authorization for "
        "navigation is asked for too, and not known here",
        remedy="See that the operator holds the one for its high level airspace; without it, plan "
        f"below {show_level(low)}.",
        values={"planned_level": planned},
        limits={"lowest_level": low, "highest_level": high},
        evidence=(case.approval.ref,),
        sources=("91-705", HIGH_LEVELS.source.key),
    )


def _number(case: ApprovalCase) -> int:
    return case.approval.first


def _refs(cases: tuple[ApprovalCase, ...]) -> tuple[Ref, ...]:
    """Give the entries of approvals and of their withdrawals."""
    refs = []
    for case in cases:
        refs.append(case.approval.ref)
        if case.withdrawal is not None:
            refs.append(case.withdrawal.ref)
    return tuple(refs)
