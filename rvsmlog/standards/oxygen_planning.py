"""Figures that stand in where nothing is said of a flight, and those of common practice."""

from rvsmlog.standards.source import Figure
from rvsmlog.standards.sources import source

#: Cabin altitude that no normal flight exceeds: the cabin altitude warning speaks there.
CABIN_ALTITUDE_LIMIT_FT = Figure(
    value=10_000,
    unit="ft",
    source=source("23-841-legacy"),
    note="25.841(b)(6) agrees; 8,000 ft is the limit of large aeroplanes in normal operation",
)
#: Pressure altitude above which loss of cabin pressure must be announced.
PRESSURE_WARNING_ABOVE_FT = Figure(
    value=25_000, unit="ft", source=source("nco-ide-a-150"), note="CAT.IDE.A.235 agrees"
)
#: Minutes of the published emergency descent from the greatest certificated altitude.
EMERGENCY_DESCENT_MINUTES = Figure(
    value=10,
    unit="min",
    source=source("cat-ide-a-235-profiles"),
    note="at a constant rate, to 10,000 ft",
)
EMERGENCY_DESCENT_TO_FT = 10_000
#: Rate of the descent from a hold, where none is said.
FINAL_DESCENT_FPM = Figure(value=500, unit="ft/min", source=source("practice"))
#: Age beyond which an oxygen reading says little about what is on board.
OXYGEN_READING_MAX_AGE_DAYS = Figure(value=7, unit="days", source=source("practice"))
#: Altitude above which a mask is worn, or quick to don, where the rule that applies was not read.
STRICTEST_QUICK_DONNING_FT = Figure(
    value=25_000,
    unit="ft",
    source=source("25-1447"),
    note="a certification rule; the former 23.1447 has the same figure",
)
STRICTEST_WORN_FT = Figure(value=35_000, unit="ft", source=source("91-211"))
