"""Make the one-degree geoid grid from the 15' one, and measure what the coarser grid costs.

It stands among the benchmarks, not in sample_data, because it measures, needs a file that only
developers have, and has no place in the installed package.

The source is ``egm96_15.gtx`` as Debian's package proj-data installs it (the EGM96 geoid of NASA
and NIMA, a work of the United States government, in the public domain).

Usage: ``python tests/benchmarks/make_geoid_grid.py /usr/share/proj/egm96_15.gtx [OUTPUT]``.
Without OUTPUT nothing is written; the grid that ships is compared with the source.
"""

import math
import struct
import sys
from pathlib import Path

from rvsmlog import geoid_grid
from rvsmlog.science import geodesy
from rvsmlog.units import metres_to_feet

_HEADER = struct.Struct(">ddddii")
_EXPECTED_HEADER = (-90.0, -180.0, 0.25, 0.25, 721, 1440)
_NODES_PER_DEGREE = 4


def read_source(path: Path) -> tuple[float, ...]:
    """Read the 15' grid, metres: 721 rows of 1440 from 90 S, each from 180 W eastwards."""
    data = path.read_bytes()
    header = _HEADER.unpack_from(data)
    if header != _EXPECTED_HEADER:
        raise SystemExit(f"{path} is not the 15' grid: its header reads {header}")
    count = header[4] * header[5]
    return struct.unpack_from(f">{count}f", data, _HEADER.size)


def at_whole_degrees(source: tuple[float, ...]) -> bytes:
    """Take every fourth node each way, in centimetres, as big-endian 16-bit integers."""
    columns = _EXPECTED_HEADER[5]
    values = [
        round(source[row * columns + column] * 100)
        for row in range(0, 721, _NODES_PER_DEGREE)
        for column in range(0, 1440, _NODES_PER_DEGREE)
    ]
    return struct.pack(f">{len(values)}h", *values)


def print_errors(source: tuple[float, ...], grid: geodesy.GeoidGrid) -> None:
    """Compare the undulation that the package gives with every node of the source."""
    squares = weighted = weights = worst = 0.0
    where = (0.0, 0.0)
    over_ten = 0
    for index, value_m in enumerate(source):
        row, column = divmod(index, 1440)
        latitude, longitude = row / 4 - 90, column / 4 - 180
        error = geodesy.undulation_ft(grid, latitude, longitude) - metres_to_feet(value_m)
        weight = math.cos(math.radians(latitude))
        squares += error * error
        weighted += weight * error * error
        weights += weight
        over_ten += abs(error) > 10
        if abs(error) > abs(worst):
            worst, where = error, (latitude, longitude)
    count = len(source)
    print(f"nodes {count}, rms {math.sqrt(squares / count):.2f} ft")
    print(f"rms by area {math.sqrt(weighted / weights):.2f} ft")
    print(f"worst {worst:+.1f} ft at {where}, over 10 ft: {100 * over_ten / count:.2f} %")


def main() -> None:
    """Write the grid when told where, then print its errors."""
    source = read_source(Path(sys.argv[1]))
    made = at_whole_degrees(source)
    if len(sys.argv) > 2:
        Path(sys.argv[2]).write_bytes(made)
        print(f"wrote {len(made)} bytes")
    else:
        same = geodesy.grid_from_bytes(made) == geoid_grid.load()
        print("the grid that ships is", "the same" if same else "DIFFERENT")
    print_errors(source, geodesy.grid_from_bytes(made))


if __name__ == "__main__":
    main()
