"""Integrate the temperatures of some two thousand real soundings, against their listed heights.

The soundings are those that the wheel of SHARPpy 1.4.0a5 carries (BSD); its path is the argument.
Usage: ``python -m tests.benchmarks.integrate_soundings SHARPpy-1.4.0a5-py2.py3-none-any.whl``.

The thickness from 850 hPa upwards is compared, since the lowest levels of many files were altered
by their users; heights above 500 hPa are listed to 10 gpm (33 ft) in most.
"""

import math
import statistics
import sys
import zipfile
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from rvsmlog.errors import RvsmlogError
from rvsmlog.science.soundings import (
    Sounding,
    SoundingLevel,
    height_of_pressure_ft,
    with_heights_from_temperatures,
)
from rvsmlog.units import metres_to_feet
from tests.science.test_soundings import dried

_BASE_HPA = 850.0
_TOPS_HPA = (500.0, 300.0, 250.0, 200.0)


def read(name: str, text: str) -> Sounding:
    """Read one sounding file."""
    rows = text.partition("%RAW%")[2].partition("%END%")[0].strip().splitlines()
    levels = []
    for row in rows:
        pressure, height, temperature, dew_point = (float(field) for field in row.split(",")[:4])
        warm, humid = temperature > -999, min(temperature, dew_point) > -999
        levels.append(
            SoundingLevel(
                pressure_hpa=pressure,
                height_ft=metres_to_feet(height) if height > -999 else None,
                temperature_c=temperature if warm else None,
                dew_point_depression_c=temperature - dew_point if humid else None,
            )
        )
    return Sounding(
        station=name, valid_at=None, latitude_deg=0, longitude_deg=0, levels=tuple(levels)
    )


def errors(sounding: Sounding) -> Iterator[tuple[str, float, float]]:
    """Give what was done, the pressure, and computed less listed height in feet."""
    for top in _TOPS_HPA:
        part = tuple(level for level in sounding.levels if top <= level.pressure_hpa <= _BASE_HPA)
        if not part or (part[0].pressure_hpa, part[-1].pressure_hpa) != (_BASE_HPA, top):
            continue
        listed = part[-1].height_ft
        if listed is None or None in (part[0].height_ft, part[0].temperature_c):
            continue
        whole = replace(sounding, levels=part)
        for name, profile in (("humid", whole), ("dry", dried(whole))):
            reached = with_heights_from_temperatures(profile).levels[-1]
            if reached.pressure_hpa == top:
                yield name, top, (reached.height_ft or 0.0) - listed
        others = tuple(level for level in sounding.levels if level.pressure_hpa != top)
        rebuilt = height_of_pressure_ft(replace(sounding, levels=others), top)
        yield "left out and interpolated", top, rebuilt - listed


def main() -> None:
    """Print the table."""
    table: dict[tuple[str, float], list[float]] = defaultdict(list)
    read_files = refused = 0
    with zipfile.ZipFile(sys.argv[1]) as wheel:
        for name in wheel.namelist():
            if "/sars/" not in name or name.endswith((".py", "/")):
                continue
            try:
                for what, top, error in errors(read(name, wheel.read(name).decode())):
                    table[what, top].append(error)
                read_files += 1
            except RvsmlogError:
                refused += 1
    print(f"{read_files} soundings read, {refused} refused")
    print("computed less listed height, feet")
    for (what, top), found in sorted(table.items()):
        rms = math.sqrt(statistics.fmean(error * error for error in found))
        within = statistics.fmean(abs(error) <= 33 for error in found)
        print(
            f"{what:26} {top:4.0f} hPa: {len(found):4} soundings, "
            f"median {statistics.median(found):+6.1f}, rms {rms:6.1f}, "
            f"within 33 ft {100 * within:5.1f} %"
        )


if __name__ == "__main__":
    main()
