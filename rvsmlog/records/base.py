"""What every kind of record has in common: its name, its logbook, its fields and its checks."""

import types
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import MISSING, fields
from datetime import date, datetime
from enum import StrEnum
from functools import cached_property
from itertools import repeat
from typing import Annotated, Any, ClassVar, TypeVar, Union, get_args, get_origin, get_type_hints

from rvsmlog.errors import InputError, StoreError
from rvsmlog.frozen import dataclass, fill_column
from rvsmlog.records.fields import FieldType, Scalar


class Logbook(StrEnum):
    """The two kinds of logbook."""

    OPERATOR = "operator"
    AIRFRAME = "airframe"


class FieldError(InputError):
    """One field of a record is wrong.

    Parameters
    ----------
    field : str
        The field's name.
    message, hint : str
        What is wrong, and what is wanted.
    """

    def __init__(self, field: str, message: str, hint: str = "") -> None:
        super().__init__(f"{field}: {message}", hint)
        self.field = field
        self.fault = message


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldSpec:
    """One field of a kind of record."""

    name: str
    type: FieldType[Any]
    required: bool
    default: Any

    @property
    def option(self) -> str:
        """The long option of the command line."""
        return "--" + self.name.replace("_", "-")


class Record:
    """Base of all records. A record is immutable and checked when it is made."""

    __slots__ = ()
    kind: ClassVar["RecordKind"]

    def __post_init__(self) -> None:
        """Check each field, then the fields together."""
        for spec in self.kind.fields:
            value = getattr(self, spec.name)
            if value is None:
                # A field that has a value when it is left out is never empty.
                if spec.required or spec.default is not None:
                    raise FieldError(spec.name, "is missing", f"write {spec.type.wanted}")
                continue
            try:
                spec.type.check(value)
            except FieldError:
                raise
            except InputError as error:
                raise FieldError(spec.name, error.message, error.hint) from None
        self.check()

    def check(self) -> None:
        """Raise :class:`FieldError` when fields contradict each other."""

    def scalars(self) -> dict[str, Scalar | None]:
        """Give each field as the scalar that the store keeps."""
        result: dict[str, Scalar | None] = {}
        for spec in self.kind.fields:
            value = getattr(self, spec.name)
            result[spec.name] = None if value is None else spec.type.to_scalar(value)
        return result

    @property
    def title(self) -> str:
        """What the trade calls it: its kind, unless the record itself says more."""
        return self.kind.title

    def happened(self) -> datetime | date | None:
        """Say when it happened; None where the record itself says from when it holds."""
        return getattr(self, self.kind.happened) if self.kind.happened else None


