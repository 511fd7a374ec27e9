"""Oxygen: what is installed and what its handbook says of the flow, and what was on the gauge."""

from datetime import date, datetime
from typing import Annotated

from rvsmlog.frozen import dataclass
from rvsmlog.records.base import FieldError, Logbook, Record, record
from rvsmlog.records.fields import Choice, Flag, Real, Text, Whole, Words
from rvsmlog.records.trade_fields import Day, Instant, LevelTable
from rvsmlog.standards.oxygen_figures import Group

#: Positions of a crew member's regulator.
MODES = ("normal", "100-percent", "emergency")
#: What is looked at on a crew seat, and on the passengers' seats, before a flight.
CREW_ITEMS = ("valve", "pressure", "flow", "mask", "microphone")
PASSENGER_ITEMS = ("valve", "flow", "mask")

_SYSTEM = Text(
    "name of the oxygen system, where the aeroplane has several",
    longest=24,
    pattern=r"[A-Za-z0-9][A-Za-z0-9 .\-]*",
    example="main",
)
_TEMPERATURE = {"low": -60.0, "high": 70.0}
_LITRES = {"low": 0.1, "high": 100_000.0}
_MASKS = {"low": 0, "high": 100}
_PER_PERSON = "millilitres a minute NTPD for one person, by cabin altitude as a flight level"


def _flow(what: str) -> LevelTable:
    """Give the field of one flow table; its example is in the size of such flows."""
    return LevelTable(f"{what}: {_PER_PERSON}", low=0, high=100_000, sample="80:1900,250:3600")


@record("oxygen-installation", Logbook.AIRFRAME, title="oxygen installed", happened="fitted_on")
@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenInstallation(Record):
    """An oxygen system as it is now; a change of any particular is a new entry.

    Flows are those of the equipment's own handbook. Tables are read between their rows, never
    beyond them, and reach down to 8,000 ft where contaminated air is to be counted; but a mask that
    is worn in normal flight is counted below its first row too. A flow of 0 says that a worn mask
    draws nothing there, and is never a supply, nor is one below what certification asks of any
    mask: where oxygen is breathed, the need is not known.
    """

    serves: Annotated[tuple[str, ...], Words("who draws on it", words=tuple(Group))]
    fitted_on: Annotated[date, Day("day from which this holds")]
    service_psi: Annotated[
        float, Real("pressure of the full cylinder at 21 C (70 F), psi", low=100, high=3000)
    ]
    unusable_psi: Annotated[
        float, Real("pressure below which nothing is delivered, psi", low=0, high=1000)
    ]
    system: Annotated[str | None, _SYSTEM] = None
    water_litres: Annotated[
        float | None, Real("inner (water) volume of one cylinder, litres", **_LITRES)
    ] = None
    rated_litres: Annotated[
        float | None, Real("free gas in one full cylinder, litres NTPD", **_LITRES)
    ] = None
    usable_litres: Annotated[
        float | None, Real("what one full cylinder delivers, litres NTPD", **_LITRES)
    ] = None
    cylinders: Annotated[
        int | None, Whole("cylinders alike, joined; one when left out", low=1, high=20)
    ] = None
    gauge_tolerance_psi: Annotated[
        float | None, Real("by how much the gauge may read high, psi", low=0, high=300)
    ] = None
    in_use_c: Annotated[
        float | None,
        Real("lowest temperature of the cylinder in flight, degrees Celsius", **_TEMPERATURE),
    ] = None
    crew_reserve_litres: Annotated[
        float | None,
        Real("what the system itself keeps back for the crew, litres NTPD", low=0, high=100_000),
    ] = None
    crew_masks: Annotated[int | None, Whole("crew seats with a mask", **_MASKS)] = None
    passenger_masks: Annotated[int | None, Whole("passenger seats with a mask", **_MASKS)] = None
    crew_delivery: Annotated[
        str | None, Choice("how the crew's masks are fed", words=("demand", "continuous"))
    ] = None
    crew_modes: Annotated[
        tuple[str, ...] | None, Words("positions of the crew's regulators", words=MODES)
    ] = None
    quick_donning: Annotated[
        bool | None, Flag("whether every pilot's mask is of the quick-donning kind")
    ] = None
    donning_s: Annotated[
        int | None, Whole("time to put the pilot's mask on, seconds", low=1, high=120)
    ] = None
    mask_can_be_worn: Annotated[
        bool | None,
        Flag(
            "whether the pilot's mask can be worn sealed in flight and supplies oxygen at all "
            "times, or by itself when the cabin climbs"
        ),
    ] = None
    flow_reference: Annotated[
        str | None, Text("where the flows stand: handbook, table, edition", longest=200)
    ] = None
    crew_normal_flow: Annotated[
        tuple[tuple[int, int], ...] | None,
        _flow("crew, normal position or continuous flow (0: a worn mask draws nothing; no supply)"),
    ] = None
    crew_full_flow: Annotated[tuple[tuple[int, int], ...] | None, _flow("crew, 100 %")] = None
    crew_emergency_flow: Annotated[
        tuple[tuple[int, int], ...] | None,
        _flow("crew, emergency position"),
    ] = None
    passenger_flow: Annotated[tuple[tuple[int, int], ...] | None, _flow("passengers")] = None
    remarks: Annotated[str | None, Text("remarks")] = None

    def check(self) -> None:
        """Ask for what is needed to count litres, and refuse what contradicts itself."""
        self._check_cylinder()
        self._check_flows()
        if Group.CREW in self.serves:
            self._check_crew()
        if Group.PASSENGERS in self.serves and self.passenger_masks is None:
            raise FieldError("passenger_masks", "is missing", "count the passenger seats with one")

    def _check_cylinder(self) -> None:
        """Ask for exactly one volume, and pressures in order."""
        volumes = ("water_litres", "rated_litres", "usable_litres")
        given = [name for name in volumes if getattr(self, name) is not None]
        if len(given) != 1:
            raise FieldError(
                given[1] if given else volumes[0],
                "is one volume too many" if given else "is missing",
                "give one of --water-litres, --rated-litres and --usable-litres, from the "
                "cylinder's data plate or the handbook",
            )
        if self.unusable_psi >= self.service_psi:
            raise FieldError("unusable_psi", "is not below the pressure of the full cylinder")
        if self.crew_reserve_litres is not None and len(self.serves) != len(Group):
            raise FieldError(
                "crew_reserve_litres", "is only for a system that crew and passengers share"
            )

    def _check_crew(self) -> None:
        """Ask for what the crew's oxygen is counted by."""
        for name, what in (
            ("crew_masks", "count the crew seats with one"),
            ("crew_delivery", "write demand or continuous"),
        ):
            if getattr(self, name) is None:
                raise FieldError(name, "is missing", what)
        demand = self.crew_delivery == "demand"
        if demand and self.crew_modes is None:
            raise FieldError("crew_modes", "is missing", f"write those of {', '.join(MODES)}")
        if not demand and self.crew_modes is not None:
            raise FieldError("crew_modes", "is only for demand regulators")

    def _check_flows(self) -> None:
        """Ask for the reference of flows, and for two rows in each table."""
        for name, (group, _) in FLOW_FIELDS.items():
            table = getattr(self, name)
            if table is None:
                continue
            if self.flow_reference is None:
                raise FieldError("flow_reference", "is missing", "say where the flows stand")
            if len(table) == 1:
                raise FieldError(name, "has one row only", "give the flow at two levels or more")
            if group not in self.serves:
                raise FieldError(name, f"is given, but the system does not serve the {group}")

    @property
    def name(self) -> str:
        """The system's name; ``main`` where none is given."""
        return self.system or "main"


