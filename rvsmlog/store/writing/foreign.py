"""Entries made in another store, and what must be true of one before it is taken in."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta

from rvsmlog.dates import show_instant
from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import FieldError, Record, RecordKind
from rvsmlog.records.fields import Scalar, Storage, Text
from rvsmlog.records.kinds import KIND
from rvsmlog.records.people import CLOCK_KINDS
from rvsmlog.records.trade_fields import scalar_to_instant
from rvsmlog.store.encoding import Head
from rvsmlog.store.tables import STRIKE
from rvsmlog.store.writing.vetting import AUTHOR, REASON

#: How far ahead of this machine's clock another's may have been. An entry from further ahead would
#: keep every later one out, for entries are made in the order of time.
AHEAD_TOLERANCE = timedelta(days=1)

_LARGEST = 10**18
_ANEW = "the file was changed or is of another edition; ask for it anew"
_STORED: Mapping[Storage, type[Scalar]] = {
    Storage.INTEGER: int,
    Storage.REAL: float,
    Storage.TEXT: str,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Foreign:
    """An entry made in another store.

    Parameters
    ----------
    head : Head
        What stands on every entry.
    record : Record or None
        What it says; None for one that strikes out.
    scalars : mapping of str to int, float or str
        The same as stored, without absent fields.
    digest : bytes
        The digest that it is said to have.
    """

    head: Head
    record: Record | None
    scalars: Mapping[str, Scalar]
    digest: bytes

    def __str__(self) -> str:
        """Say in short what it is: its kind, when it was made, and by whom."""
        head = self.head
        what = KIND[head.kind].title if head.kind in KIND else "a strike"
        of = "" if head.supersedes is None else f" of #{head.supersedes}"
        if head.kind in KIND and of:
            what = f"a correction, {what},"
        made = show_instant(scalar_to_instant(head.recorded_at))
        return f"{what}{of}, {made} by {head.recorded_by}"


def record_of(kind: str, scalars: Mapping[str, Scalar]) -> Record | None:
    """Make a record from scalars that somebody else stored, and check it as if it were entered now.

    Parameters
    ----------
    kind : str
        Kind of the entry.
    scalars : mapping of str to int, float or str
        Its fields without absent ones.

    Returns
    -------
    Record or None
        None for an entry that strikes out, which has no fields.

    Raises
    ------
    InputError
        When the kind or a field is unknown, or a field holds what it never could.
    """
    if kind == STRIKE:
        if scalars:
            raise InputError("an entry that strikes out has no fields", _ANEW)
        return None
    known = KIND.get(kind)
    if known is None:
        raise InputError(f"{kind!r} is no kind of entry", "install the edition that wrote the file")
    for name in scalars:
        if name not in known.by_name:
            raise FieldError(name, "no such field", "install the edition that wrote the file")
    record = known.cls(**{spec.name: _value(known, spec.name, scalars) for spec in known.fields})
    kept = {name: value for name, value in record.scalars().items() if value is not None}
    for name, value in scalars.items():
        # What reads back as something else would break the digest, or hide a second spelling.
        if name not in kept or kept[name] != value or type(kept[name]) is not type(value):
            raise FieldError(name, f"{value!r} is not as rvsmlog writes it", _ANEW)
    return record


def _value(kind: RecordKind, name: str, scalars: Mapping[str, Scalar]) -> object:
    """Give the value of one field."""
    scalar = scalars.get(name)
    if scalar is None:
        return None
    field = kind.by_name[name].type
    if type(scalar) is not _STORED[field.storage] or _too_large(scalar):
        raise FieldError(name, f"{scalar!r} is of the wrong type", f"wanted: {field.wanted}")
    try:
        value = field.from_scalar(scalar)
        # Days and instants are bounded where they are read from text.
        return field.parse(field.show(value)) if isinstance(value, date) else value
    except (ValueError, OverflowError, InputError):
        raise FieldError(name, f"{scalar!r} cannot be", f"wanted: {field.wanted}") from None


def _too_large(scalar: Scalar) -> bool:
    """Say whether a number is larger than any database keeps."""
    return isinstance(scalar, int) and abs(scalar) > _LARGEST


def check_follows(where: str, foreign: Foreign, number: int, recorded_at: int) -> None:
    """Check number, author, reason and time of an entry against the one before it.

    Parameters
    ----------
    where : str
        How messages name it.
    foreign : Foreign
        The entry.
    number, recorded_at : int
        Those of the entry before it; only a correction of the clock may lie before it in time.

    Raises
    ------
    InputError
        When it cannot be the next entry.
    """
    head = foreign.head
    if head.number != number + 1:
        raise InputError(f"{where} does not follow #{number}", _ANEW)
    if head.supersedes is None:
        sound = head.reason is None and head.kind != STRIKE
    else:
        sound = head.reason is not None and 0 < head.supersedes < head.number
    if not sound:
        raise InputError(f"{where} does not say rightly what it corrects, and why", _ANEW)
    for says, value, field in (
        ("author", head.recorded_by, AUTHOR),
        ("reason", head.reason, REASON),
    ):
        if value is not None and _parsed(field, value) != value:
            raise InputError(f"{where}: the {says} is not as rvsmlog writes one", _ANEW)
    if head.recorded_at < recorded_at and head.kind not in CLOCK_KINDS:
        raise InputError(f"{where} was made before the entry before it", _ANEW)


def check_not_ahead(where: str, recorded_at: int, now: datetime) -> None:
    """Check that the newest entry taken in leaves room for those to come.

    One further back may have been made by a clock that was ahead, and corrected since.

    Parameters
    ----------
    where : str
        How messages name it.
    recorded_at : int
        When it was made.
    now : datetime
        This machine's clock.

    Raises
    ------
    InputError
        When it lies in the future.
    """
    made_at = scalar_to_instant(recorded_at)
    if made_at > now + AHEAD_TOLERANCE:
        raise InputError(
            f"{where} was made at {show_instant(made_at)}, which is in the future here",
            "check the clock of this machine; if the other's was wrong, have it corrected there "
            "with `rvsmlog store clock`, and ask for the file anew",
        )


def _parsed(field: Text, value: str) -> str | None:
    """Give a text as it would have been taken in; None where it would not."""
    try:
        return field.parse(value)
    except InputError:
        return None


def check_same(record: Record, vetted: Record) -> None:
    """Check that a record was written as it would be written now.

    Raises
    ------
    InputError
        When it names a correction: entries name the one first made.
    """
    if record != vetted:
        raise InputError("it names a correction, not the entry first made", _ANEW)
