"""Field type of readings by test point, in the order in which they were taken."""

import re

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.records.fields import FieldType, Scalar, Storage, check_pairs

#: Points with their readings. A point is counted in its last digit: 29.92 inHg is 2992.
Points = tuple[tuple[int, int], ...]

_VALUE = re.compile(r"[+-]?\d{1,6}", re.ASCII)


@dataclass(frozen=True, slots=True)
class PointTable(FieldType[Points]):
    """Whole numbers by test point, for example an error in feet by altitude: ``0:+5,1000:-10``.

    Points are kept in the order given, for some tests want theirs in an order.

    Parameters
    ----------
    point : str
        What a point is, with its unit.
    decimals : int
        Digits of a point behind the decimal point.
    lowest, highest : int
        Bounds of a point, counted in its last digit.
    low, high : int
        Bounds of a reading.
    """

    point: str = "altitude in feet"
    decimals: int = 0
    lowest: int = -1_000
    highest: int = 50_000
    low: int = -5_000
    high: int = 5_000

    @property
    def storage(self) -> Storage:
        """The column type."""
        return Storage.TEXT

    @property
    def wanted(self) -> str:
        """What to write."""
        return (
            f"point:reading pairs in the order of the test, a point being the {self.point} from "
            f"{self.show_point(self.lowest)} to {self.show_point(self.highest)}, a reading from "
            f"{self.low} to {self.high}, such as {self._example()}"
        )

    def parse(self, text: str) -> Points:
        """Read ``point:reading`` pairs with commas or blanks between them."""
        table = tuple(self._pair(part) for part in re.split(r"[,;\s]+", text.strip()))
        self.check(table)
        return table

    def parse_point(self, text: str) -> int:
        """Read one point, counted in its last digit.

        Raises
        ------
        InputError
            When it is no number, or has more digits than are told apart.
        """
        stripped = text.strip()
        match = re.fullmatch(r"([+-]?)(\d{1,6})(?:\.(\d*))?", stripped, re.ASCII)
        behind = (match[3] or "").rstrip("0") if match else ""
        if match is None or len(behind) > self.decimals:
            raise InputError(f"{stripped!r} is no {self.point}", f"write {self.wanted}")
        whole = int(match[2] + behind.ljust(self.decimals, "0"))
        return -whole if match[1] == "-" else whole

    def check(self, value: Points) -> None:
        """Refuse what is no table, an empty one, points twice, and what is out of bounds."""
        check_pairs(value, self.wanted)
        points = [point for point, _ in value]
        if not value:
            raise InputError("there are no points", f"write {self.wanted}")
        for point, reading in value:
            if not self.lowest <= point <= self.highest:
                says = f"the point {self.show_point(point)} is out of range"
                raise InputError(says, f"write {self.wanted}")
            if not self.low <= reading <= self.high:
                raise InputError(
                    f"{self.show_point(point)}:{reading} is out of range", f"write {self.wanted}"
                )
        seen: set[int] = set()
        for point in points:
            if point in seen:
                raise InputError(
                    f"the point {self.show_point(point)} stands twice", "give each point once"
                )
            seen.add(point)

    def to_scalar(self, value: Points) -> Scalar:
        """Write the pairs with commas between."""
        return self.show(value)

    def from_scalar(self, scalar: Scalar) -> Points:
        """Read the pairs back without judging them."""
        return tuple(self._pair(part) for part in str(scalar).split(","))

    def show(self, value: Points) -> str:
        """Write the pairs with commas between; readings that have a sign with it."""
        sign = "+" if self.low < 0 else ""
        return ",".join(f"{self.show_point(point)}:{reading:{sign}d}" for point, reading in value)

    def show_point(self, point: int) -> str:
        """Write one point."""
        return f"{point / 10**self.decimals:.{self.decimals}f}"

    def _pair(self, text: str) -> tuple[int, int]:
        """Read one pair."""
        point, colon, reading = text.partition(":")
        if not colon or not _VALUE.fullmatch(reading):
            raise InputError(f"{text!r} is no point:reading pair", f"write {self.wanted}")
        return self.parse_point(point), int(reading)

    def _example(self) -> str:
        """Give two pairs as an example."""
        span = self.highest - self.lowest
        points = (self.lowest + span // 4, self.lowest + span // 2)
        return self.show(tuple((point, max(self.low, 0) + 5) for point in points))
