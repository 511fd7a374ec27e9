"""What left a store in a file, and what a store took in."""

from collections.abc import Iterator, Mapping
from typing import Any

from rvsmlog.reports.text import Line, wrap
from rvsmlog.reports.verification import printed
from rvsmlog.store.safekeeping.export import Exported
from rvsmlog.store.safekeeping.transfer import TakenIn


def exported_lines(made: Exported) -> Iterator[Line]:
    """Say what was written to a file, and which seals it carries."""
    books = f"{len(made.seals)} logbook" + ("" if len(made.seals) == 1 else "s")
    yield from wrap(f"written: {made.file}: {books}, {_entries(made.entries)}", 0, 2, "bold")
    for seal in made.seals:
        yield Line(f"  {printed(seal)}")


def exported_object(made: Exported) -> Mapping[str, Any]:
    """Give the same as JSON has it."""
    return {
        "file": str(made.file),
        "entries": made.entries,
        "seals": [
            {"logbook": each.logbook, "entry": each.entry, "digest": each.digest}
            for each in made.seals
        ],
    }


def taken_lines(taken: TakenIn) -> Iterator[Line]:
    """Say what became of one logbook of a file."""
    borne = "" if taken.registration is None else f" ({taken.registration})"
    if taken.added:
        said = f"{_entries(taken.added)} added"
    elif taken.beyond:
        said = f"nothing new; this store has {_entries(taken.beyond)} that the file has not"
    else:
        said = "nothing new; this store has the same history"
    yield from wrap(f"{taken.logbook}{borne}: {said}", 0, 2, "bold")
    yield Line(f"  {printed(taken.seal)}")


def _entries(count: int) -> str:
    return "1 entry" if count == 1 else f"{count:,} entries"


def taken_object(taken: TakenIn) -> Mapping[str, Any]:
    """Give the same as JSON has it."""
    return {
        "logbook": taken.logbook,
        "registration": taken.registration,
        "added": taken.added,
        "beyond_the_file": taken.beyond,
        "seal": {
            "logbook": taken.seal.logbook,
            "entry": taken.seal.entry,
            "digest": taken.seal.digest,
        },
    }
