"""Many rows into one table: by COPY on a server, by statements of many rows on SQLite.

SQLite keeps what a statement changes aside until the statement is through, because a trigger may
still undo it. One statement for each row does that for each row, and costs more than twice as much
as one for a hundred.
"""

from collections.abc import Sequence
from itertools import chain
from sqlite3 import SQLITE_LIMIT_VARIABLE_NUMBER
from typing import Any

from sqlalchemy import Connection, text
from sqlalchemy.exc import DBAPIError

#: Rows and values of one statement; more of them save no more time.
_ROWS, _VALUES = 100, 3000


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
    if connection.dialect.name == "sqlite":
        _insert(connection, f"INSERT INTO {table} ({', '.join(columns)}) VALUES", rows)
    elif _held_one_by_one(connection, table):
        marks = ", ".join(["%s"] * len(columns))
        connection.exec_driver_sql(
            f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})", list(rows)
        )
    else:
        _copy(connection, f"COPY {table} ({', '.join(columns)}) FROM STDIN", rows)


def _held_one_by_one(connection: Connection, table: str) -> bool:
    """Say whether a server holds each row against policies for this login, and takes no COPY."""
    query = text("SELECT row_security_active(:table)")
    return bool(connection.execute(query, {"table": table}).scalar_one())


def _insert(connection: Connection, start: str, rows: Sequence[tuple[Any, ...]]) -> None:
    """Insert some rows with each statement."""
    driver: Any = connection.connection.driver_connection
    width = len(rows[0])
    most = min(_VALUES, driver.getlimit(SQLITE_LIMIT_VARIABLE_NUMBER))
    step = max(1, min(_ROWS, most // width))
    one = f"({', '.join('?' * width)})"
    whole = f"{start} {', '.join([one] * step)}"
    cursor = driver.cursor()
    for at in range(0, len(rows), step):
        some = rows[at : at + step]
        statement = whole if len(some) == step else f"{start} {', '.join([one] * len(some))}"
        # As bare as it comes: what the library does for each statement is a tenth of the time.
        cursor.execute(statement, tuple(chain.from_iterable(some)))


def _copy(connection: Connection, statement: str, rows: Sequence[tuple[Any, ...]]) -> None:
    """Send rows by the protocol that a server has for many of them."""
    driver: Any = connection.connection.driver_connection
    import psycopg  # here only: a store on SQLite needs no driver of a server

    try:
        with driver.cursor() as cursor, cursor.copy(statement) as copy:
            for row in rows:
                copy.write_row(row)
    except psycopg.Error as error:
        # As if it had come through the library that makes all other errors plain.
        raise DBAPIError(statement, None, error) from error
