"""What stands for a value in help pages: the kind of thing, with its unit."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from rvsmlog.records.base import FieldSpec
from rvsmlog.records.fields import Choice, FieldType, Flag, Real, Text, Whole, Words
from rvsmlog.records.point_table import PointTable
from rvsmlog.records.trade_fields import Day, EntryNumber, Instant, Level, LevelTable

_BY_TYPE: Mapping[type[FieldType[Any]], str] = MappingProxyType(
    {
        Instant: "INSTANT",
        Day: "DATE",
        Level: "LEVEL",
        LevelTable: "LEVEL:NUMBER,...",
        PointTable: "POINT:NUMBER,...",
        EntryNumber: "ENTRY",
        Choice: "WORD",
        Words: "WORD,...",
        Flag: "YES|NO",
        Text: "TEXT",
        Whole: "NUMBER",
        Real: "NUMBER",
    }
)
_BY_UNIT: Mapping[str, str] = MappingProxyType(
    {
        "ft": "FEET",
        "hpa": "HPA",
        "psi": "PSI",
        "c": "CELSIUS",
        "deg": "DEGREES",
        "s": "SECONDS",
        "litres": "LITRES",
        "minutes": "MINUTES",
        "fpm": "FT/MIN",
        "min": "FT/MIN",
        "hours": "HOURS",
        "days": "DAYS",
        "months": "MONTHS",
    }
)


def metavar(spec: FieldSpec) -> str:
    """Give what stands for a field's value, for example ``FEET``."""
    if isinstance(spec.type, Whole | Real):
        unit = spec.name.rsplit("_", maxsplit=1)[-1]
        return _BY_UNIT.get(unit, "NUMBER")
    return _BY_TYPE.get(type(spec.type), "TEXT")
