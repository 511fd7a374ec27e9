"""Which airframe bears which registration now, and its particulars."""

from collections.abc import Iterable
from difflib import get_close_matches

from sqlalchemy import Connection, text

from rvsmlog.errors import InputError, StoreError
from rvsmlog.facts import Logged
from rvsmlog.records.airframe import Airframe
from rvsmlog.store.encoding import stored_correction, stored_number
from rvsmlog.store.given import check_text
from rvsmlog.store.reading.books import Book, find_book
from rvsmlog.store.reading.reader import read, view


def registrations(connection: Connection) -> tuple[tuple[str, str], ...]:
    """Give the registration and the logbook of each airframe, by registration."""
    corrections = connection.execute(
        text("SELECT logbook_id, supersedes, number FROM entry WHERE supersedes IS NOT NULL")
    ).all()
    pairs = [(row[0], *stored_correction(row[1], row[2])) for row in corrections]
    corrected = {(book, number) for book, number, _ in pairs}
    corrects = {(book, later): number for book, number, later in pairs}
    newest: dict[str, tuple[int, str]] = {}
    rows = connection.execute(
        text(
            "SELECT d.logbook_id, d.number, d.registration, b.name FROM airframe_detail d "
            "JOIN logbook b ON b.id = d.logbook_id"
        )
    )
    for book_id, number, registration, name in rows:
        if not isinstance(registration, str):
            raise StoreError(
                f"the store is damaged: {name}#{number} bears the registration {registration!r}",
                "do not write to it; run `rvsmlog store verify` and restore the newest backup",
            )
        if (book_id, number) in corrected:
            continue
        first = stored_number(number)
        while (book_id, first) in corrects:
            first = corrects[book_id, first]
        newest[name] = max(newest.get(name, (0, "")), (first, registration))
    return tuple(sorted((registration, name) for name, (_, registration) in newest.items()))


def fleet_particulars(connection: Connection) -> tuple[Logged[Airframe], ...]:
    """Give the present particulars of each airframe, by registration."""
    found = []
    for _, name in registrations(connection):
        book = find_book(connection, name)
        if book is not None:
            newest = _particulars(connection, book)
            if newest is not None:
                found.append(newest)
    return tuple(found)


def find_airframe(connection: Connection, registration: str) -> Book:
    """Give the logbook of the airframe that bears a registration now.

    Raises
    ------
    InputError
        When none does; the hint names the nearest.
    """
    check_text(registration, "the registration")
    wanted = registration.strip().upper()
    exact = _bears_now(connection, wanted)
    if exact is not None:
        return exact
    bare = wanted.replace("-", "")
    known = registrations(connection)
    alike = (find_book(connection, name) for borne, name in known if borne.replace("-", "") == bare)
    only = _only(wanted, [book for book in alike if book is not None])
    if only is not None:
        return only
    near = get_close_matches(wanted, [borne for borne, _ in known], n=1, cutoff=0.5)
    if near:
        hint = f"did you mean {near[0]}?"
    elif known:
        hint = "airframes here: " + ", ".join(borne for borne, _ in known[:8])
    else:
        hint = "enter it with `rvsmlog airframe add`"
    raise InputError(f"no airframe bears the registration {wanted!r}", hint)


def _bears_now(connection: Connection, registration: str) -> Book | None:
    """Find an airframe by the exact registration, by the index on it."""
    names = connection.execute(
        text(
            "SELECT DISTINCT b.name FROM airframe_detail d JOIN logbook b ON b.id = d.logbook_id "
            "WHERE d.registration = :registration"
        ),
        {"registration": registration},
    ).scalars()
    bearing = []
    for name in names.all():
        book = find_book(connection, name)
        if book is not None:
            newest = _particulars(connection, book)
            if newest is not None and newest.record.registration == registration:
                bearing.append(book)
    return _only(registration, bearing)


def _particulars(connection: Connection, book: Book) -> Logged[Airframe] | None:
    """Give an airframe's present particulars."""
    found = read(connection, view(connection, book), Airframe.kind)
    return max(found, key=lambda logged: logged.first, default=None)


def _only(registration: str, bearing: list[Book]) -> Book | None:
    """Give the one airframe that is meant: a verdict on the wrong one would be worse than none."""
    if len(bearing) > 1:
        raise several_bear(registration, [book.name for book in bearing])
    return bearing[0] if bearing else None


def several_bear(registration: str, names: Iterable[str]) -> InputError:
    """Say that a registration does not name one airframe."""
    return InputError(
        f"several airframes bear the registration {registration!r}: " + ", ".join(names),
        "write it as on the aeroplane, hyphen and all; correct what is out of date",
    )
