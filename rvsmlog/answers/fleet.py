"""A fleet, one airframe after another: what is told of each, or why nothing can be."""

from collections.abc import Callable, Iterable, Iterator
from typing import TypeVar

from rvsmlog.errors import RvsmlogError
from rvsmlog.facts import Facts, NotJudged

T = TypeVar("T")


def each_told(
    fleet: Iterable[Facts | NotJudged], tell: Callable[[Facts], T]
) -> Iterator[T | NotJudged]:
    """Tell something of each airframe; one that cannot be judged holds up none of the others.

    Parameters
    ----------
    fleet : iterable of Facts or NotJudged
        In any order, which is kept; each is let go once it is told.
    tell : callable
        What is told of one. Where it fails, the reason stands in its place.
    """
    for each in fleet:
        if isinstance(each, NotJudged):
            yield each
            continue
        try:
            told = tell(each)
        except RvsmlogError as fault:
            yield each.not_judged(fault)
        else:
            yield told


def parted(found: Iterable[T | NotJudged]) -> tuple[list[T], tuple[NotJudged, ...]]:
    """Part what is told from the airframes of which nothing can be."""
    told: list[T] = []
    barred: list[NotJudged] = []
    for each in found:
        if isinstance(each, NotJudged):
            barred.append(each)
        else:
            told.append(each)
    return told, tuple(barred)
