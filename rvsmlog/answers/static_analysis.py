"""What the log says of the error that both altimeters share: for the screen and JSON.

Cross-checks with a GNSS height and a position are held against the weather. One flight gives one
value; what is asked about is the state of the altimetry since it was last disturbed, and whether
that work changed it. The residuals made here could be a third witness of drift between the
altimeters; that detector does not use them, since it must not wait for weather.
"""

from collections import Counter
from collections.abc import Iterator, Sequence

from rvsmlog.errors import InputError
from rvsmlog.facts import Facts, Logged
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Ref
from rvsmlog.records.flights import CrossCheck
from rvsmlog.rules.altimetry_work import PRIMARIES, Disturbance, disturbances
from rvsmlog.rules.basis import basis_of
from rvsmlog.science.atmosphere import pressure_hpa
from rvsmlog.science.drift_readings import SAME_FLIGHT
from rvsmlog.science.geodesy import GeoidGrid, undulation_ft
from rvsmlog.science.static_error import (
    FlightResidual,
    HeightKind,
    Sample,
    Segment,
    flight_residual,
    kind_on_ground,
)
from rvsmlog.science.static_pool import PooledError, pooled_error
from rvsmlog.science.static_trend import (
    LimitComparison,
    PeriodChange,
    compare_periods,
    compare_with_limit,
)
from rvsmlog.science.weather_choice import Chooser, Weather, worst
from rvsmlog.science.weather_field import Place
from rvsmlog.standards.rvsm import ase_limit

