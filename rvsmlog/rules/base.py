"""How a rule is declared: a function from facts to results, whose docstring is its page."""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import field
from inspect import cleandoc

from rvsmlog.errors import LACKS_DOCSTRINGS, NO_DOCSTRINGS, WANTS_DOCSTRINGS
from rvsmlog.facts import Facts
from rvsmlog.findings import Finding, Margin, Outcome, Value
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Ref
from rvsmlog.standards.sources import SOURCES

if LACKS_DOCSTRINGS:
    raise ImportError(f"{NO_DOCSTRINGS}; {WANTS_DOCSTRINGS}")

#: Headings that every rule's page has, in this order.
HEADINGS = ("Checks", "Why", "Remedy", "Known problems")


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """A finding before the rule's name is put on it."""

    outcome: Outcome
    says: str
    highest_level: int | None = None
    values: Mapping[str, Value] = field(default_factory=dict)
    limits: Mapping[str, Value] = field(default_factory=dict)
    margin: Margin | None = None
    evidence: tuple[Ref, ...] = ()
    sources: tuple[str, ...] = ()
    remedy: str = ""


Check = Callable[[Facts], Iterable[Result]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule of the catalogue.

    Parameters
    ----------
    name : str
        Slug that names the fault.
    sources : tuple of str
        Keys of the published sources it rests on.
    page : str
        Its docstring: a first line, then a paragraph under each heading.
    check : callable
        Facts to results.
    """

    name: str
    sources: tuple[str, ...]
    page: str
    check: Check

    @property
    def summary(self) -> str:
        """The first line of the page."""
        return self.page.splitlines()[0]

    def section(self, heading: str) -> str:
        """Give the text under one heading of the page, on one line."""
        wanted = "|".join(HEADINGS)
        match = re.search(rf"^{heading}: (.*?)(?=^(?:{wanted}): |\Z)", self.page, re.M | re.S)
        return " ".join(match.group(1).split()) if match else ""

    def findings(self, facts: Facts) -> tuple[Finding, ...]:
        """Judge the facts; each finding carries the rule's name and sources."""
        return tuple(map(self._named, self.check(facts)))

    def limits(self, facts: Facts) -> tuple[Finding, ...]:
        """Judge the facts; give those findings only that limit the level."""
        return tuple(
            self._named(result) for result in self.check(facts) if result.highest_level is not None
        )

    def _named(self, result: Result) -> Finding:
        return Finding(
            rule=self.name,
            outcome=result.outcome,
            says=result.says,
            highest_level=result.highest_level,
            values=result.values,
            limits=result.limits,
            margin=result.margin,
            evidence=result.evidence,
            sources=result.sources or self.sources,
            remedy=result.remedy,
        )


def rule(*sources: str) -> Callable[[Check], Rule]:
    """Declare a function as a rule.

    The function's name, with hyphens, is the rule's name. Its docstring is its page in the
    catalogue and must have the headings of :data:`HEADINGS`, each at the start of a line and
    followed by a colon.

    Parameters
    ----------
    *sources : str
        Keys of :data:`rvsmlog.standards.sources.SOURCES`.

    Raises
    ------
    TypeError
        At import, when a heading is missing, or a source is unknown or not given.
    """

    def declare(check: Check) -> Rule:
        name = check.__name__.replace("_", "-")
        page = cleandoc(check.__doc__ or "")
        for heading in HEADINGS:
            if f"\n{heading}: " not in page:
                raise TypeError(f"rule {name}: its docstring has no heading {heading!r}")
        if not sources:
            raise TypeError(f"rule {name}: it names no source")
        for key in sources:
            if key not in SOURCES:
                raise TypeError(f"rule {name}: unknown source {key!r}")
        return Rule(name=name, sources=sources, page=page, check=check)

    return declare


def met(
    says: str,
    *,
    values: Mapping[str, Value] | None = None,
    limits: Mapping[str, Value] | None = None,
    margin: Margin | None = None,
    evidence: tuple[Ref, ...] = (),
    sources: tuple[str, ...] = (),
) -> Result:
    """Say that a requirement is met."""
    return Result(
        outcome=Outcome.MET,
        says=says,
        values=values or {},
        limits=limits or {},
        margin=margin,
        evidence=evidence,
        sources=sources,
    )


def not_met(
    says: str,
    *,
    highest_level: int,
    remedy: str,
    values: Mapping[str, Value] | None = None,
    limits: Mapping[str, Value] | None = None,
    margin: Margin | None = None,
    evidence: tuple[Ref, ...] = (),
    sources: tuple[str, ...] = (),
) -> Result:
    """Say that a requirement is not met, what level remains, and what puts it right."""
    return Result(
        outcome=Outcome.NOT_MET,
        says=says,
        highest_level=highest_level,
        values=values or {},
        limits=limits or {},
        margin=margin,
        evidence=evidence,
        sources=sources,
        remedy=remedy,
    )


def not_on_record(
    says: str,
    *,
    highest_level: int,
    remedy: str,
    values: Mapping[str, Value] | None = None,
    limits: Mapping[str, Value] | None = None,
    evidence: tuple[Ref, ...] = (),
    sources: tuple[str, ...] = (),
) -> Result:
    """Say that the evidence is missing: treated as not met, with what to record."""
    return Result(
        outcome=Outcome.NOT_ON_RECORD,
        says=says,
        highest_level=highest_level,
        values=values or {},
        limits=limits or {},
        evidence=evidence,
        sources=sources,
        remedy=remedy,
    )


def not_applicable(says: str, *, sources: tuple[str, ...] = ()) -> Result:
    """Say why a requirement does not apply here."""
    return Result(outcome=Outcome.NOT_APPLICABLE, says=says, sources=sources)


def advice(
    says: str,
    *,
    remedy: str = "",
    values: Mapping[str, Value] | None = None,
    limits: Mapping[str, Value] | None = None,
    margin: Margin | None = None,
    evidence: tuple[Ref, ...] = (),
    sources: tuple[str, ...] = (),
) -> Result:
    """Say what a careful reader should know; never limits the level."""
    return Result(
        outcome=Outcome.ADVICE,
        says=says,
        values=values or {},
        limits=limits or {},
        margin=margin,
        evidence=evidence,
        sources=sources,
        remedy=remedy,
    )
