"""The checks that a record makes of its fields together, for many rows at once.

A record's check asks for some of its fields only: of a cross-check the phase, the level, the
elevation and the QNH, but neither the time nor what the altimeters showed. Rows that are alike in
all that it asked for fare alike. So it is watched which fields it asks for, and it is run once for
each different set of their values: the check stays written in one place, and nothing is said twice
of what it looks at.
"""

from typing import Any

from rvsmlog.records.base import Record, RecordKind
from rvsmlog.store.ready import Ready

#: So many sets of values are remembered, and those of a batch.
_REMEMBERED = 4096


class RowChecks:
    """Runs a kind's check over rows.

    Parameters
    ----------
    kind : RecordKind
        Whose; its check hangs on the fields of the record alone.
    """

    def __init__(self, kind: RecordKind) -> None:
        self._asked: set[str] = set()
        self._passed: set[tuple[Any, ...]] = set()
        self._watched = _watched(kind.cls, self._asked)
        self._needed = kind.cls.check is not Record.check

    def hold(self, ready: Ready) -> None:
        """Check rows.

        Raises
        ------
        FieldError
            When the fields of a row contradict each other.
        """
        if len(self._passed) > _REMEMBERED:
            self._passed.clear()
        while self._needed and not self._passes(ready):
            # It asked for a field for the first time: what passed before may differ in that.
            self._passed.clear()

    def _passes(self, ready: Ready) -> bool:
        """Check rows; False as soon as a field is asked for that was not before."""
        known = len(self._asked)
        columns = [ready.column(name) for name in ready.names if name in self._asked]
        keys = list(zip(*columns, strict=True)) if columns else [()] * len(ready.bodies)
        if self._passed.issuperset(keys):
            return True
        for key, place in dict(zip(keys, range(len(keys)), strict=True)).items():
            if key not in self._passed:
                ready.record(place, self._watched).check()
                if len(self._asked) > known:
                    return False
                self._passed.add(key)
        return True


def _watched(cls: type[Record], asked: set[str]) -> type[Record]:
    """Give a class like a record's that notes which of the attributes are asked for."""

    def __getattribute__(self: Record, name: str) -> Any:  # noqa: N807  # is one
        asked.add(name)
        return object.__getattribute__(self, name)

    named = {"__slots__": (), "__getattribute__": __getattribute__}
    return type(cls.__name__, (cls,), named)
