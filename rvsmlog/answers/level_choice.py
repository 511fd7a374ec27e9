"""Cruising levels of a track: which may be used, best first, and what excludes the others."""

from dataclasses import replace

from rvsmlog.errors import InputError
from rvsmlog.facts import Facts
from rvsmlog.findings import Finding
from rvsmlog.frozen import dataclass
from rvsmlog.rules.level import level_above_certificated
from rvsmlog.rules.oxygen_systems import hold_of
from rvsmlog.standards.authorities import authority
from rvsmlog.standards.cruising_levels import BELOW, RVSM, cruising_levels, parse_split
from rvsmlog.verdict import Verdict, judge

#: Levels lower than this are not offered unless asked: no pressurised cruise is planned there.
LOWEST_OFFERED = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelView:
    """One cruising level.

    Parameters
    ----------
    level : int
        Flight level.
    usable : bool
        Whether it may be filed on this track.
    excluded_by : tuple of Finding
        What excludes it, the gravest first; empty for levels of the other half circle.
    other_half : bool
        Whether it belongs to the tracks of the other half circle.
    """

    level: int
    usable: bool
    excluded_by: tuple[Finding, ...] = ()
    other_half: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelChoice:
    """The cruising levels of one flight.

    Parameters
    ----------
    track : float
        Magnetic track, degrees.
    split : str
        Tracks that take the odd levels.
    split_assumed : bool
        Whether the split is the authority's own, for want of a word about the airspace flown.
    levels : tuple of LevelView
        Usable ones first and highest first, then the excluded ones of this track, then those of
        the other half circle.
    verdict : Verdict
        At the best level; where none is usable, at the lowest.
    """

    track: float
    split: str
    split_assumed: bool
    levels: tuple[LevelView, ...]
    verdict: Verdict

    @property
    def usable(self) -> tuple[LevelView, ...]:
        """Levels that may be filed, best first."""
        return tuple(each for each in self.levels if each.usable)

    @property
    def excluded(self) -> tuple[LevelView, ...]:
        """Levels of this track that may not be filed, highest first."""
        return tuple(each for each in self.levels if not each.usable and not each.other_half)

    @property
    def other_half(self) -> tuple[LevelView, ...]:
        """Levels of the other half circle, highest first."""
        return tuple(each for each in self.levels if each.other_half)

    @property
    def best(self) -> int | None:
        """The best level; None when none is usable."""
        return self.usable[0].level if self.usable else None


def level_choice(facts: Facts, *, lowest: int = LOWEST_OFFERED) -> LevelChoice:
    """Judge each cruising level of the flight's track.

    The highest usable level is taken as the best. From FL290 to FL410 the airspace is taken to
    apply 1,000 ft.

    Parameters
    ----------
    facts : Facts
        The flight with its track; its planned level does not matter.
    lowest : int
        Lowest level to look at.

    Raises
    ------
    InputError
        When no track is said, or the split is unknown.
    """
    track, said = facts.question.flight.track, facts.question.flight.split
    if track is None:
        raise InputError("the track is not said", "give --track, or --route with one")
    split = parse_split(said or authority(facts.particulars.authority).track_split)
    own = [level for level in cruising_levels(track, split, rvsm=True) if level >= lowest]
    verdicts = {level: judge(_at(facts, level)) for level in own}
    views = sorted((_view(facts, verdicts[level], level) for level in own), key=_order)
    best = views[0].level
    return LevelChoice(
        track=track,
        split=split.value,
        split_assumed=said is None,
        levels=(*views, *_other_half(own, lowest)),
        verdict=verdicts[best] if views[0].usable else verdicts[min(own)],
    )


def _at(facts: Facts, level: int) -> Facts:
    """Ask about another level."""
    return replace(facts, question=replace(facts.question, level=level))


def _order(view: LevelView) -> tuple[bool, int]:
    """Put usable levels first, each from the highest down."""
    return not view.usable, -view.level


def _view(facts: Facts, verdict: Verdict, level: int) -> LevelView:
    """Say whether a level may be used, and what excludes it."""
    highest = verdict.highest_level
    usable = highest is not None and level <= highest and level >= hold_of(facts)
    excluding = [
        finding
        for finding in verdict.findings
        if finding.highest_level is not None and finding.highest_level < level
    ]
    excluding.sort(key=lambda finding: (finding.highest_level or 0, finding.rule))
    # Above what the aeroplane is certificated for nothing else is worth saying.
    above = [each for each in excluding if each.rule == level_above_certificated.name]
    excluding = above or excluding
    return LevelView(level=level, usable=usable, excluded_by=() if usable else tuple(excluding))


def _other_half(own: list[int], lowest: int) -> tuple[LevelView, ...]:
    """Give the levels of the tables that belong to the other half circle, highest first."""
    every = {*BELOW.odd, *BELOW.even, *RVSM.odd, *RVSM.even}
    levels = sorted(
        (level for level in every if level >= lowest and level not in own), reverse=True
    )
    return tuple(LevelView(level=level, usable=False, other_half=True) for level in levels)


def tracks_of_other_half(track: float, split: str) -> str:
    """Give the tracks that take the levels which this track does not, for example ``180-359``."""
    first = int(split.partition("-")[0])
    mine = (track - first) % 360 < 180  # noqa: PLR2004  # half a circle
    start = (first + 180) % 360 if mine else first
    end = (start + 179) % 360
    return f"{start:03d}-{end:03d}"


def item_15(level: int) -> str:
    """Write a cruising level as item 15 of a flight plan has it.

    Examples
    --------
    >>> item_15(90)
    'F090'
    """
    return f"F{level:03d}"
