"""The dossier as a page: one file, the answer first, then in the order in which one inspects."""

from collections.abc import Iterator
from datetime import datetime

from rvsmlog.answers.dossier import Dossier
from rvsmlog.dates import show_instant
from rvsmlog.facts import Facts
from rvsmlog.pages import dossier_altimetry as altimetry
from rvsmlog.pages import dossier_defects as defects
from rvsmlog.pages import dossier_papers as papers
from rvsmlog.pages import dossier_record as record
from rvsmlog.pages.page import render
from rvsmlog.pages.parts import Places, Section
from rvsmlog.pages.plot_svg import svg
from rvsmlog.reports.plot import Plot
from rvsmlog.reports.verdict_screen import headline, set_by
from rvsmlog.rules.crew import pilot_codes
from rvsmlog.verdict import Answer

KIND = "dossier"


def dossier_page(made: Dossier, made_at: datetime) -> str:
    """Lay out a dossier.

    Parameters
    ----------
    made : Dossier
        What it shows.
    made_at : datetime
        The present instant, UTC.

    Returns
    -------
    str
        The page.
    """
    places = Places(made.close.airframe.ref.logbook)
    sections = _sections(made, places)
    verdict, facts = made.verdict, made.now
    return render(
        "dossier.html",
        KIND,
        {
            "title": f"RVSM dossier of {facts.particulars.registration}",
            "made_at": made_at,
            "seals": facts.seals,
            "about": list(_about(made)),
            "answer": headline(verdict),
            "goes": verdict.answer is Answer.GO,
            "set_by": ", ".join(set_by(verdict)),
            "asked": _asked(facts),
            "faults": papers.faults(places, verdict.findings),
            "sections": sections,
            "places": places,
            "draw": _Pictures(),
        },
    )


def _sections(made: Dossier, places: Places) -> tuple[Section, ...]:
    """Give the sections in the order in which one inspects; others come once all are made."""
    shown = (
        papers.particulars(made, places),
        papers.approvals(made, places),
        papers.equipment(made, places),
        defects.defects(made, places),
        altimetry.tests(made, places),
        altimetry.monitoring(made, places),
        altimetry.drift(made, places),
        altimetry.crosschecks(made, places),
        defects.deviations(made, places),
        record.checks(made, places),
        papers.findings(made, places),
        record.due(made),
        record.flights(made, places),
        record.oxygen(made, places),
    )
    return (
        *shown,
        record.others(made, places),
        record.corrections(made, places),
        record.register(made),
        record.sources(made),
    )


class _Pictures:
    """Draws the pictures of a page, each with a number of its own."""

    def __init__(self) -> None:
        self._count = 0

    def __call__(self, plot: Plot) -> object:
        self._count += 1
        return svg(plot, self._count)


def _about(made: Dossier) -> Iterator[tuple[str, str]]:
    """Say of what, of whom and of which days the dossier is, and how it shows what was corrected.

    The store is read as it is now: what was corrected later is shown as it counts now.
    """
    facts = made.close
    airframe, zone = facts.particulars, facts.time_zone
    yield "Airframe", f"type {airframe.type_designator}, serial number {airframe.serial_number}"
    yield "Logbook", f"{facts.airframe.ref.logbook}"
    if facts.operator is not None:
        yield "Operator", facts.operator.record.name
    yield "Span", f"{made.span.first} to {made.span.last}, days in {zone}; instants in UTC"
    yield (
        "Stands as of",
        f"{show_instant(facts.now)}, the end of the span, unless a section says otherwise",
    )
    yield (
        "As known",
        "now: what was entered or corrected after the span is taken in. Section Corrections shows "
        "what each entry said before, who corrected it, when and why",
    )


def _asked(facts: Facts) -> str:
    """Say for what the answer holds."""
    said = f"for {show_instant(facts.now)}"
    if facts.region:
        said += f", region {facts.region}"
    if facts.question.pilot is None and len(pilot_codes(facts)) > 1:
        said += "; no pilot named, so that training is not judged"
    return said
