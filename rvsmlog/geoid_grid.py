"""The one reader of the geoid grid that ships with the package.

It stands outside :mod:`rvsmlog.science` because that room reads no files: what computes with the
geoid takes the grid as an argument, and whoever calls it loads the grid here, once.
"""

from functools import cache
from importlib.resources import files

from rvsmlog.science.geodesy import GeoidGrid, grid_from_bytes

#: Name of the file beside the code that uses it: see :mod:`rvsmlog.science.geodesy`.
GRID_FILE = "egm96_1deg.bin"


@cache
def load() -> GeoidGrid:
    """Read the EGM96 geoid at whole degrees (130 kB), the first time it is asked for."""
    return grid_from_bytes(files("rvsmlog.science").joinpath(GRID_FILE).read_bytes())
