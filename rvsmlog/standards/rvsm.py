"""RVSM airspace: levels, tolerances, limits of altimetry system error, reports and monitoring."""

from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from types import MappingProxyType

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.standards.source import Figure, Source
from rvsmlog.standards.sources import source


def _feet(value: int, key: str, note: str = "") -> Figure[int]:
    """State a figure in feet."""
    return Figure(value=value, unit="ft", source=source(key), note=note)


def _months(value: int, key: str, note: str = "") -> Figure[int]:
    """State a figure in months."""
    return Figure(value=value, unit="months", source=source(key), note=note)


#: Lowest flight level of RVSM airspace.
RVSM_LOWEST_LEVEL = Figure(value=290, unit="FL", source=source("appendix-g-1"))
#: Highest flight level of RVSM airspace, which belongs to it.
RVSM_HIGHEST_LEVEL = Figure(value=410, unit="FL", source=source("appendix-g-1"))
#: Highest cruising level that stays below RVSM airspace.
HIGHEST_LEVEL_BELOW_RVSM = Figure(
    value=RVSM_LOWEST_LEVEL.value - 10,
    unit="FL",
    source=source("derived"),
    note="1,000 ft below FL290, appendix G section 1",
)

#: Greatest difference between the two primary altimeters at entry and in cruise.
CROSSCHECK_TOLERANCE_FT = _feet(200, "spa-rvsm-105-entry", "60 m; NAT Doc 001 3.5.1(f) agrees")
#: Greatest difference between an altimeter and the known elevation before flight.
GROUND_CHECK_TOLERANCE_FT = _feet(
    75, "spa-rvsm-105-pre-flight", "23 m, or the tighter limit of the aeroplane's own manual"
)
#: Greatest difference between the two primaries then: one figure for both checks.
GROUND_BETWEEN_TOLERANCE_FT = _feet(
    75, "spa-rvsm-105-pre-flight", "23 m; the manual's own limit where that is tighter"
)
#: Greatest difference between reported pressure altitude and the altimeter on 29.92 inHg.
CORRESPONDENCE_TOLERANCE_FT = _feet(125, "43-appendix-e-c", "91.217(a)(2): 95 % probability")
#: How often the primaries are compared in flight.
CROSSCHECK_INTERVAL_MINUTES = Figure(
    value=60, unit="min", source=source("nat-doc-001-3-5-1f"), note="the text says about one hour"
)
#: Allowed beyond the hour, as the text says "about".
CROSSCHECK_GRACE_MINUTES = Figure(value=15, unit="min", source=source("practice"))
#: Age beyond which a cross-check on record says little about today's altimetry.
CROSSCHECK_MAX_AGE_DAYS = Figure(value=90, unit="days", source=source("practice"))
#: How many recent cross-checks a review wants to see.
CROSSCHECKS_WANTED = Figure(value=2, unit="", source=source("practice"))
#: Greatest overshoot or undershoot when changing level.
OVERSHOOT_FT = _feet(150, "nat-doc-001-3-5-1c", "45 m")

#: How long training that recurs is taken to count where its record sets no last day.
TRAINING_MONTHS = Figure(
    value=24, unit="calendar months", source=source("practice"), note="12 or 24 are common"
)
#: Before an approval ends, this much time is wanted to renew it.
APPROVAL_LAPSING_DAYS = Figure(value=30, unit="days", source=source("practice"))
#: At and above this altitude airspace of the United States asks for a transponder everywhere.
TRANSPONDER_NEEDED_FT = _feet(10_000, "91-215")
#: At and above this altitude it asks for ADS-B Out nearly everywhere: Class E over the 48 states.
ADS_B_OUT_NEEDED_FT = _feet(10_000, "91-225", "not at and below 2,500 ft above the surface")
#: Where Class A airspace of the United States begins, in which ADS-B Out is on 1090 MHz.
CLASS_A_FROM_FT = _feet(18_000, "91-225", "a universal access transceiver serves below it")

#: Total vertical error at and beyond which an event is reported.
LARGE_TVE_FT = _feet(300, "appendix-g-6", "SPA.RVSM.115 agrees")
#: Altimetry system error at and beyond which an event is reported.
LARGE_ASE_FT = _feet(245, "appendix-g-6", "SPA.RVSM.115 agrees")
#: Assigned altitude deviation at and beyond which an event is reported.
LARGE_AAD_FT = _feet(300, "appendix-g-6", "SPA.RVSM.115 agrees")

#: Last day of application for a type certificate under the earlier limits.
TYPE_CERTIFICATE_SPLIT = Figure(
    value=date(1997, 4, 9),
    unit="",
    source=source("appendix-g-2d"),
    note="an application of that very day has the earlier limits",
)
#: Altitude alert threshold, by whether the application came after the split.
ALTITUDE_ALERT_FT: Mapping[bool, Figure[int]] = MappingProxyType(
    {False: _feet(300, "appendix-g-2c-3"), True: _feet(200, "appendix-g-2c-3")}
)
#: Independent altitude measurement systems that must work.
ALTITUDE_SYSTEMS_REQUIRED = Figure(value=2, unit="", source=source("appendix-g-2c-1"))

