"""Route profiles: the data of a flight that is flown often, so that a check need not ask again."""

from typing import Annotated

from rvsmlog.frozen import dataclass
from rvsmlog.records.base import FieldError, Logbook, Record, record
from rvsmlog.records.fields import Choice, Real, Text, Whole
from rvsmlog.records.trade_fields import Level
from rvsmlog.standards.cruising_levels import Split
from rvsmlog.standards.regions import REGIONS

#: A route's name, as typed after ``--route``.
ROUTE_NAME = Text(
    "name of the route",
    longest=24,
    pattern=r"[A-Z0-9][A-Z0-9.\-]*",
    example="COAST-EAST",
    upper=True,
)
_RATE = {"low": 100, "high": 20_000}
_MINUTES = {"low": 0, "high": 1440}


@record("route-profile", Logbook.OPERATOR, title="route profile")
@dataclass(frozen=True, slots=True, kw_only=True)
class RouteProfile(Record):
    """What a check needs to know of a flight; a later entry of the same name changes it."""

    name: Annotated[str, ROUTE_NAME]
    departure: Annotated[str | None, Text("where it begins", longest=60)] = None
    destination: Annotated[str | None, Text("where it ends", longest=60)] = None
    region: Annotated[
        str | None, Choice("region of the flight, for RVSM approval", words=tuple(REGIONS))
    ] = None
    track: Annotated[float | None, Real("magnetic track, degrees", low=0, high=360)] = None
    split: Annotated[
        str | None,
        Choice("tracks that take the odd levels in the airspace flown", words=tuple(Split)),
    ] = None
    crew: Annotated[int | None, Whole("people who fly the aeroplane", low=1, high=20)] = None
    passengers: Annotated[int | None, Whole("everyone else on board", low=0, high=100)] = None
    hold_level: Annotated[
        int | None,
        Level("level below which terrain, sea or fuel forbids going after a loss of pressure"),
    ] = None
    hold_minutes: Annotated[
        int | None, Whole("minutes that this level must be held", **_MINUTES)
    ] = None
    recognition_s: Annotated[
        int | None,
        Whole("from loss of pressure to the start of the descent, seconds", low=0, high=600),
    ] = None
    descent_fpm: Annotated[
        int | None, Whole("rate of the emergency descent, feet a minute", **_RATE)
    ] = None
    final_descent_fpm: Annotated[
        int | None, Whole("rate of the descent from the hold, feet a minute", **_RATE)
    ] = None
    cruise_minutes: Annotated[int | None, Whole("minutes at the planned level", **_MINUTES)] = None
    contaminated_minutes: Annotated[
        int | None, Whole("minutes on oxygen for the crew in contaminated air", **_MINUTES)
    ] = None
    contaminated_mode: Annotated[
        str | None,
        Choice(
            "position of the crew's regulators then; 100 % when left out",
            words=("100-percent", "emergency"),
        ),
    ] = None
    remarks: Annotated[str | None, Text("remarks")] = None

    def check(self) -> None:
        """Refuse a hold without its level or without its time."""
        for name, other in (("hold_minutes", "hold_level"), ("hold_level", "hold_minutes")):
            if getattr(self, name) is None and getattr(self, other) is not None:
                raise FieldError(name, "is missing", "a hold has a level and a time")
