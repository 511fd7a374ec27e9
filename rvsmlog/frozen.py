"""The dataclass decorator of this house: a constructor is written when it is first called.

The standard decorator writes and compiles the source of six methods for each frozen class while
its module is imported. A command is a process of its own and calls few of the program's classes, so
that most of that work, a fifth of the time of a check, was for nothing. Here the fields are read by
the standard decorator as ever, the constructor's source is written at its first call, and the other
methods need none. What an instance does is the same; ``dataclasses.fields`` and ``replace`` work.
What is not frozen, or asks for more than slots and keywords, is left to the standard decorator. One
may not inherit from the other where both are frozen.
"""

import dataclasses
from collections import deque
from collections.abc import Callable, Iterable
from functools import cache
from itertools import repeat
from operator import attrgetter
from types import MemberDescriptorType
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from dataclasses import dataclass

__all__ = ["by_columns", "dataclass", "fill_column", "replace"]

T = TypeVar("T")

_MISSING = dataclasses.MISSING


def _refuse_set(_self: object, name: str, _value: object) -> None:
    """Refuse to change an instance."""
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def _refuse_delete(_self: object, name: str) -> None:
    """Refuse to change an instance."""
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")


def _get_state(self: Any) -> list[Any]:
    """Give what a copy needs."""
    return [getattr(self, field.name) for field in dataclasses.fields(self)]


def _set_state(self: Any, state: list[Any]) -> None:
    """Make a copy what it is a copy of."""
    for field, value in zip(dataclasses.fields(self), state, strict=True):
        object.__setattr__(self, field.name, value)


def _constructor(cls: type[Any]) -> Callable[..., None]:
    """Write the constructor: its parameters are the fields, and ``__post_init__`` has its turn."""
    known: dict[str, Any] = {"_set": object.__setattr__, "_missing": _MISSING}
    positional: list[str] = ["self"]
    keywords: list[str] = []
    body: list[str] = []
    for field in dataclasses.fields(cls):
        name, value = field.name, field.name
        parameter = name
        if field.default is not _MISSING:
            known[f"_default_{name}"] = field.default
            parameter = f"{name}=_default_{name}"
        elif field.default_factory is not _MISSING:
            known[f"_make_{name}"] = field.default_factory
            parameter = f"{name}=_missing"
            value = f"_make_{name}() if {name} is _missing else {name}"
        (keywords if field.kw_only else positional).append(parameter)
        slot = getattr(cls, name, None)
        if isinstance(slot, MemberDescriptorType):  # filled by its own hand: no name to look up
            known[f"_fill_{name}"] = slot.__set__
            body.append(f"    _fill_{name}(self, {value})\n")
        else:
            body.append(f"    _set(self, {name!r}, {value})\n")
    if hasattr(cls, "__post_init__"):
        body.append("    self.__post_init__()\n")
    star = ["*"] if keywords else []
    parameters = ", ".join((*positional, *star, *keywords))
    exec(f"def __init__({parameters}):\n{''.join(body) or '    pass'}", known)  # noqa: S102  # the names are those of a class's fields
    written: Callable[..., None] = known["__init__"]
    written.__qualname__ = f"{cls.__qualname__}.__init__"
    return written


def _add_constructor(cls: type[Any]) -> None:
    """Give the class a constructor that writes itself when it is called."""

    def __init__(self: object, *args: Any, **kwargs: Any) -> None:  # noqa: N807  # is one
        cls.__init__ = _constructor(cls)
        cls.__init__(self, *args, **kwargs)

    cls.__init__ = __init__


def _add_comparison(cls: type[Any], own: frozenset[str]) -> None:
    """Give the class equality, a hash and a representation by its fields."""
    fields = dataclasses.fields(cls)
    compared = [field.name for field in fields if field.compare]
    shown = [field.name for field in fields if field.repr]
    values = attrgetter(*compared) if compared else type

    def __eq__(self: object, other: object) -> bool:  # noqa: N807  # is one
        if other.__class__ is not self.__class__:
            return NotImplemented
        return bool(values(self) == values(other))

    def __hash__(self: object) -> int:  # noqa: N807  # is one
        return hash(values(self))

    def __repr__(self: object) -> str:  # noqa: N807  # is one
        parts = (f"{name}={getattr(self, name)!r}" for name in shown)
        return f"{self.__class__.__qualname__}({', '.join(parts)})"

    for method in (__eq__, __hash__, __repr__):
        if method.__name__ not in own:
            setattr(cls, method.__name__, method)


@cache
def _fields_of(cls: type[Any]) -> tuple[tuple[str, ...], Callable[[Any], tuple[Any, ...]]]:
    """Give the names of a class's fields, and what takes all their values at once."""
    names = tuple(field.name for field in dataclasses.fields(cls))
    if len(names) > 1:
        return names, attrgetter(*names)
    return names, lambda each: tuple(getattr(each, name) for name in names)


def replace(instance: T, /, **changes: Any) -> T:
    """Give a copy with some fields changed, as :func:`dataclasses.replace` does, only faster.

    Every field must be one that the constructor takes.
    """
    cls: type[Any] = type(instance)
    names, values = _fields_of(cls)  # type: ignore[arg-type]  # every class can be hashed
    copied: T = cls(**{**dict(zip(names, values(instance), strict=True)), **changes})
    return copied


def by_columns(cls: type[T], count: int, **columns: Iterable[Any]) -> list[T]:
    """Make many instances from their fields, a column at a time: no constructor is called.

    Parameters
    ----------
    cls : type
        A dataclass of this house with slots. Its ``__post_init__`` has no turn.
    count : int
        How many instances.
    **columns : iterable
        The values of each field of the class, ``count`` of them.
    """
    made = list(map(object.__new__, repeat(cls, count)))
    for name, column in columns.items():
        fill_column(getattr(cls, name).__set__, made, column)
    return made


def fill_column(
    fill: Callable[[Any, Any], None], made: Iterable[object], column: Iterable[Any]
) -> None:
    """Fill one slot of many instances by its own hand, without a loop of ours."""
    deque(map(fill, made, column), maxlen=0)


def _frozen(cls: type[Any], options: dict[str, Any]) -> type[Any]:
    """Make a frozen dataclass."""
    own = frozenset(vars(cls))
    made = dataclasses.dataclass(init=False, repr=False, eq=False, **options)(cls)
    _add_comparison(made, own)
    if "__init__" not in own:
        _add_constructor(made)
    given: dict[str, Callable[..., Any]] = {
        "__setattr__": _refuse_set,
        "__delattr__": _refuse_delete,
    }
    if options.get("slots"):
        given |= {"__getstate__": _get_state, "__setstate__": _set_state}
    for name, method in given.items():
        setattr(made, name, method)
    return made


if not TYPE_CHECKING:

    def dataclass(cls=None, /, *, frozen=False, **options):
        """Declare a dataclass as :func:`dataclasses.dataclass` does."""
        if not frozen or not options.keys() <= {"slots", "kw_only"}:
            return dataclasses.dataclass(cls, frozen=frozen, **options)
        return _frozen(cls, options) if cls is not None else lambda each: _frozen(each, options)
