"""The house's dataclass decorator, held against the standard library's: the same, but later."""

import copy
import dataclasses
import inspect
import pickle
from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import field
from typing import Any, ClassVar, Generic, TypeVar

import pytest

from rvsmlog import frozen

V = TypeVar("V")
Decorator = Callable[..., Callable[[type[Any]], type[Any]]]
OURS: Decorator = frozen.dataclass
STANDARD: Decorator = dataclasses.dataclass


@frozen.dataclass(frozen=True, slots=True, kw_only=True)
class Pickled:
    """Stands at the top of a module, where pickle finds it."""

    name: str
    level: int = 310


def keywords(decorate: Decorator) -> type[Any]:
    """Declare a class as most of this program's are."""

    @decorate(frozen=True, slots=True, kw_only=True)
    class Sample:
        a: int
        b: str = "b"
        c: list[int] = field(default_factory=list)
        d: int = field(default=4, repr=False)
        e: int = field(default=5, compare=False)
        kind: ClassVar[str] = "sample"

        def __post_init__(self) -> None:
            if self.a < 0:
                raise ValueError("negative")

        @property
        def twice(self) -> int:
            return 2 * self.a

    return Sample


def positional(decorate: Decorator) -> type[Any]:
    """Declare a class whose fields may be given in order."""

    @decorate(frozen=True, slots=True)
    class Sample:
        a: int
        b: str = "b"

        def __str__(self) -> str:
            return f"<{self.a}>"

    return Sample


def inherited(decorate: Decorator) -> type[Any]:
    """Declare an abstract, generic class and one that adds fields to it."""

    @decorate(frozen=True, slots=True)
    class Base(ABC, Generic[V]):
        help: str

        @abstractmethod
        def parse(self) -> V: ...

    @decorate(frozen=True, slots=True)
    class Sample(Base[int]):
        low: int = 0
        high: int = 9

        def parse(self) -> int:
            return self.high - self.low

    assert inspect.isabstract(Base)
    return Sample


MAKERS = (keywords, positional, inherited)
CALLS: tuple[tuple[Callable[[Decorator], type[Any]], tuple[Any, ...], dict[str, Any]], ...] = (
    (keywords, (), {"a": 1}),
    (keywords, (), {"a": 1, "b": "x", "c": [2], "d": 3, "e": 4}),
    (keywords, (), {}),
    (keywords, (1,), {}),
    (keywords, (), {"a": 1, "z": 2}),
    (keywords, (), {"a": -1}),
    (positional, (1,), {}),
    (positional, (1, "x"), {}),
    (positional, (1,), {"b": "x"}),
    (positional, (), {}),
    (positional, (1, 2, 3), {}),
    (positional, (1,), {"a": 2}),
    (inherited, ("h",), {}),
    (inherited, ("h", 2), {"high": 5}),
    (inherited, (), {"low": 1}),
)


def outcome(cls: type[Any], args: tuple[Any, ...], options: dict[str, Any]) -> Any:
    """Give what a call makes of a class: its fields and representation, or the error."""
    try:
        made = cls(*args, **options)
    except (TypeError, ValueError) as error:
        return type(error), str(error)
    names = [each.name for each in dataclasses.fields(made)]
    return repr(made), str(made), [getattr(made, name) for name in names]


@pytest.mark.parametrize(("maker", "args", "options"), CALLS)
def test_a_call_makes_the_same(
    maker: Callable[[Decorator], type[Any]], args: tuple[Any, ...], options: dict[str, Any]
) -> None:
    """Right and wrong arguments give the same instance or the same error text."""
    ours, standard = maker(OURS), maker(STANDARD)
    # The second call goes to the constructor that the first one wrote.
    for _ in range(2):
        assert outcome(ours, args, options) == outcome(standard, args, options)


@pytest.mark.parametrize("changes", [{}, {"a": 7}, {"a": 7, "e": 1}, {"a": -1}, {"z": 1}])
def test_a_changed_copy_is_the_same(changes: dict[str, int]) -> None:
    """A copy is made and checked as by the standard library, the first time and the second."""

    def changed(replace: Callable[..., Any]) -> Any:
        whole = keywords(OURS)(a=1, b="x", c=[2], d=3, e=4)
        try:
            copied = replace(whole, **changes)
        except (TypeError, ValueError) as error:
            return type(error), str(error)
        assert copied is not whole
        assert copied.__class__ is whole.__class__
        return [getattr(copied, each.name) for each in dataclasses.fields(copied)]

    expected = changed(dataclasses.replace)
    assert [changed(frozen.replace), changed(frozen.replace)] == [expected, expected]


def test_a_changed_copy_of_few_fields() -> None:
    """A class of one field, and one of none."""

    @frozen.dataclass(frozen=True, slots=True)
    class One:
        a: int

    @frozen.dataclass(frozen=True, slots=True)
    class Empty:
        pass

    assert frozen.replace(One(1), a=2) == One(2)
    assert frozen.replace(One(1)) == One(1)
    assert frozen.replace(Empty()) == Empty()


