"""Which oxygen is on record: systems as fitted now, the newest reading of each, who draws on it."""

from rvsmlog.dates import local_day
from rvsmlog.facts import Facts, Logged
from rvsmlog.findings import NO_FLIGHT
from rvsmlog.frozen import dataclass
from rvsmlog.once import once
from rvsmlog.records.base import Ref
from rvsmlog.records.oxygen import OxygenInstallation, OxygenReading
from rvsmlog.science.oxygen import Cylinder, FlowBasis, FlowCurve, GaugeReading, Group, Mode
from rvsmlog.standards.authorities import authority
from rvsmlog.standards.oxygen import OxygenRule, oxygen_rule
from rvsmlog.units import feet_to_level, level_to_feet

_MODES = {"normal": Mode.NORMAL, "100-percent": Mode.UNDILUTED, "emergency": Mode.EMERGENCY}
_CREW_FLOWS = {
    "crew_normal_flow": Mode.NORMAL,
    "crew_full_flow": Mode.UNDILUTED,
    "crew_emergency_flow": Mode.EMERGENCY,
}
_MILLILITRES = 1_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class System:
    """One oxygen system as it is now, with its newest reading.

    Parameters
    ----------
    fitted : Logged of OxygenInstallation
        Its last entry.
    reading : Logged of OxygenReading or None
        None when none was made since.
    """

    fitted: Logged[OxygenInstallation]
    reading: Logged[OxygenReading] | None

    @property
    def installation(self) -> OxygenInstallation:
        """What is fitted."""
        return self.fitted.record

    @property
    def refs(self) -> tuple[Ref, ...]:
        """The entries in which it stands."""
        return (self.fitted.ref,) + ((self.reading.ref,) if self.reading else ())

    def serves(self, group: Group) -> bool:
        """Tell whether a group draws on it."""
        return group in self.installation.serves

    @property
    def cylinder(self) -> Cylinder:
        """Its cylinders."""
        fitted = self.installation
        return Cylinder(
            service_psig=fitted.service_psi,
            unusable_psig=fitted.unusable_psi,
            water_litres=fitted.water_litres,
            rated_litres=fitted.rated_litres,
            usable_litres=fitted.usable_litres,
            count=fitted.cylinders or 1,
        )

    @property
    def gauge(self) -> GaugeReading | None:
        """What was read, with what the gauge may read high."""
        if self.reading is None:
            return None
        return GaugeReading(
            psig=self.reading.record.gauge_psi,
            temperature_c=self.reading.record.cylinder_c,
            tolerance_psi=self.installation.gauge_tolerance_psi or 0.0,
        )

    def crew_mode(self, *, first: bool) -> Mode:
        """Give the regulator's position: 100 % at first where there is one, then normal.

        Parameters
        ----------
        first : bool
            In the first minutes after a loss of pressure, or in contaminated air.
        """
        if self.installation.crew_delivery == "continuous":
            return Mode.CONTINUOUS
        wanted = ("100-percent", "normal") if first else ("normal", "100-percent")
        modes = self.installation.crew_modes or ()
        return next((_MODES[name] for name in wanted if name in modes), Mode.EMERGENCY)

    def curves(self, group: Group) -> tuple[FlowCurve, ...]:
        """Give the handbook's flows for a group."""
        fitted = self.installation
        if group is Group.PASSENGERS:
            named = {"passenger_flow": Mode.CONTINUOUS}
        elif fitted.crew_delivery == "continuous":
            named = {"crew_normal_flow": Mode.CONTINUOUS}
        else:
            named = _CREW_FLOWS
        return tuple(
            _curve(group, mode, table, fitted.flow_reference or "")
            for name, mode in named.items()
            if (table := getattr(fitted, name)) is not None
        )


def _curve(group: Group, mode: Mode, table: tuple[tuple[int, int], ...], named: str) -> FlowCurve:
    """Give a table of millilitres by level as a curve of litres by feet."""
    points = tuple((float(level_to_feet(level)), flow / _MILLILITRES) for level, flow in table)
    return FlowCurve(group=group, mode=mode, points=points, reference=named, basis=FlowBasis.TABLE)


def systems(facts: Facts) -> tuple[System, ...]:
    """Give the oxygen systems as fitted now, by name.

    A reading counts for the system of its name, from the day on which that was fitted.
    """
    return _systems(facts.oxygen, facts.oxygen_readings, facts.time_zone)


@once
def _systems(
    fitted: tuple[Logged[OxygenInstallation], ...],
    taken: tuple[Logged[OxygenReading], ...],
    zone: str,
) -> tuple[System, ...]:
    newest = {logged.record.name: logged for logged in fitted}
    found = []
    for name in sorted(newest):
        readings = [
            logged
            for logged in taken
            if logged.record.name == name
            and local_day(logged.record.checked_at, zone) >= newest[name].record.fitted_on
        ]
        found.append(System(fitted=newest[name], reading=readings[-1] if readings else None))
    return tuple(found)


@once
def system_for(facts: Facts, group: Group) -> System | None:
    """Give the system on which a group draws: the last fitted, where several serve it."""
    serving = [system for system in systems(facts) if system.serves(group)]
    return max(
        serving, key=lambda each: (each.installation.fitted_on, each.fitted.first), default=None
    )


def rule_of(facts: Facts) -> OxygenRule:
    """Give the oxygen rule of the airframe's authority."""
    return oxygen_rule(authority(facts.particulars.authority).oxygen_rule)


def level_of(facts: Facts) -> int:
    """Give the level that is judged: the planned one, at most the certificated; else that."""
    planned, ceiling = facts.question.level, facts.particulars.highest_level
    return ceiling if planned is None else min(planned, ceiling)


def free_level(facts: Facts, group: Group = Group.CREW) -> int:
    """Give the highest level at which a group needs no oxygen, the cabin unpressurised."""
    return feet_to_level(rule_of(facts).asks_nothing_to_ft(group))


def ceiling_of(facts: Facts) -> int:
    """Give the certificated level, up to which limits are judged whatever is planned."""
    return facts.particulars.highest_level


def needs_oxygen(facts: Facts) -> bool:
    """Tell whether anyone may need oxygen at the planned level."""
    return level_of(facts) > free_level(facts)


def hold_of(facts: Facts) -> int:
    """Give the level that the flight may not leave at once; 0 where there is none."""
    flight = facts.question.flight
    return (flight.hold_level or 0) if flight.hold_minutes else 0


def remaining_level(facts: Facts, level: int) -> int:
    """Give a level that oxygen leaves, or no flight where the flight may not go so low.

    Parameters
    ----------
    facts : Facts
        The flight. Its hold is the level that terrain, sea or fuel forbid it to leave.
    level : int
        Highest level that remains.
    """
    return level if hold_of(facts) <= level else NO_FLIGHT
