"""The order in which a sheet asks for a cross-check: on paper, on a tablet, in a dialogue.

What is filled in by hand is typed in later in the same order.
"""

from collections.abc import Mapping
from types import MappingProxyType

from rvsmlog.records.flights import GROUND_PHASES

#: What every sheet begins with.
START = ("phase", "taken_at")
_GROUND = (
    *("field_elevation_ft", "qnh_hpa", "primary_1_ft", "primary_2_ft", "standby_ft"),
    *("static_air_temperature_c", "pilot", "remarks"),
)
_FLIGHT = (
    *("level", "primary_1_ft", "primary_2_ft", "standby_ft", "transponder_ft", "mach"),
    *("static_air_temperature_c", "total_air_temperature_c", "gnss_height_ft", "gnss_kind"),
    *("latitude_deg", "longitude_deg", "pilot", "remarks"),
)

#: What is asked, as short as on paper.
PROMPTS: Mapping[str, str] = MappingProxyType(
    {
        "phase": "Phase",
        "taken_at": "Time, UTC",
        "level": "Level held",
        "field_elevation_ft": "Field elevation, ft",
        "qnh_hpa": "QNH, hPa",
        "primary_1_ft": "Primary altimeter 1, ft",
        "primary_2_ft": "Primary altimeter 2, ft",
        "standby_ft": "Standby altimeter, ft",
        "transponder_ft": "Transponder altitude, ft",
        "mach": "Mach number",
        "static_air_temperature_c": "Static air temperature, deg C",
        "total_air_temperature_c": "Total air temperature, deg C",
        "gnss_height_ft": "GNSS height, ft",
        "gnss_kind": "GNSS height above",
        "latitude_deg": "Latitude, degrees, north positive",
        "longitude_deg": "Longitude, degrees, east positive",
        "pilot": "Pilot's code",
        "remarks": "Remarks",
    }
)


def asked_in(phase: str) -> tuple[str, ...]:
    """Give the fields that a sheet of a phase asks for."""
    return START + (_GROUND if phase in GROUND_PHASES else _FLIGHT)
