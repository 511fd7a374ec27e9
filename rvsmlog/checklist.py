"""Checks that are still to make on the flight, with the limits that hold for this airframe."""

from collections.abc import Iterator, Mapping
from dataclasses import field
from typing import Literal

from rvsmlog.facts import Facts
from rvsmlog.findings import Value
from rvsmlog.frozen import dataclass, replace
from rvsmlog.records.airframe import Airframe
from rvsmlog.rules.oxygen import gauges_needed
from rvsmlog.rules.oxygen_masks import mask_to_be_worn, worn_above
from rvsmlog.rules.oxygen_systems import needs_oxygen
from rvsmlog.rules.tolerances import (
    between_on_ground_ft,
    crosscheck_tolerance_ft,
    ground_tolerance_ft,
)
from rvsmlog.standards.authorities import authority
from rvsmlog.standards.rvsm import (
    ALTITUDE_ALERT_FT,
    CROSSCHECK_INTERVAL_MINUTES,
    LARGE_AAD_FT,
    LARGE_ASE_FT,
    LARGE_TVE_FT,
    OVERSHOOT_FT,
    RVSM_LOWEST_LEVEL,
)
from rvsmlog.units import show_level

When = Literal[
    "before-take-off", "before-entry", "in-level", "each-hour", "leaving", "after-flight"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToDo:
    """One check that is still to make.

    Parameters
    ----------
    when : str
        ``before-take-off``, ``before-entry``, ``in-level``, ``each-hour``, ``leaving`` or
        ``after-flight``.
    do : str
        What to do, in one sentence.
    limits : mapping
        Numbers that it is held against; names carry their unit.
    sources : tuple of str
        Keys of the published sources.
    """

    when: When
    do: str
    limits: Mapping[str, Value] = field(default_factory=dict)
    sources: tuple[str, ...] = ()


def to_do(facts: Facts, highest: int | None) -> tuple[ToDo, ...]:
    """List the checks still to make, in the order of the flight.

    Parameters
    ----------
    facts : Facts
        The planned flight.
    highest : int or None
        Highest flight level of the verdict; None when the flight may not go.

    Returns
    -------
    tuple of ToDo
        Empty when the flight may not go. Those of RVSM airspace only when the flight is planned to
        reach it and may: without a planned level, when the highest level does.
    """
    if highest is None:
        return ()
    airframe = facts.particulars
    planned = facts.question.level
    level = highest if planned is None else min(planned, highest)
    if level < RVSM_LOWEST_LEVEL.value:
        return (_ground_check(airframe), *_oxygen(facts, level), *_after_flight(rvsm=False))
    return (
        _walk_round(),
        _ground_check(airframe),
        _equipment(),
        *_oxygen(facts, level),
        *_before_entry(airframe, level),
        *_in_level(airframe, level),
        _each_hour(airframe, level),
        _leaving(),
        *_after_flight(rvsm=True),
    )


def _walk_round() -> ToDo:
    """Look at the static ports and the skin around them."""
    return ToDo(
        when="before-take-off",
        do="Look at each static port and the skin around it: no damage, dirt, paint or cover.",
        sources=("spa-rvsm-105-pre-flight",),
    )


def _ground_check(airframe: Airframe) -> ToDo:
    """Compare the altimeters with the elevation of the aerodrome."""
    figure = authority(airframe.authority).ground_check_tolerance_ft
    between = between_on_ground_ft(airframe)
    limits = {"altimeter_to_elevation_ft": ground_tolerance_ft(airframe)}
    if between is not None:
        limits["between_altimeters_ft"] = between
    return ToDo(
        when="before-take-off",
        do="Set QNH and compare each altimeter with the known elevation; record the readings.",
        limits=limits,
        sources=(figure.source.key,),
    )


def _equipment() -> ToDo:
    """See that what RVSM needs works."""
    return ToDo(
        when="before-take-off",
        do=(
            "See that both altimetry systems, altitude hold, altitude alerter and transponder work "
            "and that no warning stands."
        ),
        sources=("spa-rvsm-105-pre-flight",),
    )


def _oxygen(facts: Facts, level: int) -> Iterator[ToDo]:
    """Look at the oxygen where the level may need it; wear the mask where that is asked."""
    flown = replace(facts, question=replace(facts.question, level=level))
    if not needs_oxygen(flown):
        return
    for name, psi, cylinder_c in gauges_needed(flown):
        least = ""
        if psi is not None:
            # The level that remains may be lower than the one asked about.
            least = f" ({psi} psi or more for {show_level(level)}, cylinder at {cylinder_c:g} C)"
        yield ToDo(
            when="before-take-off",
            do=(
                f"Open the oxygen valve ({name}), read the gauge{least}; record it with "
                "`rvsmlog oxygen reading`."
            ),
            limits={} if psi is None else {"gauge_psi": psi, "cylinder_c": cylinder_c},
            sources=("practice",),
        )
    yield ToDo(
        when="before-take-off",
        do=(
            "Check oxygen at each seat in use: valve, flow and mask; at crew seats also pressure, "
            "microphone and the regulator at 100 %."
        ),
        sources=("practice",),
    )
    if mask_to_be_worn(flown):
        yield ToDo(
            when="before-take-off",
            do=f"Wear the oxygen mask above {show_level(worn_above(flown))}.",
            sources=("91-211",),
        )


def _before_entry(airframe: Airframe, level: int) -> tuple[ToDo, ...]:
    """Compare the altimeters and see the equipment work before the first RVSM level."""
    return (
        ToDo(
            when="before-entry",
            do=(
                "Compare the two primary altimeters on 1013.25 hPa (29.92 inHg); record both "
                "primaries and the standby."
            ),
            limits={"primary_to_primary_ft": crosscheck_tolerance_ft(airframe, level)},
            sources=("spa-rvsm-105-entry", "ac-91-85b-app-b"),
        ),
        ToDo(
            when="before-entry",
            do=(
                "See that altitude hold, altitude alerter and transponder work; if one does not, "
                "ask for a clearance that stays out of RVSM airspace."
            ),
            sources=("spa-rvsm-105-entry",),
        ),
    )


def _in_level(airframe: Airframe, level: int) -> tuple[ToDo, ...]:
    """Watch the capture of the level, then compare once more."""
    after_split = airframe.type_certificate == "after-1997-04-09"
    return (
        ToDo(
            when="in-level",
            do="Capture each cleared level without going beyond the limit; keep altitude hold on.",
            limits={"overshoot_ft": OVERSHOOT_FT.value},
            sources=("nat-doc-001-3-5-1c", "nat-doc-001-3-5-1d"),
        ),
        ToDo(
            when="in-level",
            do=f"Compare the primaries once settled at {show_level(level)}; record the readings.",
            limits={
                "primary_to_primary_ft": crosscheck_tolerance_ft(airframe, level),
                "altitude_alert_ft": ALTITUDE_ALERT_FT[after_split].value,
            },
            sources=("ac-91-85b-app-b", "nat-doc-001-3-5-1e"),
        ),
    )


def _each_hour(airframe: Airframe, level: int) -> ToDo:
    """Compare the primaries about every hour."""
    return ToDo(
        when="each-hour",
        do=(
            "Compare and record the primaries; beyond the limit, tell ATC "
            "UNABLE RVSM DUE EQUIPMENT."
        ),
        limits={
            "interval_min": CROSSCHECK_INTERVAL_MINUTES.value,
            "primary_to_primary_ft": crosscheck_tolerance_ft(airframe, level),
        },
        sources=("nat-doc-001-3-5-1f", "aim-4-6-9", "aim-4-6-8"),
    )


def _leaving() -> ToDo:
    """Read the altimeters a last time in RVSM airspace."""
    return ToDo(
        when="leaving",
        do="Read and record the primaries before leaving the level, so that a drift can be seen.",
        sources=("practice",),
    )


def _after_flight(*, rvsm: bool) -> tuple[ToDo, ...]:
    """Record the flight, and what was wrong with the altimetry."""
    faults = ToDo(
        when="after-flight",
        do=(
            "Record the flight and airframe hours; record each altimetry fault with readings, "
            "sub-scales, autopilot, static source and transponder in use."
        ),
        sources=("spa-rvsm-105-post-flight",),
    )
    return (faults, _report()) if rvsm else (faults,)


def _report() -> ToDo:
    """Record every deviation from the level that must be reported."""
    return ToDo(
        when="after-flight",
        do="Record and report each height-keeping error that reaches a limit.",
        limits={
            "total_vertical_error_ft": LARGE_TVE_FT.value,
            "altimetry_system_error_ft": LARGE_ASE_FT.value,
            "assigned_altitude_deviation_ft": LARGE_AAD_FT.value,
        },
        sources=("appendix-g-6", "spa-rvsm-115"),
    )
