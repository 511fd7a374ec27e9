"""Fields of a record in words: what each is, its value, and what a check was asked beside."""

import re
import textwrap
from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Any

from rvsmlog.records.base import FieldSpec, Record
from rvsmlog.records.checks import GoNoGo
from rvsmlog.records.fields import Text
from rvsmlog.reports.records import shown
from rvsmlog.reports.text import WIDTH, Line, wrap
from rvsmlog.store.reading.flight_data import from_text
from rvsmlog.units import show_level

#: Columns of what a field is; its value stands behind them.
_LABEL, _VALUE = 34, 38
#: What a field is, up to where its help goes on with how to write it; which sign means what stays.
_FIRST = re.compile(r"(?:\([^)]*\)|[^;(]|;(?= positive))*")
#: What is said of a planned flight, in the order in which it is said.
SAID: Mapping[str, str] = MappingProxyType(
    {
        "route": "route {}",
        "track": "track {}",
        "split": "odd levels on tracks {}",
        "crew": "crew {}",
        "passengers": "passengers {}",
        "second_pilot": "second pilot {}",
        "hold_level": "not below {} after a loss of pressure",
        "hold_minutes": "{} min there",
        "recognition_s": "descent begun after {} s",
        "descent_fpm": "emergency descent {} ft/min",
        "final_descent_fpm": "from the hold {} ft/min",
        "cruise_minutes": "{} min at the planned level",
        "contaminated_minutes": "{} min in contaminated air",
        "contaminated_mode": "regulators then {}",
        "differential_psi": "cabin differential {} psi",
    }
)


def label(spec: FieldSpec) -> str:
    """Say what a field is, as its option's help begins.

    Examples
    --------
    >>> from rvsmlog.records.flights import CrossCheck
    >>> label(CrossCheck.kind.by_name["primary_1_ft"])
    'primary altimeter 1, feet'
    """
    found = _FIRST.match(spec.type.help)
    return (found[0] if found else "").strip() or spec.type.help


def field_lines(record: Record) -> Iterator[Line]:
    """Lay out the fields of a record that are filled, in two columns."""
    for spec in record.kind.fields:
        value = getattr(record, spec.name)
        if value is not None:
            yield from labelled(label(spec), _text(record, spec, value))


def labelled(what: str, text: str) -> Iterator[Line]:
    """Lay out one value behind what it is; each is folded in its own column."""
    labels = textwrap.wrap(what, _LABEL, subsequent_indent="  ", break_on_hyphens=False)
    values = [line.text[_VALUE:] for line in wrap(text, _VALUE)]
    for at in range(max(len(labels), len(values))):
        left = labels[at] if at < len(labels) else ""
        right = values[at] if at < len(values) else ""
        yield Line(f"  {left:<{_VALUE - 2}}{right}".rstrip())


def _text(record: Record, spec: FieldSpec, value: Any) -> str:
    """Write a value for a person; what is too long for its column can be folded at commas."""
    text = shown(spec, value)
    if isinstance(record, GoNoGo):
        if spec.name == "question":
            return asked_words(text)
        if spec.name == "limiting":
            return text.replace(",", ", ")
    if len(text) > WIDTH - _VALUE and not isinstance(spec.type, Text):
        return text.replace(",", ", ")
    return text


def asked_words(text: str) -> str:
    """Say in words what a check was asked beside level, region and pilot.

    Parameters
    ----------
    text : str
        As the check's entry keeps it, JSON; what is none, in a damaged store, is given back.

    Examples
    --------
    >>> asked_words('{"crew":1,"hold_level":140,"hold_minutes":45,"passengers":3}')
    'crew 1; passengers 3; not below FL140 after a loss of pressure; 45 min there'
    """
    try:
        said = from_text(text).said()
        words = [SAID[name].format(_said(name, said[name])) for name in SAID if name in said]
    except (ValueError, TypeError, RecursionError):
        return text
    return "; ".join(words) or text


def _said(name: str, value: Any) -> str:
    """Write one value of a flight's data."""
    if name == "hold_level":
        return show_level(value)
    return f"{value:g}" if isinstance(value, float) else str(value)