class RecordKind:
    """A kind of entry, described once.

    Parameters
    ----------
    name : str
        Slug and table name stem, for example ``crosscheck``.
    cls : type
        The record class.
    logbook : Logbook
        In which kind of logbook it stands.
    happened : str
        Name of the field that says when it happened; ``""`` when none does.
    title : str
        What the trade calls it.
    """

    def __init__(
        self, name: str, cls: type[Record], logbook: Logbook, happened: str, title: str
    ) -> None:
        self.name = name
        self.cls = cls
        self.logbook = logbook
        self.happened = happened
        self.title = title

    @cached_property
    def fields(self) -> tuple[FieldSpec, ...]:
        """The fields in the order in which they are declared."""
        hints = get_type_hints(self.cls, include_extras=True)
        return tuple(
            FieldSpec(
                name=field.name,
                type=_field_type(hints[field.name]),
                required=field.default is MISSING,
                default=None if field.default is MISSING else field.default,
            )
            for field in fields(self.cls)  # type: ignore[arg-type]  # every record is a dataclass
        )

    @cached_property
    def by_name(self) -> Mapping[str, FieldSpec]:
        """The fields by name."""
        return {spec.name: spec for spec in self.fields}

    @cached_property
    def _fillers(
        self,
    ) -> tuple[tuple[Callable[..., None], tuple[type, ...], Callable[[Scalar], Any]], ...]:
        """How each field is filled, the types of scalars that are its values as they stand."""
        inherited = FieldType.from_scalar
        return tuple(
            (
                getattr(self.cls, spec.name).__set__,
                spec.type.plain if type(spec.type).from_scalar is inherited else (),
                spec.type.from_scalar,
            )
            for spec in self.fields
        )

    def read_row(self, scalars: Sequence[Scalar | None], cls: type[Record] | None = None) -> Record:
        """Make a record as :meth:`read` does, from scalars in the order of the fields.

        Parameters
        ----------
        scalars : sequence
            The fields as stored.
        cls : type, optional
            The class of what is made: one derived from the record's.
        """
        record = object.__new__(cls or self.cls)
        try:
            for scalar, (fill, plain, convert) in zip(scalars, self._fillers, strict=True):
                if scalar is None or type(scalar) in plain:
                    fill(record, scalar)
                else:
                    fill(record, convert(scalar))
        except (ValueError, TypeError, ArithmeticError, InputError):
            names = (spec.name for spec in self.fields)
            return self.read(dict(zip(names, scalars, strict=True)))  # says which field it is
        return record

    def read_columns(self, columns: Sequence[Sequence[Scalar | None]]) -> list[Record]:
        """Make many records as :meth:`read_row` does, from the column of each field.

        Parameters
        ----------
        columns : sequence of sequences
            The scalars of each field in the order of the fields, as many as there are records.

        Raises
        ------
        ValueError, TypeError, ArithmeticError, InputError
            When a scalar is none that a field is stored as; :meth:`read_row` says which.
        """
        records = list(map(object.__new__, repeat(self.cls, len(columns[0]))))
        for column, (fill, plain, convert) in zip(columns, self._fillers, strict=True):
            types_found = set(map(type, column)) - {types.NoneType}
            values: Iterable[Any] = column
            if not types_found <= set(plain):
                values = _converted(column, types_found, convert)
            fill_column(fill, records, values)
        return records

    def read(self, scalars: Mapping[str, Scalar | None]) -> Record:
        """Make a record from stored scalars, without checking it again.

        What was once accepted stays readable when a later edition of the program is stricter.

        Raises
        ------
        StoreError
            When a scalar is none that a field is stored as: the store was damaged or changed.
        """
        record = object.__new__(self.cls)
        for spec in self.fields:
            object.__setattr__(record, spec.name, self.read_value(spec.name, scalars[spec.name]))
        return record

    def read_value(self, name: str, scalar: Scalar | None) -> Any:
        """Give the value of one field as stored.

        Raises
        ------
        StoreError
            As :meth:`read`.
        """
        try:
            return None if scalar is None else self.by_name[name].type.from_scalar(scalar)
        except (ValueError, TypeError, ArithmeticError, InputError):
            raise StoreError(
                f"the store is damaged: {name} of an entry ({self.title}) is {scalar!r}",
                "run `rvsmlog store verify`; restore the newest backup",
            ) from None

    def texts(self, values: Mapping[str, object]) -> dict[str, str | None]:
        """Write values as the texts that :meth:`parse` reads; what is a text already is left so.

        Raises
        ------
        FieldError
            At the first that is no value of its field, or whose field is unknown: a text made of
            just anything could read as a value that nobody meant.
        """
        if not isinstance(values, Mapping):
            raise InputError(f"{values!r} are no fields", "give a mapping of values by field name")
        return {name: self._text(name, value) for name, value in values.items()}

    def _text(self, name: str, value: object) -> str | None:
        """Write one value as text."""
        spec = self._spec(name)
        if value is None or isinstance(value, str):
            return value
        try:
            spec.type.check(value)
        except InputError as error:
            raise FieldError(name, error.message, error.hint) from None
        # A number of a class of its own may write itself otherwise than it counts.
        whole = isinstance(value, int) and not isinstance(value, bool)
        return spec.type.show(int(value) if whole else value)  # type: ignore[call-overload]  # just told

    def _spec(self, name: str) -> FieldSpec:
        """Give a field by its name."""
        spec = self.by_name.get(name)
        if spec is None:
            known = ", ".join(self.by_name)
            raise FieldError(name, "no such field", f"fields of {self.title}: {known}")
        return spec

    def parse(self, texts: Mapping[str, str | None], base: Record | None = None) -> Record:
        """Make a record from texts by field name.

        Parameters
        ----------
        texts : mapping of str to str
            The fields as texts. Empty texts count as not given.
        base : Record, optional
            A record of this kind that is corrected: fields whose text is None or left out are
            taken from it, and an empty text empties the field.

        Raises
        ------
        FieldError
            At the first field that is unknown, missing or wrong.
        """
        for name in texts:
            self._spec(name)
        values: dict[str, Any] = {}
        for spec in self.fields:
            text = texts.get(spec.name)
            if text is None and base is not None:
                values[spec.name] = getattr(base, spec.name)
                continue
            if text is None or not text.strip():
                if spec.required:
                    raise FieldError(spec.name, "is missing", f"write {spec.type.wanted}")
                continue
            try:
                values[spec.name] = spec.type.parse(text)
            except InputError as error:
                raise FieldError(spec.name, error.message, error.hint) from None
        return self.cls(**values)


def _converted(
    column: Sequence[Scalar | None], found: set[type], convert: Callable[[Scalar], Any]
) -> Iterable[Any]:
    """Give a column's values; where its scalars are of one type, each different one's once."""
    if len(found) == 1 and found <= {int, str}:
        known: dict[Scalar | None, Any] = {
            scalar: convert(scalar) for scalar in set(column) if scalar is not None
        }
        return map(known.get, column)
    return [None if scalar is None else convert(scalar) for scalar in column]


def _field_type(hint: Any) -> FieldType[Any]:
    """Find the field type in ``Annotated[X, type]`` or ``Annotated[X, type] | None``."""
    if get_origin(hint) in {Union, types.UnionType}:
        hint = next(part for part in get_args(hint) if get_origin(part) is Annotated)
    for extra in get_args(hint)[1:]:
        if isinstance(extra, FieldType):
            return extra
    raise TypeError(f"{hint!r} carries no field type")


R = TypeVar("R", bound=Record)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ref:
    """An entry: the logbook's name and the number in it."""

    logbook: str
    entry: int

    def __str__(self) -> str:
        return f"{self.logbook}#{self.entry}"


def record(
    name: str, logbook: Logbook, *, title: str, happened: str = ""
) -> Callable[[type[R]], type[R]]:
    """Declare a frozen dataclass as a kind of record.

    Parameters
    ----------
    name : str
        Slug of the kind.
    logbook : Logbook
        Where it is kept.
    title : str
        What the trade calls it.
    happened : str
        The field that says when it happened.
    """

    def declare(cls: type[R]) -> type[R]:
        cls.kind = RecordKind(name, cls, logbook, happened, title)
        return cls

    return declare
