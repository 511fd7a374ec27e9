"""Many rows into one table: by COPY on a server, else by statements of many rows.

SQLite keeps what a statement changes aside until the statement is through, because a trigger may
still undo it. One statement for each row does that for each row, and costs more than twice as much
as one for a hundred. A thousand save little more, but while they run another thread can go on
undisturbed.
"""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from itertools import chain
from sqlite3 import SQLITE_LIMIT_VARIABLE_NUMBER
from typing import Any

from sqlalchemy import Connection, text
from sqlalchemy.exc import DBAPIError

from rvsmlog.store.server_errors import is_line_lost

#: Rows of one statement, and values at the most. The driver keeps each statement for the next time:
#: those of a thousand rows are all alike, and those of other numbers of rows are small.
_ROWS, _VALUES = (1000, 100), 32_000
#: How long a server may take to hear that it shall stop.
_CANCEL_SECONDS = 5
Rows = Sequence[tuple[Any, ...]]

#: What COPY reads as the end of a value or a row, or as the beginning of such a thing.
_ESCAPED = str.maketrans({"\\": r"\\", "\t": r"\t", "\n": r"\n", "\r": r"\r"})


def takes_copy(connection: Connection, table: str) -> bool:
    """Say whether rows go into a table by COPY.

    SQLite has none, and a server refuses it where it holds each row against policies for the login.
    """
    if connection.dialect.name == "sqlite":
        return False
    query = text("SELECT row_security_active(:table)")
    return not connection.execute(query, {"table": table}).scalar_one()


def copy_lines(columns: Iterable[Sequence[Any]]) -> str:
    """Write rows, given by columns, as the lines that COPY reads: its text format."""
    lines = map("\t".join, zip(*map(_texts, columns), strict=True))
    return "\n".join((*lines, ""))


def _texts(column: Sequence[Any]) -> Iterator[str]:
    """Write the values of a column, all of one type: each of them once."""
    known = {value: _text(value) for value in set(column)}
    if any(isinstance(value, float) for value in known):
        return map(_text, column)  # 0.0 and -0.0 are one key
    return map(known.__getitem__, column)


def _text(value: Any) -> str:
    """Write a value as COPY reads it."""
    if value is None:
        return r"\N"
    if isinstance(value, str):
        return value.translate(_ESCAPED)
    return rf"\\x{value.hex()}" if isinstance(value, bytes) else repr(value)


def insert_rows(
    connection: Connection, table: str, columns: Sequence[str], rows: Rows | str
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
    rows : sequence of tuple, or str
        The values as the database keeps them; or lines of :func:`copy_lines`, where the table
        takes them (:func:`takes_copy`).
    """
    if not rows:
        return
    driver: Any = connection.connection.driver_connection
    start = f"INSERT INTO {table} ({', '.join(columns)}) VALUES"
    # All as bare as it comes: what the library does for each statement is a tenth of the time.
    if not isinstance(rows, str) and connection.dialect.name == "sqlite":
        most = min(_VALUES, driver.getlimit(SQLITE_LIMIT_VARIABLE_NUMBER))
        _insert(driver.cursor(), start, rows, mark="?", most=most)
        return
    copied = isinstance(rows, str) or takes_copy(connection, table)
    with _told_by_the_library(connection, start), driver.cursor() as cursor:
        if copied or isinstance(rows, str):
            _copy(cursor, f"COPY {table} ({', '.join(columns)}) FROM STDIN", rows)
        else:
            _insert(cursor, start, rows, mark="%s", most=_VALUES)


def settle(connection: Connection) -> None:
    """Have a server do now what it puts off until commit, for all that was written till now."""
    driver: Any = connection.connection.driver_connection
    statement = "SET CONSTRAINTS ALL IMMEDIATE; SET CONSTRAINTS ALL DEFERRED"
    with _told_by_the_library(connection, statement):
        driver.execute(statement)


def hang_up(driver: Any) -> None:
    """Break a driver's line to a server, so that whatever waits for its answer fails.

    The server is asked first to stop what it does. It takes back what was not committed. Who does
    not wait for that, and presses Ctrl-C again, has the line broken all the same.
    """
    import socket  # here only: a store on SQLite needs neither

    import psycopg

    try:
        with suppress(OSError, psycopg.Error):
            driver.cancel_safe(timeout=_CANCEL_SECONDS)
    finally:
        with (
            suppress(OSError, psycopg.Error),  # it is broken already
            # The driver goes on with its own end, and finds the line dead.
            socket.fromfd(driver.fileno(), socket.AF_INET, socket.SOCK_STREAM) as line,
        ):
            line.shutdown(socket.SHUT_RDWR)


@contextmanager
def _told_by_the_library(connection: Connection, statement: str) -> Iterator[None]:
    """Raise a server's errors as the library would, which makes all others plain."""
    import psycopg  # here only, too

    try:
        yield
    except psycopg.Error as error:
        driver: Any = connection.connection.driver_connection
        # Or rolling back would say of it that it is lost, and no more.
        if driver.closed or is_line_lost(error):
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


def _copy(cursor: Any, statement: str, rows: Rows | str) -> None:
    """Send rows by the protocol that a server has for many of them."""
    with cursor.copy(statement) as copy:
        if isinstance(rows, str):
            copy.write(rows)
        else:
            for row in rows:
                copy.write_row(row)
