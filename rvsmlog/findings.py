"""What the rules return: findings, each with its numbers, evidence, source and remedy."""

from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum

from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Ref
from rvsmlog.units import level_to_feet

#: A finding's highest level when the flight may not go at all.
NO_FLIGHT = 0
#: Unit of a margin between flight levels, hundreds of feet.
LEVELS = "levels"
#: What a number in a finding may be.
Value = int | float | str | bool | None


class Outcome(StrEnum):
    """How a requirement stands."""

    MET = "met"
    NOT_MET = "not met"
    NOT_ON_RECORD = "not on record"
    NOT_APPLICABLE = "not applicable"
    ADVICE = "advice"

    @property
    def said(self) -> str:
        """The word for a reader; the value itself is what JSON has."""
        return "does not apply" if self is Outcome.NOT_APPLICABLE else self.value


@dataclass(frozen=True, slots=True, kw_only=True)
class Margin:
    """How far a pass is from its limit, or a failure beyond it (negative)."""

    value: float
    unit: str

    def __str__(self) -> str:
        if self.unit == LEVELS:
            # "+90 levels" would read as that many cruising levels; it is hundreds of feet.
            return f"{self.value * level_to_feet(1):+,.0f} ft"
        return f"{self.value:+g} {self.unit}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One requirement, held against the facts.

    Parameters
    ----------
    rule : str
        Slug of the rule; it names the fault.
    outcome : Outcome
        How the requirement stands.
    says : str
        One line for a reader.
    highest_level : int or None
        Highest flight level the flight may use in spite of it; None for no limit,
        ``NO_FLIGHT`` when it may not go.
    values, limits : mapping
        The numbers found and those they are held against; names carry their unit.
    margin : Margin or None
        Distance to the limit.
    evidence : tuple of Ref
        The entries it rests on.
    sources : tuple of str
        Keys of the published sources.
    remedy : str
        What puts it right; ``""`` when nothing is wrong.
    """

    rule: str
    outcome: Outcome
    says: str
    highest_level: int | None = None
    values: Mapping[str, Value] = field(default_factory=dict)
    limits: Mapping[str, Value] = field(default_factory=dict)
    margin: Margin | None = None
    evidence: tuple[Ref, ...] = ()
    sources: tuple[str, ...] = ()
    remedy: str = ""

    @property
    def limits_level(self) -> bool:
        """Whether it lowers the highest level."""
        return self.highest_level is not None
