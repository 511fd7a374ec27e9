"""What the shell completes: registrations in the store, words of a list, names of rules."""

from collections.abc import Callable, Iterable
from typing import Any

import typer

from rvsmlog.records.base import FieldSpec, RecordKind
from rvsmlog.records.fields import Choice, Flag, Words


def _starting(words: Iterable[str], incomplete: str) -> list[str]:
    """Give the words that begin so, in either case."""
    return [word for word in words if word.lower().startswith(incomplete.lower())]


def registrations_of(ctx: typer.Context, incomplete: str) -> list[str]:
    """Give the registrations in the store; none where it cannot be used."""
    from rvsmlog.errors import RvsmlogError
    from rvsmlog.store.connection import open_store
    from rvsmlog.store.reading.airframes import registrations

    try:
        with open_store(ctx.params.get("store")) as store, store.reading() as connection:
            borne = [registration for registration, _ in registrations(connection)]
    except (RvsmlogError, OSError):
        return []
    return _starting(borne, incomplete)


def _on_record(ctx: typer.Context, kind: RecordKind, field: str) -> list[str]:
    """Give the values of a field of the operator's records; none where the store cannot be used."""
    from rvsmlog.errors import RvsmlogError
    from rvsmlog.store.connection import open_store
    from rvsmlog.store.reading.books import OPERATOR, find_book
    from rvsmlog.store.reading.reader import read, view

    try:
        with open_store(ctx.params.get("store")) as store, store.reading() as connection:
            book = find_book(connection, OPERATOR)
            found = () if book is None else read(connection, view(connection, book), kind)
    except (RvsmlogError, OSError):
        return []
    return list(dict.fromkeys(getattr(each.record, field) for each in found))


def pilots_of(ctx: typer.Context, incomplete: str) -> list[str]:
    """Give the codes of the pilots on record."""
    from rvsmlog.records.operator import Pilot

    return _starting(_on_record(ctx, Pilot.kind, "code"), incomplete)


def routes_of(ctx: typer.Context, incomplete: str) -> list[str]:
    """Give the names of the route profiles on record."""
    from rvsmlog.records.routes import RouteProfile

    return _starting(_on_record(ctx, RouteProfile.kind, "name"), incomplete)


def one_of(known: Iterable[str]) -> Callable[[str], list[str]]:
    """Give what completes one word of a list."""
    words = tuple(known)
    return lambda incomplete: _starting(words, incomplete)


def rule_names(incomplete: str) -> list[str]:
    """Give the names of rules."""
    from rvsmlog.rules import RULES

    return _starting((rule.name for rule in RULES), incomplete)


def words_of(spec: FieldSpec) -> Callable[[str], list[str]] | None:
    """Give what completes a field of which the words are known; None for the others."""
    kind: Any = spec.type
    if isinstance(kind, Flag):
        known: tuple[str, ...] = ("yes", "no")
    elif isinstance(kind, Choice | Words):
        known = tuple(map(str, kind.words))
    else:
        return None

    def complete(incomplete: str) -> list[str]:
        before, comma, last = (
            incomplete.rpartition(",") if isinstance(kind, Words) else ("", "", incomplete)
        )
        named = before.split(",")
        return [f"{before}{comma}{word}" for word in _starting(known, last) if word not in named]

    return complete
