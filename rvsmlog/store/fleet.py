"""The same check for each airframe of the fleet."""

from dataclasses import replace
from datetime import datetime

from rvsmlog.store.checks import Asked, Checked, check
from rvsmlog.store.connection import Store
from rvsmlog.store.facts_reader import registrations


def check_fleet(store: Store, asked: Asked, now: datetime) -> tuple[Checked, ...]:
    """Check each airframe without recording it, by registration."""
    with store.reading() as connection:
        fleet = registrations(connection)
    return tuple(check(store, replace(asked, registration=borne), now) for borne, _ in fleet)
