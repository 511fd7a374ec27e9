"""How entries stand that others close: fitted or removed, open or closed, deferred, withdrawn."""

import sys
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from types import MappingProxyType
from typing import Any

from rvsmlog.facts import EquipmentCase, Logged, with_swaps
from rvsmlog.frozen import dataclass
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.base import Ref
from rvsmlog.records.papers import Approval
from rvsmlog.rules.basis import ADS_B, authority_before

ByKind = Mapping[str, Sequence[Logged[Any]]]


_CORRECTED, _STRUCK = _SUPERSEDED = ("corrected", "struck out")


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """How an entry stands.

    Parameters
    ----------
    word : str
        For example ``fitted``.
    since : date, datetime or None
        From when; None where it stands so from the beginning.
    by : int or None
        The entry that made it so.
    """

    word: str
    since: date | datetime | None = None
    by: int | None = None

    def __str__(self) -> str:
        if self.word in _SUPERSEDED:
            return f"{self.word} by #{self.by}"
        if self.since is None:
            return self.word
        day = self.since.date() if isinstance(self.since, datetime) else self.since
        return f"{self.word} {day}"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Closing:
    """What closes a kind of entry, and what each side is then called."""

    kind: str
    field: str
    before: str
    after: str


_CLOSED_BY: Mapping[str, _Closing] = MappingProxyType(
    {
        "equipment": _Closing(kind="removal", field="equipment", before="fitted", after="removed"),
        "approval": _Closing(
            kind="withdrawal", field="approval", before="in force", after="withdrawn"
        ),
        "deviation": _Closing(kind="closure", field="deviation", before="open", after="closed"),
        "defect": _Closing(kind="rectification", field="defect", before="open", after="rectified"),
        "altimetry-fault": _Closing(
            kind="rectification", field="defect", before="open", after="rectified"
        ),
    }
)


def states(found: ByKind) -> Mapping[Ref, State]:
    """Say how the entries of a logbook stand.

    Parameters
    ----------
    found : mapping of str to sequence of Logged
        The standing records by the name of their kind.

    Returns
    -------
    mapping of Ref to State
        For those that other entries close; an approval past its expiry is in force here, as its
        last day stands beside it.
    """
    result = {}
    for name, records in found.items():
        closing = _CLOSED_BY.get(name)
        if closing is None:
            continue
        closed = {getattr(each.record, closing.field): each for each in found.get(closing.kind, ())}
        for logged in records:
            result[logged.ref] = _state(closing, closed.get(logged.first), logged, found)
    return result | dict(_moved(found, result))


def under_another(
    standing: Mapping[Ref, State],
    approvals: Sequence[Logged[Approval]],
    airframes: Sequence[Logged[Airframe]],
) -> Mapping[Ref, State]:
    """Say of approvals that they were entered while the particulars stated another authority.

    They count for nothing until they are entered again; the authority that rests on ADS-B Out is no
    paper, and is left out.

    Parameters
    ----------
    standing : mapping of Ref to State
        How they stand otherwise: one that is withdrawn stays so.
    approvals, airframes : sequence of Logged
        Of one logbook, as they stand.
    """
    result: dict[Ref, State] = {}
    for each in approvals if airframes else ():
        then, now = (authority_before(airframes, at) for at in (each.first, sys.maxsize))
        if then != now and each.record.approval != ADS_B and standing[each.ref].by is None:
            result[each.ref] = State(word=f"entered under {then}")
    return result


def superseded_states(
    records: Iterable[Logged[Any]], corrected: Mapping[int, int], strikes: Collection[int]
) -> Mapping[Ref, State]:
    """Say of entries that no longer stand which one corrects them or strikes them out.

    Parameters
    ----------
    records : iterable of Logged
        Of one logbook, those that stand among them.
    corrected : mapping of int to int
        Number of each corrected or struck entry to that of the one that supersedes it.
    strikes : collection of int
        The entries that strike out.
    """
    result = {}
    for logged in records:
        by = corrected.get(logged.ref.entry)
        if by is not None:
            result[logged.ref] = State(word=_STRUCK if by in strikes else _CORRECTED, by=by)
    return result


def _moved(found: ByKind, so_far: Mapping[Ref, State]) -> Iterator[tuple[Ref, State]]:
    """Say of fitted units that were swapped where they are now."""
    cases = tuple(EquipmentCase(equipment=logged) for logged in found.get("equipment", ()))
    swaps = sorted(found.get("swap", ()), key=lambda each: (each.record.swapped_at, each.first))
    for case in with_swaps(cases, tuple(swaps)):
        ref = case.equipment.ref
        if case.moves and so_far[ref].by is None:
            swap = case.moves[-1].swap
            word = f"swapped to {case.position or 'no position'}"
            yield ref, State(word=word, since=swap.record.swapped_at, by=swap.ref.entry)


def _state(
    closing: _Closing, closed: Logged[Any] | None, logged: Logged[Any], found: ByKind
) -> State:
    """Say how one entry stands."""
    if closed is not None:
        return State(word=closing.after, since=closed.record.happened(), by=closed.ref.entry)
    for deferral in found.get("deferral", ()):
        if closing.field == "defect" and deferral.record.defect == logged.first:
            return State(word="deferred", since=deferral.record.deferred_on, by=deferral.ref.entry)
    return State(word=closing.before)
