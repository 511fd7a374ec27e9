"""The sheet for one flight: which checks in which order, held against which limits, what to do."""

from collections.abc import Mapping
from types import MappingProxyType

from rvsmlog.checklist import ToDo, When
from rvsmlog.facts import Facts
from rvsmlog.frozen import dataclass
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.asked import START, asked_in
from rvsmlog.records.flights import GROUND_PHASES, PHASES
from rvsmlog.rules.tolerances import (
    between_on_ground_ft,
    crosscheck_tolerance_ft,
    ground_tolerance_ft,
    standby_tolerance_ft,
)
from rvsmlog.standards.authorities import authority
from rvsmlog.standards.contingencies import CONTINGENCIES, Contingency
from rvsmlog.standards.rvsm import CORRESPONDENCE_TOLERANCE_FT
from rvsmlog.standards.source import Source
from rvsmlog.units import HIGHEST_LEVEL
from rvsmlog.verdict import Verdict

#: By the phase of a cross-check: its name on the sheet, and when its other checks are made.
_CHECKS: Mapping[str, tuple[str, When]] = MappingProxyType(
    {
        "ground": ("On the ground", "before-take-off"),
        "before-entry": ("Before entering RVSM airspace", "before-entry"),
        "level": ("Settled at the level", "in-level"),
        "hourly": ("Each hour", "each-hour"),
        "leaving": ("Before leaving the level", "leaving"),
        "after-flight": ("After landing", "after-flight"),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Levels with the same limits, both ends included.

    Parameters
    ----------
    low, high : int
        Flight levels.
    primaries_ft : int
        How far apart the primaries may be.
    standby_ft : int or None
        How far the standby may be from a primary; None where no limit is on record.
    """

    low: int
    high: int
    primaries_ft: int
    standby_ft: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """The limits of one airframe, the same that the rules use.

    Parameters
    ----------
    bands : tuple of Band
        From the lowest level to the highest, without a gap.
    ground_ft : int
        How far an altimeter may be from the known elevation.
    ground_between_ft : int or None
        How far apart the primaries may be on the ground; None where the manual says nothing.
    transponder_ft : int
        How far the transponder's altitude may be from the nearer primary.
    sources : tuple of (str, Source)
        What each published figure is, and where it stands.
    """

    bands: tuple[Band, ...]
    ground_ft: int
    ground_between_ft: int | None
    transponder_ft: int
    sources: tuple[tuple[str, Source], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetCheck:
    """One check of the sheet.

    Parameters
    ----------
    phase : str
        As a cross-check has it.
    title : str
        What stands above it.
    on_ground : bool
        Whether it is made at a known elevation.
    fields : tuple of str
        Fields of the cross-check in the order of guided entry, without phase and time.
    to_do : tuple of ToDo
        What else is to do then.
    """

    phase: str
    title: str
    on_ground: bool
    fields: tuple[str, ...]
    to_do: tuple[ToDo, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FlightSheet:
    """The sheet for one flight.

    Parameters
    ----------
    airframe : Airframe
        Its particulars.
    level : int or None
        The level that the checks are planned for; None where the flight may not go.
    pilot : str or None
        The pilot's code; None where it is not known.
    limits : Limits
        What the readings are held against.
    checks : tuple of SheetCheck
        In the order of the flight.
    contingencies : tuple of Contingency
        What to do and say when something fails.
    """

    airframe: Airframe
    level: int | None
    pilot: str | None
    limits: Limits
    checks: tuple[SheetCheck, ...]
    contingencies: tuple[Contingency, ...]


def flight_sheet(facts: Facts, verdict: Verdict) -> FlightSheet:
    """Put a flight's sheet together.

    Parameters
    ----------
    facts : Facts
        The planned flight.
    verdict : Verdict
        What the rules say of it.
    """
    airframe, question = facts.particulars, facts.question
    codes = [logged.record.code for logged in facts.pilots]
    only = codes[0] if len(codes) == 1 else None
    return FlightSheet(
        airframe=airframe,
        level=question.level or verdict.highest_level,
        pilot=question.pilot or only,
        limits=limits_of(airframe),
        checks=tuple(_check(phase, verdict) for phase in PHASES),
        contingencies=CONTINGENCIES,
    )


def _check(phase: str, verdict: Verdict) -> SheetCheck:
    """Give the check of one phase."""
    title, when = _CHECKS[phase]
    return SheetCheck(
        phase=phase,
        title=title,
        on_ground=phase in GROUND_PHASES,
        fields=tuple(name for name in asked_in(phase) if name not in START),
        to_do=tuple(each for each in verdict.to_do if each.when == when),
    )


def limits_of(airframe: Airframe) -> Limits:
    """Give every limit that a cross-check of an airframe is held against."""
    home = authority(airframe.authority)
    between = home.ground_between_ft
    return Limits(
        bands=_bands(airframe),
        ground_ft=ground_tolerance_ft(airframe),
        ground_between_ft=between_on_ground_ft(airframe),
        transponder_ft=CORRESPONDENCE_TOLERANCE_FT.value,
        sources=(
            ("primaries in flight", home.crosscheck_tolerance_ft.source),
            ("altimeter to elevation", home.ground_check_tolerance_ft.source),
            *(() if between is None else (("altimeter 1 to 2 on the ground", between.source),)),
            ("transponder", CORRESPONDENCE_TOLERANCE_FT.source),
        ),
    )


def _bands(airframe: Airframe) -> tuple[Band, ...]:
    """Join neighbouring levels that have the same limits."""
    bands: list[Band] = []
    for level in range(1, HIGHEST_LEVEL + 1):
        limits = (crosscheck_tolerance_ft(airframe, level), standby_tolerance_ft(airframe, level))
        low = level
        if bands and (bands[-1].primaries_ft, bands[-1].standby_ft) == limits:
            low = bands.pop().low
        bands.append(Band(low=low, high=level, primaries_ft=limits[0], standby_ft=limits[1]))
    return tuple(bands)
