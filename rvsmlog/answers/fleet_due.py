"""What falls due in a fleet: one airframe after another, whose facts are let go."""

from collections.abc import Iterable, Mapping
from datetime import date

from rvsmlog.answers.due import DueItem, due_items, merged, undated_faults, within
from rvsmlog.facts import Facts, NotJudged, Seal
from rvsmlog.frozen import dataclass
from rvsmlog.resting import resting_collector


@dataclass(frozen=True, slots=True, kw_only=True)
class AirframeDue:
    """What falls due for one airframe.

    Parameters
    ----------
    airframe : str
        Registration.
    items : tuple of DueItem
        By day.
    undated : tuple of str
        The rules that limit the level today and of which no item tells.
    seals : tuple of Seal
        The newest entries known of the logbooks that were read.
    """

    airframe: str
    items: tuple[DueItem, ...]
    undated: tuple[str, ...]
    seals: tuple[Seal, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FleetDue:
    """What falls due for some airframes.

    Parameters
    ----------
    airframes : tuple of str
        Registrations of those that were judged.
    chosen, every : tuple of DueItem
        What falls due by the day asked about, and ever; the latter only where it is wanted.
    undated : mapping
        By registration, the rules that limit the level today and of which no item tells.
    seals : frozenset of Seal
        The newest entries known of the logbooks that were read.
    not_judged : tuple of NotJudged
        The airframes of which nothing can be said: any of them may be overdue.
    """

    airframes: tuple[str, ...]
    chosen: tuple[DueItem, ...]
    every: tuple[DueItem, ...]
    undated: Mapping[str, tuple[str, ...]]
    seals: frozenset[Seal]
    not_judged: tuple[NotJudged, ...] = ()


def airframe_due(facts: Facts) -> AirframeDue:
    """Give what falls due for one airframe, whenever that is."""
    items = due_items(facts)
    return AirframeDue(
        airframe=facts.particulars.registration,
        items=items,
        undated=undated_faults(facts, items),
        seals=facts.seals,
    )


def fleet_due(
    told: Iterable[AirframeDue | NotJudged], until: date, *, whole: bool = False
) -> FleetDue:
    """Gather what falls due for some airframes by a day.

    Parameters
    ----------
    told : iterable of AirframeDue or NotJudged
        As of one instant, one airframe after another: no more is kept of each than is wanted.
    until : date
        The last day that is asked about, in the operator's time zone.
    whole : bool
        Whether what falls due later is wanted too.
    """
    airframes: list[str] = []
    parts: list[tuple[DueItem, ...]] = []
    undated: dict[str, tuple[str, ...]] = {}
    seals: set[Seal] = set()
    barred: list[NotJudged] = []
    with resting_collector():
        for each in told:
            if isinstance(each, NotJudged):
                barred.append(each)
                continue
            airframes.append(each.airframe)
            parts.append(each.items if whole else within(each.items, until))
            seals.update(each.seals)
            if each.undated:
                undated[each.airframe] = each.undated
    every = merged(parts)
    return FleetDue(
        airframes=tuple(airframes),
        chosen=within(every, until),
        every=every,
        undated=undated,
        seals=frozenset(seals),
        not_judged=tuple(barred),
    )
