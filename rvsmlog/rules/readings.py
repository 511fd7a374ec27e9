"""Cross-checks on record, sorted by where and on which flight they were taken."""

from datetime import datetime

from rvsmlog.facts import Facts, Logged
from rvsmlog.once import once
from rvsmlog.records.flights import CrossCheck, Flight
from rvsmlog.units import feet_to_level


def in_flight(facts: Facts) -> tuple[Logged[CrossCheck], ...]:
    """Give the newest cross-checks taken in flight, from the earliest to the latest."""
    return _parted(facts.crosschecks)[0]


@once
def _parted(
    crosschecks: tuple[Logged[CrossCheck], ...],
) -> tuple[tuple[Logged[CrossCheck], ...], tuple[Logged[CrossCheck], ...]]:
    """Part those in flight from those on the ground."""
    on_ground = tuple(logged for logged in crosschecks if logged.record.on_ground)
    if not on_ground:
        return crosschecks, on_ground
    return tuple(logged for logged in crosschecks if not logged.record.on_ground), on_ground


def on_ground(facts: Facts) -> tuple[Logged[CrossCheck], ...]:
    """Give the newest checks taken at a known elevation, from the earliest to the latest."""
    return tuple(
        logged
        for logged in _parted(facts.crosschecks)[1]
        if logged.record.field_elevation_ft is not None
    )


def level_of(check: CrossCheck) -> int:
    """Give the flight level held; that which altimeter 1 showed where none was recorded."""
    return check.level or feet_to_level(check.primary_1_ft)


def between(
    readings: tuple[Logged[CrossCheck], ...], first: datetime, last: datetime
) -> tuple[Logged[CrossCheck], ...]:
    """Give the readings taken from one instant to another, both included."""
    return tuple(logged for logged in readings if first <= logged.record.taken_at <= last)


def newest_flight_readings(facts: Facts) -> tuple[Logged[CrossCheck], ...]:
    """Give the cross-checks of the newest flight that has any in flight.

    Where the newest cross-check belongs to no flight on record, it stands alone.
    """
    readings = in_flight(facts)
    if not readings:
        return ()
    taken_at = readings[-1].record.taken_at
    flights = [logged.record for logged in facts.flights if _contains(logged.record, taken_at)]
    return between(readings, flights[-1].off_at, taken_at) if flights else readings[-1:]


def _contains(flight: Flight, instant: datetime) -> bool:
    return flight.off_at <= instant <= flight.on_at
