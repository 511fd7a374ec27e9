"""Answers that are kept: only for the very same objects, and only so many of them."""

from collections.abc import Callable

import pytest

from rvsmlog.once import MOST_KEPT, once


class Asked:
    """Counts how often it is asked."""

    def __init__(self) -> None:
        self.times = 0

    def __call__(self, *parts: tuple[int, ...]) -> int:
        """Add numbers."""
        self.times += 1
        return sum(map(sum, parts))


def made(*numbers: int) -> tuple[int, ...]:
    """Give a tuple of its own; a literal would be the same object each time."""
    return numbers


def counted() -> tuple[Asked, Callable[..., int]]:
    """Give a function that is kept, and its count."""
    asked = Asked()

    def total(*parts: tuple[int, ...]) -> int:
        """Give the sum."""
        return asked(*parts)

    return asked, once(total)


def test_the_same_objects_are_asked_once() -> None:
    """The answer is that of the first time; an equal object is another one."""
    asked, total = counted()
    one, equal = made(1, 2), made(1, 2)
    assert one is not equal
    assert [total(one), total(one)] == [3, 3]
    assert asked.times == 1
    assert total(equal) == 3
    assert asked.times == 2
    assert total(one, one) == 6
    assert total(one, equal) == 6
    assert asked.times == 4
    assert (total.__name__, total.__doc__) == ("total", "Give the sum.")


def test_what_is_gone_is_never_taken_for_what_came_in_its_place() -> None:
    """Objects that are let go at once often come to stand where the one before stood."""
    asked, total = counted()
    for number in range(10 * MOST_KEPT):
        assert total(made(number, 1)) == number + 1
    assert asked.times == 10 * MOST_KEPT


def test_no_more_than_so_many_are_kept() -> None:
    """What was kept first is asked anew; what came last is not."""
    asked, total = counted()
    parts = [made(number, number) for number in range(MOST_KEPT + 1)]
    for part in parts:
        total(part)
    total(parts[-1])
    assert asked.times == len(parts)
    total(parts[0])
    assert asked.times == len(parts) + 1


def test_arguments_by_name_are_refused() -> None:
    """Only what is given in order tells two questions apart."""

    @once
    def shown(value: tuple[int, ...], sign: int = 1) -> int:
        return sign * sum(value)

    value = (1, 2)
    assert [shown(value), shown(value, -1), shown(value, 1)] == [3, -3, 3]
    with pytest.raises(TypeError, match="sign"):
        shown(value, sign=-1)