#: First height monitoring after approval.
MONITORING_FIRST_MONTHS = _months(
    6,
    "regional-monitoring-agency",
    "as soon as possible, not later: what an agency says should be, not a standard of Annex 6",
)
#: Long-term height monitoring, whichever of this and the hours is longer.
MONITORING_LONG_TERM_MONTHS = _months(
    24,
    "annex-6-1-7-2-7",
    "two years or 1,000 flight hours, whichever is longer; a summary by a trade association in the "
    "United States says whichever comes first",
)
#: Flight hours of the same.
MONITORING_LONG_TERM_HOURS = Figure(
    value=1000, unit="flight hours", source=source("annex-6-1-7-2-7")
)
#: Of each group of one type, so many of an operator's aeroplanes are monitored, or all if fewer.
MONITORING_GROUP_AIRFRAMES = Figure(
    value=2,
    unit="aeroplanes",
    source=source("annex-6-1-7-2-7"),
    note="groups with good data; from memory, the tables of minimum monitoring ask 60 percent of "
    "groups with little, and every aeroplane that belongs to no group",
)
#: Age of the last monitoring of an aeroplane under section 9 of appendix G.
MONITORING_ADSB_MONTHS = _months(24, "ac-91-85b-4-3", "verify in the circular")
#: Lowest version of TCAS II, if TCAS II is fitted.
ACAS_VERSION = Figure(
    value="7.0",
    unit="",
    source=source("appendix-g-2g"),
    note="TSO-C119b; only if TCAS II is fitted",
)


class Basis(StrEnum):
    """How an aeroplane came to be allowed in RVSM airspace."""

    GROUP = "group"
    NON_GROUP = "non-group"
    ADS_B = "ads-b"


class Envelope(StrEnum):
    """Part of the flight envelope for which a limit holds."""

    BASIC = "basic"
    FULL = "full"


@dataclass(frozen=True, slots=True, kw_only=True)
class AseLimit:
    """Limits of altimetry system error for one basis of approval.

    Parameters
    ----------
    mean_ft : int or None
        Greatest absolute mean over a group; None where the rule has none.
    spread_ft : int or None
        Greatest absolute mean plus three standard deviations over a group; None likewise.
    individual_ft : int
        What one aeroplane's single measured absolute error is held against.
    source : Source
        Where the limits stand.
    note : str
        What a reader must know to use them rightly.
    """

    mean_ft: int | None
    spread_ft: int | None
    individual_ft: int
    source: Source
    note: str = ""


_GROUP_NOTE = (
    "The rule limits the group; holding one aeroplane's error against the group's mean plus three "
    "standard deviations is common practice"
)


def _group(mean_ft: int, spread_ft: int, key: str) -> AseLimit:
    """State the limits of a group approval."""
    return AseLimit(
        mean_ft=mean_ft,
        spread_ft=spread_ft,
        individual_ft=spread_ft,
        source=source(key),
        note=_GROUP_NOTE,
    )


def _single(limit_ft: int, key: str) -> AseLimit:
    """State a limit that holds for each aeroplane by itself."""
    return AseLimit(mean_ft=None, spread_ft=None, individual_ft=limit_ft, source=source(key))


# (basis, application after the split, envelope): the later types have one limit for both envelopes.
_ASE_LIMITS: Mapping[tuple[Basis, bool, Envelope], AseLimit] = MappingProxyType(
    {
        (Basis.GROUP, False, Envelope.BASIC): _group(80, 200, "appendix-g-2d"),
        (Basis.GROUP, False, Envelope.FULL): _group(120, 245, "appendix-g-2d"),
        (Basis.GROUP, True, Envelope.BASIC): _group(80, 200, "appendix-g-2e"),
        (Basis.GROUP, True, Envelope.FULL): _group(80, 200, "appendix-g-2e"),
        (Basis.NON_GROUP, False, Envelope.BASIC): _single(160, "appendix-g-2f"),
        (Basis.NON_GROUP, False, Envelope.FULL): _single(200, "appendix-g-2f"),
        (Basis.NON_GROUP, True, Envelope.BASIC): _single(160, "appendix-g-2f"),
        (Basis.NON_GROUP, True, Envelope.FULL): _single(200, "appendix-g-2f"),
        (Basis.ADS_B, False, Envelope.BASIC): _single(200, "appendix-g-9b"),
        (Basis.ADS_B, False, Envelope.FULL): _single(200, "appendix-g-9b"),
        (Basis.ADS_B, True, Envelope.BASIC): _single(200, "appendix-g-9b"),
        (Basis.ADS_B, True, Envelope.FULL): _single(200, "appendix-g-9b"),
    }
)


def ase_limit(basis: str, *, tc_after_split: bool, envelope: str = Envelope.FULL) -> AseLimit:
    """Give the limits of altimetry system error.

    Parameters
    ----------
    basis : str
        ``group``, ``non-group`` or ``ads-b``.
    tc_after_split : bool
        Whether the type certificate was applied for after 9 April 1997.
    envelope : str
        ``full`` (default) or ``basic``.

    Returns
    -------
    AseLimit
        Feet, with the source.

    Raises
    ------
    InputError
        When the basis or the envelope is unknown.
    """
    try:
        wanted = (Basis(basis), bool(tc_after_split), Envelope(envelope))
    except ValueError:
        raise InputError(
            f"no limit of altimetry system error for {basis!r}, {envelope!r} envelope",
            "bases are group, non-group and ads-b; envelopes are full and basic",
        ) from None
    return _ASE_LIMITS[wanted]


def tc_after_split(applied: date) -> bool:
    """Say whether a type certificate was applied for after 9 April 1997."""
    return applied > TYPE_CERTIFICATE_SPLIT.value