@pytest.mark.parametrize("maker", MAKERS)
def test_the_class_says_the_same_of_itself(maker: Callable[[Decorator], type[Any]]) -> None:
    """Fields, slots and match arguments are the standard decorator's own."""
    ours, standard = maker(OURS), maker(STANDARD)

    def said(cls: type[Any]) -> Any:
        fields = [
            (each.name, each.type, each.default, each.init, each.repr, each.compare, each.kw_only)
            for each in dataclasses.fields(cls)
        ]
        return fields, vars(cls)["__slots__"], cls.__match_args__, cls.__qualname__

    assert said(ours) == said(standard)
    assert dataclasses.is_dataclass(ours)


@pytest.mark.parametrize("decorate", [OURS, STANDARD])
def test_instances_compare_by_their_fields(decorate: Decorator) -> None:
    """Equal fields make equal instances with one hash; another class is never equal."""
    cls, other = positional(decorate), positional(decorate)
    assert cls(1) == cls(1, "b")
    assert hash(cls(1)) == hash(cls(1, "b"))
    assert cls(1) != cls(2)
    assert cls(1) != other(1)
    assert cls(1) != (1, "b")
    sample = keywords(decorate)
    assert sample(a=1, e=6) == sample(a=1, e=7)
    assert sample(a=1, d=6) != sample(a=1, d=7)
    with pytest.raises(TypeError, match="unhashable type: 'list'"):
        hash(sample(a=1))


@pytest.mark.parametrize("decorate", [OURS, STANDARD])
def test_an_instance_cannot_be_changed(decorate: Decorator) -> None:
    """Setting and deleting are refused, and there is no room for anything else."""
    made = positional(decorate)(1)
    with pytest.raises(dataclasses.FrozenInstanceError, match="cannot assign to field 'a'"):
        made.a = 2
    with pytest.raises(dataclasses.FrozenInstanceError, match="cannot delete field 'a'"):
        del made.a
    assert not hasattr(made, "__dict__")


@pytest.mark.parametrize("decorate", [OURS, STANDARD])
def test_tools_of_the_standard_library_work(decorate: Decorator) -> None:
    """An instance can be replaced, turned into a mapping, matched and copied."""
    cls = keywords(decorate)
    made = cls(a=1, c=[1, 2])
    assert dataclasses.replace(made, b="x") == cls(a=1, b="x", c=[1, 2])
    assert dataclasses.asdict(made) == {"a": 1, "b": "b", "c": [1, 2], "d": 4, "e": 5}
    assert copy.copy(made) == copy.deepcopy(made) == made
    assert copy.deepcopy(made).c is not made.c
    assert (made.twice, made.kind) == (2, "sample")
    match positional(decorate)(3, "x"):
        case object(a=number, b=text):
            assert (number, text) == (3, "x")


def test_instances_made_by_columns_are_those_of_the_constructor() -> None:
    """Field by field, whatever gives the values."""
    cls = positional(OURS)
    made = frozen.by_columns(cls, 3, a=range(3), b=iter("xyz"))
    assert made == [cls(0, "x"), cls(1, "y"), cls(2, "z")]
    assert frozen.by_columns(cls, 0, a=(), b=()) == []


def test_an_instance_can_be_pickled() -> None:
    """What another process reads back is equal."""
    made = Pickled(name="x")
    assert pickle.loads(pickle.dumps(made)) == made  # noqa: S301  # made above


def test_each_default_is_made_afresh() -> None:
    """Two instances never share a list."""
    cls = keywords(OURS)
    assert cls(a=1).c is not cls(a=1).c


def test_a_method_of_one_s_own_stays() -> None:
    """What the class itself declares is not replaced."""

    @frozen.dataclass(frozen=True, slots=True)
    class Own:
        a: int

        def __repr__(self) -> str:
            return "own"

        def __eq__(self, other: object) -> bool:
            return True

        def __hash__(self) -> int:
            return 7

    assert (repr(Own(1)), Own(1) == Own(2), hash(Own(1))) == ("own", True, 7)


def test_what_is_not_frozen_is_left_to_the_standard_decorator() -> None:
    """A class that may be changed, or that has an order, is an ordinary dataclass."""

    @frozen.dataclass(slots=True)
    class Loose:
        a: int

    @frozen.dataclass(frozen=True, order=True)
    class Ordered:
        a: int

    loose = Loose(1)
    loose.a = 2
    assert (loose.a, Ordered(1) < Ordered(2)) == (2, True)


def test_a_class_without_fields_is_equal_to_itself() -> None:
    """Nothing to compare means equal, and one hash."""

    @frozen.dataclass(frozen=True)
    class Empty:
        pass

    assert Empty() == Empty()
    assert hash(Empty()) == hash(Empty())
    assert Empty() != object()


def test_the_constructor_is_written_at_its_first_call() -> None:
    """Before it the class has a stand-in; after it, a constructor with the fields by name."""
    cls = keywords(OURS)
    assert "a" not in inspect.signature(cls).parameters
    cls(a=1)
    assert list(inspect.signature(cls).parameters) == ["a", "b", "c", "d", "e"]
