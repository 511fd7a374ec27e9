"""From facts to one number: the highest level the flight may use, and whether that is enough."""

from collections.abc import Iterable
from datetime import datetime
from enum import StrEnum

from rvsmlog.checklist import ToDo, to_do
from rvsmlog.errors import InputError
from rvsmlog.facts import Facts, NotJudged, Seal
from rvsmlog.findings import NO_FLIGHT, Finding
from rvsmlog.flight_plan import FlightPlan, flight_plan
from rvsmlog.frozen import dataclass
from rvsmlog.rules import OXYGEN_RULES, RULEBOOK, RULES
from rvsmlog.rules.base import Rule
from rvsmlog.rules.flight_data import nothing_above_hold
from rvsmlog.rules.landing import found_to_the_end

#: The caution that stands beside every verdict.
CAUTION = (
    "An aid, not a release: the approved manuals, the local rules, licensed maintenance and the "
    "pilot in command decide."
)


class Answer(StrEnum):
    """The answer at the planned level."""

    GO = "GO"
    NO_GO = "NO-GO"


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The answer of one check.

    Parameters
    ----------
    airframe : str
        Registration.
    at : datetime
        The instant asked about, UTC.
    planned_level : int or None
        The level asked about; None when the highest was asked for.
    highest_level : int or None
        Highest flight level that may be used; None when the flight may not go.
    answer : Answer
        GO when the planned level (or, without one, any level) may be used.
    findings : tuple of Finding
        What each rule found, in the order of the catalogue.
    to_do : tuple of ToDo
        Checks still to make.
    flight_plan : FlightPlan
        What the flight plan should say.
    seals : tuple of Seal
        The newest entries known of the logbooks that were read.
    rulebook : str
        Edition of the rules.
    """

    airframe: str
    at: datetime
    planned_level: int | None
    highest_level: int | None
    answer: Answer
    findings: tuple[Finding, ...]
    to_do: tuple[ToDo, ...]
    flight_plan: FlightPlan
    seals: tuple[Seal, ...]
    rulebook: str

    @property
    def limiting(self) -> tuple[Finding, ...]:
        """The findings that set the highest level."""
        lowest = NO_FLIGHT if self.highest_level is None else self.highest_level
        return tuple(finding for finding in self.findings if finding.highest_level == lowest)


def lowest_level(findings: Iterable[Finding]) -> int | None:
    """Give the lowest of the findings' highest levels; None when it is no flight at all.

    Raises
    ------
    ValueError
        When no finding names a level: the certificated ceiling always does.
    """
    lowest = min(finding.highest_level for finding in findings if finding.highest_level is not None)
    return None if lowest <= NO_FLIGHT else lowest


def judged(
    facts: Facts, rules: tuple[Rule, ...] = RULES, *, limits_only: bool = False
) -> tuple[tuple[Finding, ...], int | None]:
    """Give what the rules find, and the highest level that it leaves: all that decides.

    Parameters
    ----------
    facts, rules
        As in :func:`judge`.
    limits_only : bool
        Whether findings that limit no level may be left out: for who shows none of them.
    """
    findings = found_to_the_end(rules, facts, limits_only=limits_only)
    highest = lowest_level(findings)
    below = None if highest is None else nothing_above_hold(facts, highest)
    return (findings, highest) if below is None else ((*findings, below), None)


def _check_facts(facts: object) -> None:
    """Refuse what is no facts: nothing else may come out as a verdict."""
    if isinstance(facts, NotJudged):
        raise InputError(f"{facts.airframe} cannot be judged: {facts.message}", facts.hint)
    if not isinstance(facts, Facts):
        raise InputError(f"{facts!r} are no facts of an airframe", "give what read_facts gives")


def judge(facts: Facts, rules: tuple[Rule, ...] = RULES) -> Verdict:
    """Judge the facts by the rules.

    Parameters
    ----------
    facts : Facts
        One airframe, its operator and one planned flight, as known at one instant.
    rules : tuple of Rule
        The catalogue.

    Returns
    -------
    Verdict
        With every finding, those that are met included.

    Raises
    ------
    InputError
        When what is given are no facts; of an airframe that cannot be judged, why.
    """
    _check_facts(facts)
    findings, highest = judged(facts, rules)
    aside = lowest_level(each for each in findings if each.rule not in OXYGEN_RULES)
    planned = facts.question.level
    goes = highest is not None and (planned is None or planned <= highest)
    return Verdict(
        airframe=facts.particulars.registration,
        at=facts.now,
        planned_level=planned,
        highest_level=highest,
        answer=Answer.GO if goes else Answer.NO_GO,
        findings=findings,
        to_do=to_do(facts, highest),
        flight_plan=flight_plan(facts, highest, aside),
        seals=facts.seals,
        rulebook=RULEBOOK,
    )
