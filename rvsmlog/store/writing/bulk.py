"""Many rows into one table: by COPY on a server, else by statements of many rows.

SQLite keeps what a statement changes aside until the statement is through, because a trigger may
still undo it. One statement for each row does that for each row, and costs more than twice as much
as one for a hundred. A thousand save little more, but while they run another thread can go on
undisturbed.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from itertools import chain
from sqlite3 import SQLITE_LIMIT_VARIABLE_NUMBER
from typing import Any

from sqlalchemy import Connection, text
from sqlalchemy.exc import DBAPIError

#: Rows of one statement, and values at the most. The driver keeps each statement for the next time:
#: those of a thousand rows are all alike, and those of other numbers of rows are small.
_ROWS, _VALUES = (1000, 100), 32_000
#: How long a server may take to hear that it shall stop.
_CANCEL_SECONDS = 5


def insert_rows(
    connection: Connection, table: str, columns: Sequence[str], rows: Sequence[tuple[Any, ...]]
) -> None:
    """Insert rows in their order; every trigger and check sees each of them.

    Parameters
    ----------
    connection : Connection
        In a write transaction.
    table : str
        The table.
    columns : sequence of str
        The columns that the rows give; the others stay empty.
    rows : sequence of tuple
        The values as the database keeps them.
    """
    if not rows:
        return
    driver: Any = connection.connection.driver_connection
    start = f"INSERT INTO {table} ({', '.join(columns)}) VALUES"
    # All as bare as it comes: what the library does for each statement is a tenth of the time.
    if connection.dialect.name == "sqlite":
        most = min(_VALUES, driver.getlimit(SQLITE_LIMIT_VARIABLE_NUMBER))
        _insert(driver.cursor(), start, rows, mark="?", most=most)
        return
    held = _held_by_policies(connection, table)
    with _told_by_the_library(connection, start), driver.cursor() as cursor:
        if held:
            _insert(cursor, start, rows, mark="%s", most=_VALUES)
        else:
            _copy(cursor, f"COPY {table} ({', '.join(columns)}) FROM STDIN", rows)


def hang_up(driver: Any) -> None:
    """Break a driver's line to a server, so that whatever waits for its answer fails.

    The server is asked first to stop what it does. It takes back what was not committed.
    """
    import socket  # here only: a store on SQLite needs neither

    import psycopg

    with suppress(OSError, psycopg.Error):
        driver.cancel_safe(timeout=_CANCEL_SECONDS)
    with (
        suppress(OSError, psycopg.Error),  # it is broken already
        # The driver goes on with its own end, and finds the line dead.
        socket.fromfd(driver.fileno(), socket.AF_INET, socket.SOCK_STREAM) as line,
    ):
        line.shutdown(socket.SHUT_RDWR)


def _held_by_policies(connection: Connection, table: str) -> bool:
    """Say whether a server holds each row against policies for this login, and takes no COPY."""
    query = text("SELECT row_security_active(:table)")
    return bool(connection.execute(query, {"table": table}).scalar_one())


@contextmanager
def _told_by_the_library(connection: Connection, statement: str) -> Iterator[None]:
    """Raise a server's errors as the library would, which makes all others plain."""
    import psycopg  # here only, too

    try:
        yield
    except psycopg.Error as error:
        driver: Any = connection.connection.driver_connection
        if driver.closed:  # or rolling back would say of it that it is lost, and no more
            connection.invalidate(error)
        raise DBAPIError(statement, None, error) from error


def _insert(
    cursor: Any, start: str, rows: Sequence[tuple[Any, ...]], *, mark: str, most: int
) -> None:
    """Insert some rows with each statement, of so many values at the most."""
    width, at = len(rows[0]), 0
    one = f"({', '.join([mark] * width)})"
    for wanted in _ROWS:
        step = max(1, min(wanted, most // width))
        whole = f"{start} {', '.join([one] * step)}"
        while len(rows) - at >= step:
            cursor.execute(whole, tuple(chain.from_iterable(rows[at : at + step])))
            at += step
    if at < len(rows):
        rest = f"{start} {', '.join([one] * (len(rows) - at))}"
        cursor.execute(rest, tuple(chain.from_iterable(rows[at:])))


def _copy(cursor: Any, statement: str, rows: Sequence[tuple[Any, ...]]) -> None:
    """Send rows by the protocol that a server has for many of them."""
    with cursor.copy(statement) as copy:
        for row in rows:
            copy.write_row(row)
