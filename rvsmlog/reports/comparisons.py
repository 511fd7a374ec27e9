"""A cross-check at once: how far apart, how far they may be, what it means, what to do next.

The tolerances are those of the rules; what is said here is what the next check will find.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from rvsmlog.frozen import dataclass
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.flights import GROUND_PHASES, CrossCheck
from rvsmlog.reports.text import WIDTH, Line, command_lines, wrap
from rvsmlog.rules.margins import BELOW_RVSM
from rvsmlog.rules.tolerances import (
    between_on_ground_ft,
    crosscheck_tolerance_ft,
    ground_tolerance_ft,
    standby_tolerance_ft,
)
from rvsmlog.standards.rvsm import CORRESPONDENCE_TOLERANCE_FT
from rvsmlog.units import show_level
from rvsmlog.verdict import CAUTION

_BEYOND = "bold red"
_CEILING = show_level(BELOW_RVSM)
#: What it means and what to do when a comparison is beyond its limit, by what was compared.
MEANS = {
    "primaries": (
        f"one of the altimeters is wrong; while this stands, nothing above {_CEILING} may be filed",
        "in RVSM airspace tell ATC; after landing report the fault",
    ),
    "elevation": (
        f"not fit for RVSM; while this is the newest ground check, nothing above {_CEILING}",
        "check the QNH and the elevation of the spot, and compare again; when it fails again, "
        "report the fault",
    ),
    "standby": (
        "it cannot tell which primary is right; while this is the newest reading of it, nothing "
        f"above {_CEILING}",
        "have the standby altimeter compared and tested",
    ),
    "transponder": (
        "ATC and other aircraft see a wrong altitude; while this is the newest reading of it, "
        f"nothing above {_CEILING}",
        "select the other transponder or altimetry system and compare again; then have the "
        "correspondence tested",
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two altitudes of one cross-check against each other.

    Parameters
    ----------
    what : str
        ``primaries``, ``elevation``, ``standby`` or ``transponder``.
    says : str
        Which altitudes, and how far apart they are.
    difference_ft : int
        The first minus the second.
    limit_ft : int or None
        How far apart they may be; None where no limit is known.
    """

    what: str
    says: str
    difference_ft: int
    limit_ft: int | None

    @property
    def beyond(self) -> bool:
        """Whether they are farther apart than they may be."""
        return self.limit_ft is not None and abs(self.difference_ft) > self.limit_ft


def comparisons(airframe: Airframe, known: Mapping[str, Any]) -> tuple[Comparison, ...]:
    """Compare what is known of a cross-check, which may still be incomplete.

    Parameters
    ----------
    airframe : Airframe
        Whose tolerances hold.
    known : mapping of str to value
        Fields of the cross-check by name; absent or None where they are not known.
    """
    if known.get("phase") is None:
        return ()
    find = _on_ground if known["phase"] in GROUND_PHASES else _in_flight
    return tuple(find(airframe, known))


def comparisons_of(airframe: Airframe, check: CrossCheck) -> tuple[Comparison, ...]:
    """Compare the altitudes of a recorded cross-check."""
    known = {spec.name: getattr(check, spec.name) for spec in check.kind.fields}
    return comparisons(airframe, known)


def _in_flight(airframe: Airframe, known: Mapping[str, Any]) -> Iterator[Comparison]:
    """Compare altimeters and transponder at a level."""
    level, one, two = known.get("level"), known.get("primary_1_ft"), known.get("primary_2_ft")
    if level is None or one is None or two is None:
        return
    yield _primaries(one, two, crosscheck_tolerance_ft(airframe, level))
    standby, transponder = known.get("standby_ft"), known.get("transponder_ft")
    if standby is not None:
        farther = max(_differences(standby, one, two), key=lambda each: abs(each[1]))
        yield _against("standby", farther, standby_tolerance_ft(airframe, level))
    if transponder is not None:
        nearer = min(_differences(transponder, one, two), key=lambda each: abs(each[1]))
        yield _against("transponder", nearer, CORRESPONDENCE_TOLERANCE_FT.value)


