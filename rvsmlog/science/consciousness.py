"""Time of useful consciousness at a cabin altitude, and what donning a mask leaves of it."""

from rvsmlog.errors import InputError, OutOfRangeError
from rvsmlog.frozen import dataclass
from rvsmlog.standards.oxygen_figures import USEFUL_CONSCIOUSNESS
from rvsmlog.standards.source import Source

HIGHEST_FT = USEFUL_CONSCIOUSNESS.value[-1].altitude_ft


@dataclass(frozen=True, slots=True, kw_only=True)
class DonningMargin:
    """What is left of the time of useful consciousness once oxygen flows.

    Parameters
    ----------
    useful_s : float
        Time of useful consciousness, seconds.
    recognition_s, donning_s : float
        Time to notice the loss of pressure, and to put the mask on, seconds.
    source : Source
        Where the time of useful consciousness stands.
    """

    useful_s: float
    recognition_s: float
    donning_s: float
    source: Source

    @property
    def left_s(self) -> float:
        """Seconds left; negative when consciousness would go first."""
        return self.useful_s - self.recognition_s - self.donning_s


def useful_consciousness_s(cabin_ft: float, *, rapid: bool) -> float:
    """Give the time of useful consciousness at a cabin altitude.

    The shortest time of the next higher row of the table: between rows a straight line would
    answer a longer one. Below 18,000 ft, where the table begins, its first row stands in.

    Parameters
    ----------
    cabin_ft : float
        Cabin pressure altitude, feet, from 0 to 50,000.
    rapid : bool
        After a rapid decompression.

    Returns
    -------
    float
        Seconds.

    Raises
    ------
    OutOfRangeError
        When the altitude is out of range or no finite number.

    Examples
    --------
    >>> useful_consciousness_s(31_000, rapid=True)
    15.0
    """
    if not 0.0 <= cabin_ft <= HIGHEST_FT:
        raise OutOfRangeError(
            f"cabin altitude {cabin_ft:g} ft is out of range",
            f"times of useful consciousness are known up to {HIGHEST_FT:,} ft",
        )
    row = next(row for row in USEFUL_CONSCIOUSNESS.value if cabin_ft <= row.altitude_ft)
    return min(row.rapid_s if rapid else row.normal_s)


def donning_margin(
    cabin_ft: float, *, donning_s: float, recognition_s: float, rapid: bool
) -> DonningMargin:
    """Hold the time of useful consciousness against the time to have oxygen.

    Parameters
    ----------
    cabin_ft : float
        Cabin pressure altitude after the loss of pressure, feet.
    donning_s, recognition_s : float
        Time to put the mask on and time to notice, seconds.
    rapid : bool
        After a rapid decompression.

    Returns
    -------
    DonningMargin
        The times and what they leave.

    Raises
    ------
    OutOfRangeError
        When the altitude is out of range.
    InputError
        When a time is negative or no finite number.
    """
    for name, seconds in (("donning", donning_s), ("recognition", recognition_s)):
        if not 0.0 <= seconds < float("inf"):
            raise InputError(f"{name} time {seconds:g} s is no time", "write seconds, 0 or more")
    return DonningMargin(
        useful_s=useful_consciousness_s(cabin_ft, rapid=rapid),
        recognition_s=recognition_s,
        donning_s=donning_s,
        source=USEFUL_CONSCIOUSNESS.source,
    )