#: Each table of flows: for whom, and in which position of the regulator (``""``: passengers).
FLOW_FIELDS = {
    "crew_normal_flow": (Group.CREW, "normal"),
    "crew_full_flow": (Group.CREW, "100-percent"),
    "crew_emergency_flow": (Group.CREW, "emergency"),
    "passenger_flow": (Group.PASSENGERS, ""),
}


@record("oxygen-reading", Logbook.AIRFRAME, title="oxygen reading", happened="checked_at")
@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenReading(Record):
    """The oxygen gauge and the masks as found before a flight."""

    checked_at: Annotated[datetime, Instant("when the gauge was read")]
    gauge_psi: Annotated[float, Real("pressure on the gauge, psi", low=0, high=3000)]
    cylinder_c: Annotated[
        float, Real("temperature of the cylinder when read, degrees Celsius", **_TEMPERATURE)
    ]
    in_use_c: Annotated[
        float | None,
        Real(
            "lowest temperature of the cylinder expected in flight, degrees Celsius", **_TEMPERATURE
        ),
    ] = None
    system: Annotated[str | None, _SYSTEM] = None
    pilot_seat: Annotated[
        tuple[str, ...] | None, Words("found good at the pilot's seat", words=CREW_ITEMS)
    ] = None
    copilot_seat: Annotated[
        tuple[str, ...] | None, Words("found good at the second crew seat", words=CREW_ITEMS)
    ] = None
    passenger_seats: Annotated[
        tuple[str, ...] | None,
        Words("found good at every passenger seat in use", words=PASSENGER_ITEMS),
    ] = None
    pilot: Annotated[str | None, Text("the pilot's code", longest=8, upper=True)] = None
    remarks: Annotated[str | None, Text("remarks")] = None

    @property
    def name(self) -> str:
        """The system's name; ``main`` where none is given."""
        return self.system or "main"