Checks = Sequence[Logged[CrossCheck]]


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundVotes:
    """What readings on the ground say of the kind of GNSS height recorded.

    Parameters
    ----------
    agree, contradict : tuple of Ref
        Ground checks that fit the kind recorded, and those that fit the other.
    """

    agree: tuple[Ref, ...]
    contradict: tuple[Ref, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StaticAnalysis:
    """An estimate and all it rests on.

    Parameters
    ----------
    facts : Facts
        The airframe.
    flights : tuple of FlightResidual
        Since the altimetry was last disturbed, from the earliest to the latest.
    evidence : tuple of Ref
        The cross-checks behind them.
    earlier : tuple of FlightResidual
        Between the last two disturbances.
    disturbance : Disturbance or None
        The last one.
    comparison : LimitComparison
        With the limit of the airframe's basis of approval; holds the pooled estimate.
    change : PeriodChange or None
        Against the earlier flights, where there are some.
    votes : GroundVotes
        On the kind of height.
    left_out : tuple of (str, int)
        Flights left out, by reason.
    """

    facts: Facts
    flights: tuple[FlightResidual, ...]
    evidence: tuple[Ref, ...]
    earlier: tuple[FlightResidual, ...]
    disturbance: Disturbance | None
    comparison: LimitComparison
    change: PeriodChange | None
    votes: GroundVotes
    left_out: tuple[tuple[str, int], ...]

    @property
    def pooled(self) -> PooledError:
        """The estimate."""
        return self.comparison.pooled

    @property
    def kind_doubt(self) -> str:
        """Why the kind of height is in doubt; empty when it is not."""
        if self.votes.contradict:
            return "ground checks fit the other kind of GNSS height than recorded"
        return "" if self.pooled.kind_settled else str(self.comparison.reason)


def analysed(
    facts: Facts,
    checks: Checks,
    choose: Chooser,
    grid: GeoidGrid,
    *,
    kind_confirmed: bool = False,
) -> StaticAnalysis:
    """Estimate the common error.

    Parameters
    ----------
    facts : Facts
        The airframe.
    checks : sequence of Logged
        Cross-checks with GNSS height and position, from the earliest to the latest; those on the
        ground tell the kind of height.
    choose : callable
        The weather of a place.
    grid : GeoidGrid
        The geoid.
    kind_confirmed : bool
        Whether the kind of height is known from the receiver's manual.

    Raises
    ------
    InputError
        When there is no flight with a height, a position and weather since the last disturbance.
    """
    votes = _votes(checks, grid)
    confirmed = (kind_confirmed or bool(votes.agree)) and not votes.contradict
    past = disturbances(facts, PRIMARIES)
    left_out: Counter[str] = Counter()
    periods: dict[int, list[tuple[FlightResidual, Checks]]] = {}
    for name, group in _flights([check for check in checks if not check.record.on_ground]):
        period = _period(group, past, facts.time_zone)
        if period is None:
            left_out["flown on a day of work on the altimetry"] += 1
            continue
        try:
            made = _residual(name, group, choose, grid, confirmed=confirmed)
        except InputError as error:
            left_out[error.message] += 1
            continue
        periods.setdefault(period, []).append((made, group))
    newest = periods.get(len(past), [])
    if not newest:
        raise _nothing(checks, past, left_out)
    flights = tuple(residual for residual, _ in newest)
    earlier = tuple(residual for residual, _ in periods.get(len(past) - 1, ()))
    return StaticAnalysis(
        facts=facts,
        flights=flights,
        evidence=tuple(check.ref for _, group in newest for check in group),
        earlier=earlier,
        disturbance=past[-1] if past else None,
        comparison=compare_with_limit(pooled_error(flights), _limit_ft(facts)),
        change=compare_periods(earlier, flights) if earlier else None,
        votes=votes,
        left_out=tuple(left_out.most_common()),
    )


def _limit_ft(facts: Facts) -> float:
    """Give what one aeroplane of this basis of approval is held against, feet."""
    after_split = facts.particulars.type_certificate == "after-1997-04-09"
    return float(ase_limit(basis_of(facts), tc_after_split=after_split).individual_ft)


def _nothing(checks: Checks, past: Sequence[Disturbance], left_out: Counter[str]) -> InputError:
    """Say why there is nothing to estimate from."""
    if left_out:
        (reason, count), *_ = left_out.most_common()
        return InputError(
            f"no flight to estimate from; {count} left out: {reason}",
            "give weather for the places and hours flown; see --help",
        )
    if not checks:
        return InputError(
            "no cross-check in flight has a GNSS height and a position",
            "log them with --gnss-height-ft, --gnss-kind, --latitude-deg, --longitude-deg",
        )
    since = f" since the work of {past[-1].day}" if past else ""
    return InputError(f"no flight with a GNSS height{since}", "log such flights first")


def _flights(checks: Checks) -> Iterator[tuple[str, Checks]]:
    """Part checks into flights and levels: each level, with the name of its flight."""
    flight: list[Logged[CrossCheck]] = []
    for check in checks:
        if flight and check.record.taken_at - flight[-1].record.taken_at > SAME_FLIGHT:
            yield from _by_level(flight)
            flight = []
        flight.append(check)
    yield from _by_level(flight)


def _by_level(flight: Checks) -> Iterator[tuple[str, Checks]]:
    kinds: dict[tuple[int | None, str | None], list[Logged[CrossCheck]]] = {}
    for check in flight:
        kinds.setdefault((check.record.level, check.record.gnss_kind), []).append(check)
    for group in kinds.values():
        yield f"{flight[0].record.taken_at:%Y-%m-%dT%H:%MZ}", group


def _period(group: Checks, past: Sequence[Disturbance], zone: str) -> int | None:
    """Say after how many disturbances a flight was made; None where that is not certain."""
    first, last = group[0].record.taken_at, group[-1].record.taken_at
    count = sum(work.before(first, zone) for work in past)
    return count if all(work.after(last, zone) for work in past[count:]) else None


def _residual(
    name: str, group: Checks, choose: Chooser, grid: GeoidGrid, *, confirmed: bool
) -> FlightResidual:
    """Make one value of one level of one flight."""
    samples = tuple(_sample(check.record) for check in group)
    chosen: dict[Place, Weather] = {
        sample.place: choose(sample.place, pressure_hpa(sample.indicated_ft)) for sample in samples
    }
    keys = dict.fromkeys(key for weather in chosen.values() for key in weather.keys)
    segment = Segment(
        flight=name,
        samples=samples,
        height_kind=HeightKind(str(group[0].record.gnss_kind)),
        source=worst(weather.source for weather in chosen.values()),
        weather=tuple(keys),
        kind_confirmed=confirmed,
    )
    return flight_residual(
        segment, grid, lambda pressure, place: chosen[place].height_ft(pressure, place)
    )


def _sample(record: CrossCheck) -> Sample:
    return Sample(
        place=_place(record),
        satellite_height_ft=float(record.gnss_height_ft or 0),
        indicated_ft=(record.primary_1_ft + record.primary_2_ft) / 2.0,
    )


def _place(record: CrossCheck) -> Place:
    return Place(
        at=record.taken_at,
        latitude_deg=record.latitude_deg or 0.0,
        longitude_deg=record.longitude_deg or 0.0,
    )


def _votes(checks: Checks, grid: GeoidGrid) -> GroundVotes:
    """Hold heights read on the ground against the known elevation."""
    agree: list[Ref] = []
    contradict: list[Ref] = []
    for check in checks:
        record = check.record
        if not record.on_ground or record.field_elevation_ft is None:
            continue
        place = _place(record)
        undulation = undulation_ft(grid, place.latitude_deg, place.longitude_deg)
        height = float(record.gnss_height_ft or 0)
        kind = kind_on_ground(height, record.field_elevation_ft, undulation)
        if kind is not None:
            (agree if kind == record.gnss_kind else contradict).append(check.ref)
    return GroundVotes(agree=tuple(agree), contradict=tuple(contradict))
