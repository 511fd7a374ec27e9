"""Answers that are kept: a pure function asked again about the very same objects.

Many rules ask the same thing of one airframe: which readings are in flight, which units are fitted,
what its oxygen is worth. The due list asks it of other days too, on which the same entries are on
record. To compare entries by their values would cost as much as to work the answer out anew, so
that arguments count as the same here only where they are the same objects. Those are held as long
as the answer is, and never change.
"""

from collections.abc import Callable
from functools import wraps
from inspect import Parameter, signature
from typing import Any, ParamSpec, TypeVar, cast

P = ParamSpec("P")
R = TypeVar("R")

#: How many answers a function keeps: those of one airframe or two.
MOST_KEPT = 32


def once(function: Callable[P, R]) -> Callable[P, R]:
    """Keep the newest answers of a function.

    Parameters
    ----------
    function : callable
        It answers by its arguments alone, which are never changed, nor is its answer. Its arguments
        are given in order, never by name.
    """
    # An object's id is its own while it is held, as those of kept answers are.
    kept: dict[Any, tuple[Any, R]] = {}

    @wraps(function)
    def ask(*arguments: Any) -> R:
        key = tuple(map(id, arguments))
        known = kept.get(key)
        return answered(key, arguments) if known is None else known[1]

    @wraps(function)
    def ask_of_one(argument: Any, /) -> R:
        key = id(argument)
        known = kept.get(key)
        return answered(key, (argument,)) if known is None else known[1]

    def answered(key: Any, arguments: tuple[Any, ...]) -> R:
        answer = function(*arguments)  # type: ignore[call-arg]  # they are the function's own
        if len(kept) >= MOST_KEPT:
            kept.clear()
        kept[key] = (arguments, answer)
        return answer

    kinds = [parameter.kind for parameter in signature(function).parameters.values()]
    of_one = kinds == [Parameter.POSITIONAL_OR_KEYWORD]
    return cast("Callable[P, R]", ask_of_one if of_one else ask)
