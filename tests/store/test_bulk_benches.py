"""Short runs of the benches of import and verification: what they compare does the same work."""

import sqlite3
from contextlib import closing
from pathlib import Path

from tests.benchmarks import import_million, verify_million

_ROWS = 60


def test_floor_and_program_keep_the_same_rows(folder: Path) -> None:
    """The driver alone and the program leave the same readings in the table of the same name."""
    readings = folder / "readings.csv"
    import_million.write_file(readings, _ROWS)
    floor, ours = folder / "floor.sqlite3", folder / "ours.sqlite3"
    import_million.floor_same_tables(readings, str(floor))
    import_million.prepare(str(ours))
    import_million.ours(readings, str(ours))
    columns = ", ".join(import_million.COLUMNS)
    found = []
    for path in (floor, ours):
        with closing(sqlite3.connect(path)) as store:
            query = f"SELECT {columns} FROM crosscheck_detail ORDER BY number"  # noqa: S608 - our own names
            found.append(store.execute(query).fetchall())
    assert len(found[0]) == _ROWS
    assert found[0] == found[1]


def test_verification_is_benched(folder: Path) -> None:
    """The bench verifies what it imported, and tells what it took."""
    taken, floor, _ = verify_million.bench(_ROWS, folder)
    assert taken > 0
    assert floor > 0
