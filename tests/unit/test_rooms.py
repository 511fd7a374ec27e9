"""The rooms of the house: imports run downwards only; pure rooms know no database or clock."""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "rvsmlog"
#: From the ground up. Rooms of one floor do not import each other, unless they are one room.
FLOORS = (
    ("errors", "frozen", "once", "resting"),
    ("units", "dates", "shipped"),
    ("standards",),
    ("science",),
    ("geoid_grid",),
    ("records",),
    ("facts",),
    ("findings",),
    ("rules",),
    ("checklist", "flight_plan"),
    ("verdict",),
    ("answers",),
    ("store",),
    ("reports",),
    ("pages",),
    ("library",),
    ("cli",),
    ("__main__", "__init__"),
)
#: The rooms of the store, from the ground up; what stands in none of them is its ground floor.
STORE_FLOORS = ("", "reading", "writing", "safekeeping", "importing")
PURE = (
    *("errors", "frozen", "once", "units", "standards", "science", "records", "facts", "findings"),
    *("rules", "checklist", "flight_plan", "verdict", "answers"),
)
BARRED = ("sqlalchemy", "alembic", "typer", "rich", "matplotlib", "numpy", "scipy", "sqlite3")


def room_of(module: str) -> str:
    """Give the room of a module of the package."""
    return module.split(".")[1] if "." in module else "__init__"


def modules() -> Iterator[tuple[str, Path]]:
    """Give the dotted name and the file of every module of the package."""
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
        if "_shipped" not in parts:
            yield ".".join(parts), path


MODULES = dict(modules())


@cache
def nodes(module: str) -> tuple[ast.AST, ...]:
    """Give all of a module's syntax; several tests ask, and to read it is most of their time."""
    return tuple(ast.walk(ast.parse(MODULES[module].read_text(encoding="utf-8"))))


def imported(module: str) -> Iterator[str]:
    """Give every module that a module imports, wherever in it."""
    for node in nodes(module):
        if isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


def floor_of(room: str) -> int:
    """Give the number of a room's floor."""
    for number, rooms in enumerate(FLOORS):
        if room in rooms:
            return number
    raise AssertionError(f"{room} stands on no floor: give it one in this test and DEVELOPERS.md")


@pytest.mark.parametrize("module", MODULES)
def test_imports_run_downwards(module: str) -> None:
    """A module imports from its own room and from lower floors only."""
    room = room_of(module)
    for other in imported(module):
        if other.startswith("rvsmlog.") and (other.count(".") == 1 or "." in other):
            below = room_of(other)
            if (PACKAGE / below).is_dir() or (PACKAGE / f"{below}.py").is_file():
                assert below == room or floor_of(below) < floor_of(room), other


def store_floor(module: str) -> int:
    """Give the floor of a module within the store."""
    parts = module.split(".")[2:]
    return STORE_FLOORS.index(parts[0] if (PACKAGE / "store" / parts[0]).is_dir() else "")


@pytest.mark.parametrize("module", [name for name in MODULES if name.startswith("rvsmlog.store.")])
def test_imports_run_downwards_within_the_store_too(module: str) -> None:
    """A module of the store imports from its own room there and from lower ones only."""
    for other in imported(module):
        if other.startswith("rvsmlog.store."):
            assert store_floor(other) <= store_floor(module), other


@pytest.mark.parametrize("module", [name for name in MODULES if room_of(name) in PURE])
def test_pure_rooms_know_no_database_and_no_clock(module: str) -> None:
    """What decides imports no database, terminal or plotting library and reads no clock or file."""
    for other in imported(module):
        assert other.split(".")[0] not in BARRED, other
        assert other != "rvsmlog.dates.now"
    for node in nodes(module):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            assert node.func.attr not in {"now", "today", "utcnow", "read_text", "read_bytes"} or (
                isinstance(node.func.value, ast.Name) and node.func.value.id == "facts"
            ), ast.unparse(node)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id != "open", module


def test_no_module_imports_itself_by_way_of_others() -> None:
    """Also within a room, and where an import stands inside a function, there is no circle."""
    below = {name: set(imported(name)) & MODULES.keys() - {name} for name in MODULES}
    while free := [name for name, others in below.items() if not others]:
        for name in free:
            del below[name]
        below = {name: others & below.keys() for name, others in below.items()}
    assert not below, f"modules in a circle, and what leads to it: {sorted(below)}"
