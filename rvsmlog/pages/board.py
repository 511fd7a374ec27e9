"""The fleet board as a page: to be pinned up, to be read across a hangar or on a phone."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from rvsmlog.answers.due import DueItem, upcoming
from rvsmlog.answers.fleet_board import BoardRow, board_rows
from rvsmlog.dates import start_of_day
from rvsmlog.facts import Facts
from rvsmlog.frozen import dataclass
from rvsmlog.pages.page import render
from rvsmlog.reports.fleet_board import counted, stands
from rvsmlog.rules.level import level_above_certificated
from rvsmlog.science.drift import WARM_UP

#: Which page it is.
KIND = "board"
#: How many things that fall due stand beside an airframe: one, and more where they come so soon.
_DUE = 3
_SOON_DAYS = 90
#: Up to so many airframes the seals are laid open, and printed.
_SMALL = 12
#: The scale beside a level runs up to this flight level.
_TOP = 430


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shown:
    """One airframe as the page shows it.

    Parameters
    ----------
    row : BoardRow
        The airframe.
    stands : str
        ``full`` at its certificated level, ``held`` below it, ``none`` where it may not fly.
    certificated : int
        Its highest certificated level.
    reasons : tuple of str
        Slugs of the rules that hold it down.
    due : tuple of DueItem
        What falls due next.
    drift : str
        The state of drift in words.
    """

    row: BoardRow
    stands: str
    certificated: int
    reasons: tuple[str, ...]
    due: tuple[DueItem, ...]
    drift: str


def board_page(fleet: Sequence[Facts], *, at: datetime, made_at: datetime) -> str:
    """Make the page.

    Parameters
    ----------
    fleet : sequence of Facts
        As of ``at``, without a planned level or a pilot.
    at : datetime
        For when the fleet was judged, aware.
    made_at : datetime
        The present instant, aware.

    Returns
    -------
    str
        The page, of the kind :data:`KIND`.
    """
    rows = board_rows(fleet)
    shown = [_shown(row, facts) for row, facts in zip(rows, fleet, strict=True)]
    first = fleet[0] if fleet else None
    values = {
        "title": "Fleet: highest level today",
        "made_at": made_at,
        "seals": sorted({seal for facts in fleet for seal in facts.seals}, key=str),
        "seals_open": len(shown) <= _SMALL,
        "at": at,
        "day": None if first is None else first.today,
        "zone": "UTC" if first is None else first.time_zone,
        "ends": None if first is None else _day_ends(first),
        "airframes": shown,
        "counted": counted(rows),
        "pilot_judged": all(row.pilot_judged for row in rows),
        "top": _TOP,
    }
    return render("board.html", KIND, values)


def _shown(row: BoardRow, facts: Facts) -> _Shown:
    """Put one airframe in words."""
    first, *others = upcoming(facts, _DUE, pilots=row.pilot_judged) or (None,)
    due = (first, *(item for item in others if _is_soon(item))) if first else ()
    own = level_above_certificated.name
    return _Shown(
        row=row,
        stands=stands(row),
        certificated=facts.particulars.highest_level,
        reasons=tuple(each for each in row.set_by if each != own),
        due=due,
        drift=_drift(row.drift),
    )


def _is_soon(item: DueItem) -> bool:
    return item.days_left is not None and item.days_left <= _SOON_DAYS


def _drift(state: str | None) -> str:
    """Put the state of drift in words."""
    if state is None:
        return "no cross-check in flight since the altimetry was worked on"
    if state == "alarm":
        return "altimeters drifting"
    if state == "none":
        return "no drift found"
    return f"too few flights to tell: {state.partition('/')[0]} of {WARM_UP}"


def _day_ends(facts: Facts) -> datetime:
    """Give the instant at which the operator's day is over."""
    return start_of_day(facts.today + timedelta(days=1), facts.time_zone)
