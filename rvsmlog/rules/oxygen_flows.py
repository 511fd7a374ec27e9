"""Flows of oxygen that nobody has entered, and without which the need is not known."""

from rvsmlog.records.oxygen import OxygenInstallation
from rvsmlog.science.oxygen import Group

#: Positions of a regulator in which the crew breathes undiluted oxygen, counted without a table.
_COUNTED = frozenset({"normal", "100-percent"})


def flows_missing(fitted: OxygenInstallation) -> tuple[str, ...]:
    """Give the fields of the flows that a check will ask for.

    Without the handbook's table a continuous flow is the least that certification asks, which may
    be too low: levels that need it are held back. A demand regulator is counted as undiluted.

    Parameters
    ----------
    fitted : OxygenInstallation
        The system.
    """
    missing = []
    if Group.CREW in fitted.serves:
        if fitted.crew_delivery == "continuous":
            name = "crew_normal_flow"
        else:
            name = "" if _COUNTED & set(fitted.crew_modes or ()) else "crew_emergency_flow"
        if name and getattr(fitted, name) is None:
            missing.append(name)
    if Group.PASSENGERS in fitted.serves and fitted.passenger_flow is None:
        missing.append("passenger_flow")
    return tuple(missing)
