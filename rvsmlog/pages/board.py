"""The fleet board as a page: to be pinned up, to be read across a hangar or on a phone."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from rvsmlog.answers.due import DueItem
from rvsmlog.answers.fleet_board import BoardRow
from rvsmlog.dates import local_day, start_of_day
from rvsmlog.frozen import dataclass
from rvsmlog.pages.page import render
from rvsmlog.reports.fleet_board import counted, stands
from rvsmlog.rules.level import level_above_certificated
from rvsmlog.science.drift import WARM_UP

#: Which page it is.
KIND = "board"
#: Beside an airframe stands what falls due next, and more where it comes so soon.
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
        ``full`` at its certificated level, ``held`` below it, ``none`` where it may not fly,
        ``unknown`` where it cannot be judged.
    reasons : tuple of str
        Slugs of the rules that hold it down.
    due : tuple of DueItem
        What falls due next.
    drift : str
        The state of drift in words.
    """

    row: BoardRow
    stands: str
    reasons: tuple[str, ...]
    due: tuple[DueItem, ...]
    drift: str


def board_page(rows: Sequence[BoardRow], *, at: datetime, made_at: datetime) -> str:
    """Make the page.

    Parameters
    ----------
    rows : sequence of BoardRow
        As of ``at``, with :data:`~rvsmlog.answers.fleet_board.MOST_DUE` things that fall due.
    at : datetime
        For when the fleet was judged, aware.
    made_at : datetime
        The present instant, aware.

    Returns
    -------
    str
        The page, of the kind :data:`KIND`.
    """
    zone = next((row.time_zone for row in rows if row.not_judged is None), "UTC")
    day = local_day(at, zone)
    airframes = [_shown(row) for row in rows]
    values = {
        "title": "Fleet: highest level today",
        "made_at": made_at,
        "seals": sorted({seal for row in rows for seal in row.seals}, key=str),
        "seals_open": len(rows) <= _SMALL,
        "at": at,
        "day": day,
        "zone": zone,
        "ends": start_of_day(day + timedelta(days=1), zone),
        "airframes": airframes,
        "shows_then": any(map(_leaves_less, airframes)),
        "counted": counted(rows),
        "pilot_judged": all(row.pilot_judged for row in rows),
        "top": _TOP,
    }
    return render("board.html", KIND, values)


def _shown(row: BoardRow) -> _Shown:
    """Put one airframe in words."""
    due = (*row.due[:1], *(item for item in row.due[1:] if _is_soon(item)))
    own = level_above_certificated.name
    return _Shown(
        row=row,
        stands=stands(row),
        reasons=tuple(each for each in row.set_by if each != own),
        due=due,
        drift=_drift(row.drift),
    )


def _leaves_less(shown: _Shown) -> bool:
    """Say whether something that falls due leaves a lower level than the one of today."""
    today = shown.row.highest_level or 0
    after = (item.highest_level_after for item in shown.due)
    return any(level is not None and level < today for level in after)


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
