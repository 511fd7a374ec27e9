"""Work on static system, altimetry and altitude reporting without the test that it calls for."""

from collections.abc import Iterator

from rvsmlog.facts import DefectCase, Facts, Logged
from rvsmlog.findings import NO_FLIGHT
from rvsmlog.frozen import replace
from rvsmlog.records.defects import AltimetryFault, Rectification
from rvsmlog.rules.base import Result, met, not_applicable, not_met, not_on_record, rule
from rvsmlog.rules.proof import (
    ALTIMETER_STATIC,
    CORRESPONDENCE,
    LEAK_CHECK,
    STATIC_PROOF,
    failure,
    leak_limit_ft,
    moment,
    newest,
    proved_since,
)
from rvsmlog.rules.work_events import (
    SYSTEM,
    Event,
    altimetry_events,
    at_of,
    openings,
    pending_of,
    positions_of,
    rectified,
    refs,
    reporting_events,
    since,
)
from rvsmlog.standards.equipment import Function
from rvsmlog.standards.rvsm import HIGHEST_LEVEL_BELOW_RVSM

ALTIMETRY_SYSTEM, TRANSPONDER = "altimetry", "transponder"
#: The test that settles what a rectification leaves unsaid, and its name in running text.
_UNSAID = {
    ALTIMETRY_SYSTEM: (ALTIMETER_STATIC, "an altimeter and static test"),
    TRANSPONDER: (CORRESPONDENCE, "a correspondence test"),
}
_BELOW = HIGHEST_LEVEL_BELOW_RVSM.value
_LEAK_REMEDY = (
    "Have the static system leak-checked and record the check with its day and the loss of "
    "altitude; until then no flight under IFR."
)
_REPORTING_REMEDY = (
    "Have the altitude reported compared with the altimeter, and record the correspondence test "
    "with `rvsmlog test add`; "
    "until then no flight under IFR."
)


@rule("91-411-a2", "rvsm-maintenance-guidance", "43-appendix-e-a")
def static_system_opened(facts: Facts) -> Iterator[Result]:
    """Leak check missing since the static system was opened, or failed.

    Checks: After all work and rectification that opened the static system, and after each
    altimeter, standby altimeter, air data computer or static source fitted, removed or swapped with
    another, a leak check or an altimeter and static test of the position (of both systems where
    none is named): passed, and not beyond the leak limit by its own number. An altimeter test that
    names the serial number of a unit is taken for a bench test, which says nothing about the static
    system. A test of the same day counts when it was recorded after the work. A newest leak check
    that failed is a finding by itself.

    Why: 91.411(a)(2) bars flight under IFR after the static system was opened and closed, until it
    is tested to appendix E. A leak inside a pressurised cabin shifts altimeter, airspeed and
    altitude reporting together, so no cross-check shows it.

    Remedy: Have the system leak-checked, and record the check and the loss of altitude.

    Known problems: Drains and the alternate static valve are excepted by the rule: do not record
    their use as opening. Fitting a unit that has no pneumatic line is taken for opening too. The
    leak limit is that of 25.1325 and legacy 23.1325; without the cabin differential on record the
    least limit, 100 ft, is held.
    """
    yield from _leaking(facts)
    events = openings(facts)
    pending = pending_of(facts, events, STATIC_PROOF)
    if pending:
        yield not_met(
            f"{since(pending)}: no good leak check since",
            highest_level=NO_FLIGHT,
            remedy=_LEAK_REMEDY,
            values={"opened_on": str(pending[-1].day), "openings": len(pending)},
            evidence=refs(pending),
        )
    elif events:
        last = max(events, key=at_of)
        yield met(
            f"static system tested since it was last opened on {last.day}", evidence=(last.ref,)
        )
    else:
        yield not_applicable("no opening of the static system on record")


@rule("91-411-a3", "43-appendix-e-c", "91-217", "rvsm-maintenance-guidance")
def altimetry_work_untested(facts: Facts) -> Iterator[Result]:
    """Work on the altimetry without the test that it calls for.

    Checks: After work on an altimeter, an air data computer or the skin around a static port, after
    a static source was fitted, and after two altimeters, air data computers or static sources were
    swapped, a good altimeter and static test of the position (of both systems where none is named),
    else RVSM is lost; after work on ports and skin a bench test of a unit does not do. After work
    on altitude reporting or an air data computer, and after a transponder or an air data computer
    was fitted or swapped, a good correspondence test (for a computer of its position), else no
    flight under IFR. After a rectification of the altimetry or of a transponder that does not say
    what it touched, the altimeter and static test or the correspondence test, or the maintenance
    controller's accepting review; else RVSM is lost. A test of the same day counts when it was
    recorded after the work.

    Why: Altimetry system error is what maintenance makes of it; a unit or a port that was worked on
    has an error nobody knows until it is measured. 91.411(a)(3) asks for the correspondence test
    after work by which reported and indicated altitude may have come to differ.

    Remedy: Have the test made and record it; or correct the entry of the work to what was touched.

    Known problems: The transponder is taken to have its altitude from the air data computers. What
    test RVSM work calls for stands in the aeroplane's own maintenance data, which may ask for more
    (an air data computer calibrated, skin waviness measured); the altimeter and static test is the
    least of it. A transponder's position is not that of an altimetry system, so any correspondence
    test serves after fitting one.
    """
    found = (*_unreported(facts), *_untested(facts), *_unsaid(facts))
    if found:
        yield from found
        return
    events = (*altimetry_events(facts), *reporting_events(facts))
    if not events:
        yield not_applicable("no work on the altimetry on record")
        return
    last = max(events, key=at_of)
    yield met(f"altimetry tested since the last work on it, {last.day}", evidence=(last.ref,))


