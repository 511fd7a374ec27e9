"""The detector run over a whole series at once, as tests and benchmarks want it."""

from collections.abc import Iterable

from rvsmlog.science.drift import DriftState, advance
from rvsmlog.science.drift_readings import Point


def watch(series: Iterable[Point], *, resolution_ft: float) -> DriftState:
    """Run the detector over one band's points since the last restart, in order of time.

    Parameters
    ----------
    series : iterable of Point
        Those at or after the newest restart, in order of time.
    resolution_ft : float
        Step in which the differences are recorded, feet.

    Returns
    -------
    DriftState
        After the last point.
    """
    state = DriftState(resolution_ft=resolution_ft)
    for point in series:
        state = advance(state, point.difference_ft, at=point.at, readings=point.readings)
    return state
