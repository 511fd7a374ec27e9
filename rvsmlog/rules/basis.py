"""Which approval the flight rests on, and why the others on record do not count."""

from collections.abc import Sequence
from datetime import date, timedelta

from rvsmlog.facts import ApprovalCase, Facts, Logged
from rvsmlog.once import once
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.papers import Approval
from rvsmlog.rules.term import Span
from rvsmlog.standards.authorities import authority
from rvsmlog.standards.regions import covers
from rvsmlog.standards.rvsm import Basis

#: The approval that is held by name, and the authority that rests on ADS-B Out and monitoring.
SPECIFIC = "rvsm"
ADS_B = "rvsm-ads-b"
#: The only region in which the latter serves: appendix G section 9 ends at its edge.
ADS_B_REGION = "US"


def of_rvsm(facts: Facts) -> tuple[ApprovalCase, ...]:
    """Give the approvals on record that are about RVSM, from the earliest to the latest."""
    return tuple(
        case for case in facts.approvals if case.approval.record.approval in (SPECIFIC, ADS_B)
    )


def paper_faults(case: ApprovalCase, facts: Facts) -> tuple[str, ...]:
    """Say why an approval does not count for this flight, as far as the paper itself goes.

    Parameters
    ----------
    case : ApprovalCase
        An approval about RVSM.
    facts : Facts
        The flight. Its operator and region must be known.

    Returns
    -------
    tuple of str
        Reasons; empty when it counts.
    """
    paper = case.approval.record
    faults = (
        dates_fault(case, facts.today),
        names_fault(paper, facts),
        region_fault(paper, facts),
        authority_fault(case, facts),
    )
    return tuple(fault for fault in faults if fault)


def ads_b_faults(facts: Facts) -> tuple[str, ...]:
    """Say why the authority that rests on ADS-B Out cannot serve this flight, wherever it stands.

    Returns
    -------
    tuple of str
        Reasons; empty when the rules know it and the region is the one in which it serves.
    """
    overlay = authority(facts.particulars.authority)
    faults = []
    if not overlay.adsb_route_allowed:
        faults.append(f"the {overlay.code} rules have no such basis")
    if facts.region is not None and facts.region != ADS_B_REGION:
        faults.append(f"serves in region {ADS_B_REGION} only, not in {facts.region}")
    return tuple(faults)


def faults_of(case: ApprovalCase, facts: Facts) -> tuple[str, ...]:
    """Say why an approval does not count for this flight; empty when it does."""
    faults = paper_faults(case, facts)
    if case.approval.record.approval == ADS_B:
        faults += ads_b_faults(facts)
    return faults


@once
def in_use(facts: Facts) -> ApprovalCase | None:
    """Give the approval that the flight rests on.

    A specific approval goes before the ADS-B based authority, then one that lasts longer, then the
    newer one.

    Returns
    -------
    ApprovalCase or None
        None when none counts, or when the operator or the region is not known.
    """
    if facts.operator is None or facts.region is None:
        return None
    good = [case for case in of_rvsm(facts) if not faults_of(case, facts)]
    return max(good, key=_preference, default=None)


def basis_of(facts: Facts) -> Basis:
    """Say on which basis the aeroplane is held to a limit of altimetry system error."""
    case = in_use(facts)
    if case is not None and case.approval.record.approval == ADS_B:
        return Basis.ADS_B
    return Basis(facts.particulars.rvsm_basis)


def same_marks(one: str, other: str) -> bool:
    """Say whether two registrations are the same marks; hyphens are not part of them."""
    return _marks(one) == _marks(other)


def same_name(one: str, other: str) -> bool:
    """Say whether two names are the same but for case and blanks."""
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()


def _marks(registration: str) -> str:
    return registration.replace("-", "").strip().upper()


def _preference(case: ApprovalCase) -> tuple[bool, date, date, int]:
    paper = case.approval.record
    last = paper.expires_on or date.max
    return (paper.approval == SPECIFIC, last, paper.issued_on, case.approval.ref.entry)


def days_of(case: ApprovalCase) -> Span:
    """Give the days on which an approval counts; the day of withdrawal is none of them."""
    paper, withdrawal = case.approval.record, case.withdrawal
    lasts = [paper.expires_on] if paper.expires_on is not None else []
    if withdrawal is not None:
        lasts.append(withdrawal.record.withdrawn_on - timedelta(days=1))
    return Span(first=paper.issued_on, last=min(lasts, default=None))


def withdrawn(case: ApprovalCase, today: date) -> bool:
    """Say whether an approval is withdrawn by a day."""
    return case.withdrawal is not None and case.withdrawal.record.withdrawn_on <= today


def dates_fault(case: ApprovalCase, today: date) -> str:
    """Say what the dates have against it, the gravest first."""
    paper = case.approval.record
    if case.withdrawal is not None and withdrawn(case, today):
        return f"withdrawn on {case.withdrawal.record.withdrawn_on}"
    if paper.expires_on is not None and paper.expires_on < today:
        return f"expired on {paper.expires_on}"
    if paper.issued_on > today:
        return f"not valid before {paper.issued_on}"
    return ""


def names_fault(paper: Approval, facts: Facts) -> str:
    """Say whether it names another aeroplane or another holder."""
    if not same_marks(paper.registration, facts.particulars.registration):
        return f"names registration {paper.registration}"
    if facts.operator is not None and not same_name(paper.holder, facts.operator.record.name):
        return f"names holder {paper.holder}"
    return ""


def region_fault(paper: Approval, facts: Facts) -> str:
    """Say whether it leaves out the region of the flight; none is left out that is not known."""
    region = facts.region
    if region is None or covers(paper.regions or (), region):
        return ""
    return f"does not cover region {region}"


def authority_fault(case: ApprovalCase, facts: Facts) -> str:
    """Say whether it was entered while the airframe's particulars stated another authority.

    A paper is issued for one kind of operation: appendix G section 3(a) has a letter of
    authorization, operations or management specifications as it fits, SPA.GEN.100 authorities of
    their own for commercial and other operators. What rests on ADS-B Out is no paper.
    """
    before, now = case.entered_under, facts.particulars.authority
    if before is None or before == now or case.approval.record.approval == ADS_B:
        return ""
    return f"entered under {before}, {now} on record now"


def authority_before(airframes: Sequence[Logged[Airframe]], entry: int) -> str:
    """Give the authority that the particulars stated when an entry was made, as corrected since."""
    before = [each for each in airframes if each.first < entry] or airframes
    return max(before, key=lambda each: each.first).record.authority
