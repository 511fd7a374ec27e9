"""Which airframes of the operator must be monitored by when, and how the results spread."""

from collections.abc import Iterable, Sequence
from datetime import date

from rvsmlog.answers.flying import flying_rate, forecast_on
from rvsmlog.dates import days_left
from rvsmlog.facts import Facts, Logged
from rvsmlog.frozen import dataclass
from rvsmlog.records.papers import Monitoring
from rvsmlog.rules.basis import basis_of, in_use
from rvsmlog.rules.monitoring import limit_of
from rvsmlog.rules.monitoring_due import hours_since, monitoring_terms, newest_result
from rvsmlog.science.ase_spread import Spread, spread
from rvsmlog.standards.rvsm import MONITORING_GROUP_AIRFRAMES, AseLimit, Basis


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """One airframe of the plan.

    Parameters
    ----------
    airframe : str
        Registration.
    result : Logged of Monitoring or None
        Its newest result.
    hours_since : float or None
        Airframe hours flown since; None where they are not on record.
    due_on : date or None
        Last day on which it counts as monitored; None while hours carry it on, and where it never
        was and has no day.
    due_hours : float or None
        Airframe hours up to which it counts, where hours decide.
    forecast_on : date or None
        The day by which those will have been flown; None where that cannot be told.
    assumption : str
        What the forecast rests on; ``""`` without one.
    days_left : int or None
        To the day due, else to the one forecast.
    in_time : bool
        Whether it counts as monitored today; so does one in the first six months of its approval.
    """

    airframe: str
    result: Logged[Monitoring] | None
    hours_since: float | None
    due_on: date | None
    due_hours: float | None
    forecast_on: date | None
    assumption: str
    days_left: int | None
    in_time: bool

    @property
    def until(self) -> date:
        """The day up to which it counts; the earliest of days when it does not."""
        day = self.due_on or self.forecast_on
        if day is None:
            return date.max if self.due_hours is not None else date.min
        return day


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Airframes that are planned together: of one type group, or one that stands by itself.

    Parameters
    ----------
    name : str
        Type designator, with the registration where it stands by itself.
    basis : Basis
        Group, non-group, or the ADS-B based authority.
    airframes : tuple of Planned
        Those that come due first first.
    required : int
        How many of them must be monitored.
    in_time : int
        How many are.
    short_after : date or None
        Last day on which enough are; None where that cannot be told.
    forecast : bool
        Whether that day is a forecast.
    measure : tuple of str
        Registrations of which enough must be measured by then, those due first first.
    newest, every : Spread or None
        Of the newest result of each airframe, and of every result on record.
    limit : AseLimit
        What errors are held against.
    within : bool or None
        Whether the newest results are within it; None where they are too few to tell.
    """

    name: str
    basis: Basis
    airframes: tuple[Planned, ...]
    required: int
    in_time: int
    short_after: date | None
    forecast: bool
    measure: tuple[str, ...]
    newest: Spread | None
    every: Spread | None
    limit: AseLimit
    within: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The operator's plan.

    Parameters
    ----------
    groups : tuple of Group
        Those that come short first first.
    left_out : tuple of str
        Registrations of airframes that no RVSM approval counts for: none is asked of them.
    """

    groups: tuple[Group, ...]
    left_out: tuple[str, ...]


def monitoring_plan(fleet: Iterable[Facts]) -> Plan:
    """Plan the height monitoring of a fleet.

    Of a type group two airframes are asked, or all where there are fewer; one that belongs to no
    group, or flies on the ADS-B based authority, is asked by itself.

    Parameters
    ----------
    fleet : iterable of Facts
        The operator's airframes, as of one day.
    """
    members: dict[tuple[str, ...], list[Facts]] = {}
    left_out = []
    for facts in fleet:
        if in_use(facts) is None:
            left_out.append(facts.particulars.registration)
        else:
            members.setdefault(_together(facts), []).append(facts)
    groups = [_group(name[0], each) for name, each in members.items()]
    groups.sort(key=_order)
    return Plan(groups=tuple(groups), left_out=tuple(left_out))


def _order(group: Group) -> tuple[bool, date, str]:
    """Order groups: those that are short now first, then by the day on which they come short."""
    return (group.in_time >= group.required, group.short_after or date.max, group.name)


def _together(facts: Facts) -> tuple[str, ...]:
    """Say with which others an airframe is planned."""
    airframe, basis = facts.particulars, basis_of(facts)
    if basis is not Basis.GROUP:
        return (f"{airframe.type_designator} {airframe.registration}", basis)
    return (airframe.type_designator, basis, airframe.type_certificate)


def _group(name: str, members: Sequence[Facts]) -> Group:
    """Plan one group."""
    basis = basis_of(members[0])
    planned = sorted(
        (_planned(facts) for facts in members), key=lambda each: (each.until, each.airframe)
    )
    required = min(MONITORING_GROUP_AIRFRAMES.value, len(planned))
    # The airframes that last longest count: the group is short when the last but so many lapses.
    last = planned[-required]
    known = last.until not in (date.min, date.max)
    newest = [each.result.record.ase_ft for each in planned if each.result is not None]
    limit = limit_of(members[0], basis)
    return Group(
        name=name,
        basis=basis,
        airframes=tuple(planned),
        required=required,
        in_time=sum(each.in_time for each in planned),
        short_after=last.until if known else None,
        forecast=known and last.due_on is None,
        measure=tuple(each.airframe for each in planned if each.until <= last.until),
        newest=spread(newest),
        every=spread([each.record.ase_ft for facts in members for each in facts.monitoring]),
        limit=limit,
        within=_within(newest, limit),
    )


def _planned(facts: Facts) -> Planned:
    """Say until when one airframe counts as monitored."""
    result, rate = newest_result(facts), flying_rate(facts)
    term = next(iter(monitoring_terms(facts)), None)
    due_on = None if term is None else term.last_day
    forecast = forecast_on(facts, term, rate)
    day = due_on or forecast
    return Planned(
        airframe=facts.particulars.registration,
        result=result,
        hours_since=None if result is None else hours_since(facts, result),
        due_on=due_on,
        due_hours=None if term is None else term.last_hours,
        forecast_on=forecast,
        assumption=str(rate) if forecast is not None else "",
        days_left=None if day is None else days_left(day, facts.today),
        in_time=term is not None and (due_on is None or due_on >= facts.today),
    )


def _within(errors_ft: Sequence[int], limit: AseLimit) -> bool | None:
    """Hold the newest results against the limit: of the group where it has one, else of each."""
    if limit.mean_ft is None or limit.spread_ft is None:
        return all(abs(error) <= limit.individual_ft for error in errors_ft) if errors_ft else None
    found = spread(errors_ft)
    if found is None or found.bound_ft is None:
        return None
    return abs(found.mean_ft) <= limit.mean_ft and found.bound_ft <= limit.spread_ft
