"""One altitude deviation with what its report needs."""

from dataclasses import replace

from rvsmlog.answers.deviation_report import DeviationReport, deviation_report
from rvsmlog.errors import InputError
from rvsmlog.facts import DeviationCase
from rvsmlog.records.flights import Closure, Deviation
from rvsmlog.records.operator import Operator
from rvsmlog.store.connection import Store
from rvsmlog.store.given import check_number
from rvsmlog.store.reading.airframes import find_airframe
from rvsmlog.store.reading.books import OPERATOR, find_book, seal
from rvsmlog.store.reading.lookup import particulars
from rvsmlog.store.reading.reader import read, view


def report_of(store: Store, registration: str, number: int) -> DeviationReport:
    """Put together the report of one deviation.

    Parameters
    ----------
    store : Store
        Open.
    registration : str
        The airframe.
    number : int
        Number of the deviation's entry, first made or corrected.

    Raises
    ------
    InputError
        When there is no such deviation.
    """
    with store.reading() as connection:
        book = find_airframe(connection, registration)
        seen = view(connection, book)
        check_number(number, book.name)
        found = {logged.first: logged for logged in read(connection, seen, Deviation.kind)}
        logged = found.get(seen.first_made(number))
        if logged is None:
            known = ", ".join(f"#{each}" for each in sorted(found)) or "none"
            raise InputError(
                f"{book.name}#{number} is no standing altitude deviation", f"there are: {known}"
            )
        sealed = seal(connection, book)
        closures = read(connection, seen, Closure.kind)
        closure = next((each for each in closures if each.record.deviation == logged.first), None)
        airframe = particulars(connection, registration).record
        crew = find_book(connection, OPERATOR)
        named = read(connection, view(connection, crew), Operator.kind) if crew else ()
    operator = max(named, key=lambda each: each.first).record if named else None
    made = deviation_report(DeviationCase(deviation=logged, closure=closure), airframe, operator)
    return replace(made, seal=sealed)
