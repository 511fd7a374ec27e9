"""The report of an altitude deviation: its fields, its sort, and until when it is due."""

from collections.abc import Iterator, Mapping
from datetime import datetime
from types import MappingProxyType

from rvsmlog.dates import show_instant
from rvsmlog.facts import DeviationCase, Seal
from rvsmlog.frozen import dataclass
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.flights import Deviation
from rvsmlog.records.operator import Operator
from rvsmlog.rules.deviations import (
    LIMITS_FT,
    contradiction,
    reached,
    report_due_at,
    sizes_ft,
)
from rvsmlog.standards.authorities import authority
from rvsmlog.units import level_to_feet, show_level

#: What the sorts are called.
SORTS: Mapping[str, str] = MappingProxyType(
    {
        "tve_ft": "total vertical error (TVE)",
        "ase_ft": "altimetry system error (ASE)",
        "aad_ft": "assigned altitude deviation (AAD)",
    }
)
#: How a report writes what is not known.
NOT_KNOWN = "N/K"
#: Sources of the fields and limits.
SOURCES = (
    *("european-deviation-report", "large-height-deviation-form"),
    *("appendix-g-6", "spa-rvsm-115"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """One size of a deviation, held against its limit.

    Parameters
    ----------
    name : str
        ``tve_ft``, ``ase_ft`` or ``aad_ft``.
    size_ft, limit_ft : int
        Feet, positive when higher; the limit at and beyond which it is reported.
    """

    name: str
    size_ft: int
    limit_ft: int

    @property
    def reportable(self) -> bool:
        """Whether it reaches its limit."""
        return abs(self.size_ft) >= self.limit_ft


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviationReport:
    """What a report says.

    Parameters
    ----------
    entry : str
        The entry of the deviation.
    sizes : tuple of Size
        Each size that is stated or worked out.
    due_at : datetime or None
        When the report is due; None where the rules set no time, or none is to be made.
    reported_at : datetime or None
        When it was made.
    authority : str
        Title of the rules that apply.
    fields : mapping of str to str
        Each field of the report by its title; ``N/K`` where it is not known.
    closed_by : int or None
        The entry that closed it.
    seal : Seal or None
        Newest entry of the logbook that it was drawn from, and its digest.
    """

    entry: str
    sizes: tuple[Size, ...]
    due_at: datetime | None
    reported_at: datetime | None
    authority: str
    fields: Mapping[str, str]
    closed_by: int | None
    seal: Seal | None = None

    @property
    def closed(self) -> bool:
        """Whether a closure is on record."""
        return self.closed_by is not None

    @property
    def reportable(self) -> bool:
        """Whether any size reaches its limit."""
        return any(size.reportable for size in self.sizes)


def sizes_of(deviation: Deviation) -> tuple[Size, ...]:
    """Sort a deviation: each of its sizes against its limit."""
    return tuple(
        Size(name=name, size_ft=size, limit_ft=LIMITS_FT[name])
        for name, size in sizes_ft(deviation).items()
    )


def sort_text(deviation: Deviation) -> str:
    """Say in one line how a deviation is sorted."""
    names = [SORTS[name] for name in reached(deviation)]
    known = [SORTS[size.name] for size in sizes_of(deviation)]
    sort = "to be reported: " + ", ".join(names)
    if not names:
        sort = "below each limit of a report: " + ", ".join(known)
    return "; ".join(filter(None, (sort, contradiction(deviation))))


def due_text(report: DeviationReport, now: datetime) -> str:
    """Say in one line until when the report is due, and how it stands."""
    if not report.reportable:
        return "no report is asked"
    told, due = report.reported_at, report.due_at
    made = "" if told is None else f"; reported at {show_instant(told)}"
    if due is None:
        return f"{report.authority} sets no time for the report{made}"
    late = (told or now) > due
    state = "late" if told is not None and late else "overdue" if late else ""
    return f"report due {show_instant(due)}{made}{f', {state}' if state else ''}"


def deviation_report(
    case: DeviationCase, airframe: Airframe, operator: Operator | None
) -> DeviationReport:
    """Put together the report of a deviation.

    Parameters
    ----------
    case : DeviationCase
        The deviation and its closure.
    airframe : Airframe
        The airframe's particulars.
    operator : Operator or None
        The operator's.
    """
    deviation = case.deviation.record
    return DeviationReport(
        entry=str(case.deviation.ref),
        sizes=sizes_of(deviation),
        due_at=report_due_at(deviation, airframe.authority),
        reported_at=deviation.reported_at,
        authority=authority(airframe.authority).title,
        fields=MappingProxyType(
            {
                **dict(_event(deviation)),
                **dict(_aircraft(deviation, airframe, operator)),
                **dict(_levels(deviation)),
                **dict(_story(case)),
            }
        ),
        closed_by=None if case.closure is None else case.closure.ref.entry,
    )


def _known(value: object) -> str:
    """Write a value, or that it is not known."""
    return NOT_KNOWN if value is None else str(value)


def _level(level: int | None) -> str:
    """Write a level, or that it is not known."""
    return NOT_KNOWN if level is None else show_level(level)


def _event(deviation: Deviation) -> Iterator[tuple[str, str]]:
    """Give when and where it happened."""
    shown = show_instant(deviation.occurred_at)
    date, _, time = shown.partition("T")
    yield "date of the event", date
    yield "time (UTC)", time.removesuffix("Z")
    yield "FIR or air traffic unit", _known(deviation.unit)
    yield "ATS route", _known(deviation.route)
    yield "position", _known(deviation.position)


def _aircraft(
    deviation: Deviation, airframe: Airframe, operator: Operator | None
) -> Iterator[tuple[str, str]]:
    """Give which aircraft, and whose."""
    marks = airframe.registration.replace("-", "")
    designator = None if operator is None else operator.designator
    yield "operator", NOT_KNOWN if operator is None else operator.name
    # Operators without a designator are general aviation on these forms.
    yield "operator designator", "IGA" if designator is None else designator
    yield "callsign", deviation.callsign or marks
    yield "registration", airframe.registration
    yield "aircraft type", airframe.type_designator


def _levels(deviation: Deviation) -> Iterator[tuple[str, str]]:
    """Give the levels, the size and the time."""
    yield "cleared level", _level(deviation.cleared_level)
    yield "level displayed to the controller", _level(deviation.displayed_level)
    yield "observed level", _level(deviation.observed_level)
    yield "above or below", _direction(deviation)
    for size in sizes_of(deviation):
        reported = ", to be reported" if size.reportable else ""
        against = contradiction(deviation) if size.name == "tve_ft" else ""
        ending = f"{reported}; {against}" if against else reported
        yield SORTS[size.name], f"{size.size_ft:+d} ft, limit {size.limit_ft} ft{ending}"
    seconds = deviation.duration_s
    yield "time off the level", NOT_KNOWN if seconds is None else f"{seconds} s"
    yield "level cleared afterwards", _level(deviation.subsequent_level)


def _direction(deviation: Deviation) -> str:
    """Say on which side of the cleared level it was."""
    sizes = sizes_ft(deviation)
    cleared, observed = deviation.cleared_level, deviation.observed_level
    size = sizes.get("aad_ft", sizes.get("tve_ft"))
    if size is None and cleared is not None and observed is not None:
        size = level_to_feet(observed) - level_to_feet(cleared)
    if not size:
        return NOT_KNOWN
    return "above" if size > 0 else "below"


def _story(case: DeviationCase) -> Iterator[tuple[str, str]]:
    """Give the cause, the traffic, what happened, and what was done."""
    deviation = case.deviation.record
    yield "cause", _known(deviation.cause)
    yield "other traffic and separation", _known(deviation.traffic)
    yield "what happened", deviation.description
    if deviation.remarks is not None:
        yield "remarks", deviation.remarks
    if case.closure is not None:
        closure = case.closure.record
        yield "cause found and measures", closure.conclusion
        yield "confirmed by", f"{closure.confirmed_by}, {closure.closed_on}"
