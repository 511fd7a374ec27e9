"""Which airframes of the operator must be monitored by when, and how the results spread."""

from collections.abc import Iterable, Sequence
from datetime import date

from rvsmlog.answers.fleet import each_told, parted
from rvsmlog.answers.flying import flying_rate, forecast_on
from rvsmlog.dates import days_left
from rvsmlog.facts import Facts, Logged, NotJudged
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
        Last day on which enough are, as far as is known; None where that cannot be told.
    forecast : bool
        Whether that day is a forecast.
    measure : tuple of str
        Registrations of which enough must be measured by then, those due first first.
    newest, every : Spread or None
        Of the newest result of each airframe, and of every result on record.
    limit : AseLimit
        What errors are held against.
    within : bool or None
        Whether the newest results are within it; None where they are too few to tell, or within it
        as far as they are known while some are lacking.
    lacking : tuple of str
        Registrations of airframes that are not judged, each of which may belong to it: it is asked
        for as many as if they did, and none of them counts.
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
    lacking: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The operator's plan.

    Parameters
    ----------
    groups : tuple of Group
        Those that come short first first.
    left_out : tuple of str
        Registrations of airframes that no RVSM approval counts for: none is asked of them.
    not_judged : tuple of NotJudged
        Airframes of which nothing can be said, nor to which group they belong.
    """

    groups: tuple[Group, ...]
    left_out: tuple[str, ...]
    not_judged: tuple[NotJudged, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Member:
    """What a group needs of one airframe.

    Parameters
    ----------
    together : tuple of str
        With which others it is planned.
    basis : Basis
        On what it flies.
    planned : Planned
        Until when it counts as monitored.
    errors_ft : tuple of int
        Every result on record.
    limit : AseLimit
        What errors are held against.
    """

    together: tuple[str, ...]
    basis: Basis
    planned: Planned
    errors_ft: tuple[int, ...]
    limit: AseLimit


def monitoring_plan(fleet: Iterable[Facts | NotJudged]) -> Plan:
    """Plan the height monitoring of a fleet.

    Of a type group two airframes are asked, or all where there are fewer; one that belongs to no
    group, or flies on the ADS-B based authority, is asked by itself. One that cannot be judged may
    belong to any group: none is called well monitored, or within its limits, on the guess that it
    does not.

    Parameters
    ----------
    fleet : iterable of Facts or NotJudged
        The operator's airframes, as of one day; each is let go once it is planned.
    """
    told, barred = parted(each_told(fleet, _told))
    lacking = tuple(each.airframe for each in barred)
    members: dict[tuple[str, ...], list[_Member]] = {}
    for _, member in told:
        if member is not None:
            members.setdefault(member.together, []).append(member)
    groups = [_group(each, lacking) for each in members.values()]
    groups.sort(key=_order)
    left_out = tuple(name for name, member in told if member is None)
    return Plan(groups=tuple(groups), left_out=left_out, not_judged=barred)


def _told(facts: Facts) -> tuple[str, _Member | None]:
    """Give the registration, and what is planned; None where no RVSM approval counts."""
    name = facts.particulars.registration
    if in_use(facts) is None:
        return name, None
    basis = basis_of(facts)
    member = _Member(
        together=_together(facts),
        basis=basis,
        planned=_planned(facts),
        errors_ft=tuple(each.record.ase_ft for each in facts.monitoring),
        limit=limit_of(facts, basis),
    )
    return name, member


def _order(group: Group) -> tuple[bool, date, str]:
    """Order groups: those that are short now first, then by the day on which they come short."""
    return (group.in_time >= group.required, group.short_after or date.max, group.name)


def _together(facts: Facts) -> tuple[str, ...]:
    """Say with which others an airframe is planned."""
    airframe, basis = facts.particulars, basis_of(facts)
    if basis is not Basis.GROUP:
        return (f"{airframe.type_designator} {airframe.registration}", basis)
    return (airframe.type_designator, basis, airframe.type_certificate)


def _group(members: Sequence[_Member], not_judged: tuple[str, ...]) -> Group:
    """Plan one group."""
    first = members[0]
    lacking = not_judged if first.basis is Basis.GROUP else ()
    planned = sorted(
        (each.planned for each in members), key=lambda each: (each.until, each.airframe)
    )
    required = min(MONITORING_GROUP_AIRFRAMES.value, len(planned) + len(lacking))
    # The airframes that last longest count: the group is short when the last but so many lapses.
    last = planned[-required] if required <= len(planned) else None
    known = last is not None and last.until not in (date.min, date.max)
    newest = [each.result.record.ase_ft for each in planned if each.result is not None]
    within = _within(newest, first.limit)
    return Group(
        name=first.together[0],
        basis=first.basis,
        airframes=tuple(planned),
        required=required,
        in_time=sum(each.in_time for each in planned),
        short_after=last.until if last is not None and known else None,
        forecast=last is not None and known and last.due_on is None,
        measure=_to_measure(planned, last),
        newest=spread(newest),
        every=spread([error for each in members for error in each.errors_ft]),
        limit=first.limit,
        within=None if lacking and within else within,
        lacking=lacking,
    )


def _to_measure(planned: Sequence[Planned], last: Planned | None) -> tuple[str, ...]:
    """Name the airframes of which enough must be measured by the day that the last one sets."""
    if last is None:
        return tuple(each.airframe for each in planned if not each.in_time)
    return tuple(each.airframe for each in planned if each.until <= last.until)


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