def _primaries(one: int, two: int, limit: int | None) -> Comparison:
    """Compare the two primary altimeters."""
    says = f"altimeters {abs(one - two)} ft apart"
    return Comparison(what="primaries", says=says, difference_ft=one - two, limit_ft=limit)


def _differences(altitude: int, one: int, two: int) -> tuple[tuple[int, int], ...]:
    """Give the number of each primary with the altitude's difference from it."""
    return ((1, altitude - one), (2, altitude - two))


def _against(what: str, primary: tuple[int, int], limit: int | None) -> Comparison:
    """Compare a third witness with one of the primaries."""
    number, difference = primary
    says = f"{what} {difference:+d} ft from altimeter {number}"
    return Comparison(what=what, says=says, difference_ft=difference, limit_ft=limit)


def _on_ground(airframe: Airframe, known: Mapping[str, Any]) -> Iterator[Comparison]:
    """Compare each altimeter with the known elevation, and the two with each other."""
    elevation, tolerance = known.get("field_elevation_ft"), ground_tolerance_ft(airframe)
    one, two = known.get("primary_1_ft"), known.get("primary_2_ft")
    for number, reading in ((1, one), (2, two)):
        if elevation is not None and reading is not None:
            error = reading - elevation
            yield Comparison(
                what="elevation",
                says=f"altimeter {number} {error:+d} ft from the elevation",
                difference_ft=error,
                limit_ft=tolerance,
            )
    if one is not None and two is not None:
        yield _primaries(one, two, between_on_ground_ft(airframe))


def comparison_lines(comparison: Comparison) -> list[Line]:
    """Write one comparison: the numbers, and when beyond tolerance what it means."""
    limit = comparison.limit_ft
    if limit is None:
        return wrap(f"{comparison.says}; no limit on record", 2, 4)
    left = limit - abs(comparison.difference_ft)
    if not comparison.beyond:
        return wrap(f"{comparison.says}, tolerance {limit} ft: within, {left} ft left", 2, 4)
    means, do = MEANS[comparison.what]
    return [
        *wrap(f"BEYOND TOLERANCE: {comparison.says}, tolerance {limit} ft", 2, 4, _BEYOND),
        *wrap(f"means: {means}", 4, 11),
        *wrap(f"do: {do}", 4, 8),
    ]


def next_steps(registration: str, entry: int, check: CrossCheck) -> list[Line]:
    """Say how to report the fault that a cross-check beyond tolerance shows, or to correct it."""
    when = check.kind.by_name["taken_at"].type.show(check.taken_at)
    level = "" if check.level is None else f" --level {check.level}"
    standby = "" if check.standby_ft is None else f" --standby-ft {check.standby_ft}"
    command = (
        f"rvsmlog defect fault {registration} --found-at {when}{level} "
        f"--primary-1-ft {check.primary_1_ft} --primary-2-ft {check.primary_2_ft}{standby} "
        f'--description "see entry #{entry}"'
    )
    correction = f"rvsmlog crosscheck log {registration} --guided --corrects {entry} --reason TEXT"
    return [
        Line("recorded all the same; to report the fault:", "bold"),
        *(Line(f"  {line}") for line in command_lines(command, WIDTH - 2)),
        Line("if it was misread or mistyped, with the readings as they were:", "bold"),
        *(Line(f"  {line}") for line in command_lines(correction, WIDTH - 2)),
        *wrap(CAUTION, style="italic"),
    ]


def comparison_object(comparison: Comparison) -> Mapping[str, Any]:
    """Give a comparison as JSON has it."""
    return {
        "what": comparison.what,
        "says": comparison.says,
        "difference_ft": comparison.difference_ft,
        "limit_ft": comparison.limit_ft,
        "beyond": comparison.beyond,
    }