def _leaking(facts: Facts) -> Iterator[Result]:
    """See that the newest leak check did not fail, unless something good came after it."""
    last = newest(test for test in facts.tests if test.record.test == LEAK_CHECK)
    fault = failure(facts, last) if last is not None else ""
    if last is None or not fault:
        return
    positions = positions_of(last.record.position)
    if not proved_since(facts, STATIC_PROOF, positions, moment(last), installed=True):
        yield not_met(
            f"leak check of {last.record.done_on}: {fault}",
            highest_level=NO_FLIGHT,
            remedy=_LEAK_REMEDY,
            values={"leak_ft": last.record.leak_ft},
            limits={"leak_ft": round(leak_limit_ft(facts.particulars))},
            evidence=(last.ref,),
        )


def _unreported(facts: Facts) -> Iterator[Result]:
    """See that work on altitude reporting was followed by a correspondence test."""
    pending = pending_of(facts, reporting_events(facts), (CORRESPONDENCE,))
    if pending:
        yield not_met(
            f"{since(pending)}: no good correspondence test since",
            highest_level=NO_FLIGHT,
            remedy=_REPORTING_REMEDY,
            values={"worked_on": str(pending[-1].day)},
            evidence=refs(pending),
            sources=("91-411-a3", "43-appendix-e-c"),
        )


def _untested(facts: Facts) -> Iterator[Result]:
    """See that work on the altimetry was followed by an altimeter and static test."""
    pending = pending_of(facts, altimetry_events(facts), (ALTIMETER_STATIC,))
    if pending:
        yield not_met(
            f"{since(pending)}: no good altimeter and static test since",
            highest_level=_BELOW,
            remedy="Have the altimeter and static system tested, and record the test.",
            values={"worked_on": str(pending[-1].day)},
            evidence=refs(pending),
            sources=("rvsm-maintenance-guidance",),
        )


def _unsaid(facts: Facts) -> Iterator[Result]:
    """See that a rectification says what it touched, or was followed by its test or a review."""
    for system, (kind, test) in _UNSAID.items():
        pending = pending_of(facts, tuple(unsaid_events(facts, system)), (kind,))
        if pending:
            yield not_on_record(
                f"{since(pending)}: not said what was touched, and no test since",
                highest_level=_BELOW,
                remedy=(
                    f"Correct the rectification to what it touched, record {test}, or record the "
                    "maintenance controller's accepting review of it."
                ),
                values={"rectified_on": str(pending[-1].day)},
                evidence=refs(pending),
                sources=("rvsm-maintenance-guidance",),
            )


def unsaid_events(facts: Facts, system: str) -> Iterator[Event]:
    """Give rectifications of altimetry or transponder that nobody said what they touched."""
    for case in facts.defects:
        done = case.rectification
        if done is None or done.record.touched is not None or _system(case) != system:
            continue
        if not _accepted(facts, case, done):
            event = rectified(facts, case, done, f"{system} fault rectified")
            yield replace(event, positions=()) if system == TRANSPONDER else event


def _system(case: DefectCase) -> str:
    """Say whether a defect is one of the altimetry systems, of a transponder, or of neither."""
    record = case.defect.record
    if isinstance(record, AltimetryFault) or record.function in SYSTEM:
        return ALTIMETRY_SYSTEM
    return TRANSPONDER if record.function == Function.TRANSPONDER else ""


def _accepted(facts: Facts, case: DefectCase, done: Logged[Rectification]) -> bool:
    """Whether the newest review of defect or rectification, made after the work, accepts it."""
    reviews = [
        review.record
        for review in (*facts.reviews_of(case.defect.first), *facts.reviews_of(done.first))
        if review.record.reviewed_at >= done.record.done_at
    ]
    newest_review = max(reviews, key=lambda review: review.reviewed_at, default=None)
    return newest_review is not None and newest_review.accepted
