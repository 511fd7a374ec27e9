"""What a PostgreSQL server says when something is wrong, in plain words with what mends it.

A server gives most faults a code of five characters (the SQLSTATE of its manual's appendix A);
those of a connection that never came about have none, and are known by their text.
"""

from collections.abc import Mapping
from types import MappingProxyType

from rvsmlog.errors import LOOK_FIRST, LostTableError, StoreError
from rvsmlog.store.shape import NAME_ANOTHER

_AGAIN = "nothing was written; do the same once more"
_STOPPED = (
    "nothing was written; ask whoever runs the server for more time: statement_timeout, "
    "transaction_timeout, idle_in_transaction_session_timeout"
)
_ACCESS = "ask whoever runs the server which role and database are meant for the log"
_KEEP = "keep the password in ~/.pgpass, readable by you alone, or name its file with PGPASSFILE"

#: By SQLSTATE: what the store does, and what to do.
_BY_CODE: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "40001": ("was written to by another program at the same moment", _AGAIN),
        "40P01": ("was written to by another program at the same moment", _AGAIN),
        "55P03": ("is in use by another program", "try again when the other program has ended"),
        "25006": ("is read-only", "name the main server, not a copy that follows it"),
        "53100": (
            "could not be written: the server's disk is full",
            "free some room there; nothing was written",
        ),
        "53200": ("could not be used: the server is out of memory", "try again later"),
        "53300": ("cannot be opened: the server has too many connections", "try again later"),
        "57014": ("stopped what was asked for before it was done", _STOPPED),
        "25P03": ("was closed by the server: it waited too long for the next statement", _STOPPED),
        "25P04": ("was closed by the server: the transaction took too long", _STOPPED),
        "57P01": ("was closed: the server is being stopped", "nothing was written; try later"),
        "57P03": ("cannot be opened yet: the server is starting", "try again in a moment"),
    }
)
_NO_TABLE = "42P01"
#: By what a failed connection says.
_BY_TEXT: tuple[tuple[str, str, str], ...] = (
    ("no password supplied", "cannot be opened: the server wants a password", _KEEP),
    ("password authentication failed", "cannot be opened: user or password is wrong", _KEEP),
    ("no pg_hba.conf entry", "cannot be opened: the server does not let this user in", _ACCESS),
    (
        "peer authentication failed",
        "cannot be opened: the server does not let this user in",
        _ACCESS,
    ),
    (
        "connection refused",
        "cannot be reached: no server answers there",
        "is it running? check host and port",
    ),
    (
        "no such file or directory",
        "cannot be reached: no server answers there",
        "is it running? check host and port",
    ),
    ("timeout", "cannot be reached: no answer in time", "check host, port and the network"),
    ("resolve host", "cannot be reached: no host of that name", "check the host's name"),
    (
        "name or service not known",
        "cannot be reached: no host of that name",
        "check the host's name",
    ),
    ("server closed the connection", "was closed by the server", "nothing was written; try again"),
    (
        "ssl",
        "cannot be opened: no encrypted connection",
        "check sslmode in the URL, and the server's certificate",
    ),
)


def is_line_lost(error: BaseException | None) -> bool:
    """Whether an error tells of a line that broke: no word of the server's, so no code.

    Parameters
    ----------
    error : BaseException or None
        What the driver raised.
    """
    if not type(error).__module__.startswith("psycopg"):
        return False
    from psycopg import OperationalError  # here only: it is loaded already

    return isinstance(error, OperationalError) and error.sqlstate is None


def is_unheard(error: StoreError) -> bool:
    """Whether a commit failed without a word of the server's, so that it may have been done.

    Parameters
    ----------
    error : StoreError
        Raised by the commit.
    """
    fault = error.__cause__
    return is_line_lost(getattr(fault, "orig", fault))


def unheard(where: str) -> StoreError:
    """Say that no answer came to a commit."""
    says = f"the store {where} gave no answer while it was being recorded: it may be on record"
    return StoreError(says, LOOK_FIRST)


def explain_server(error: BaseException | None, where: str) -> StoreError | None:
    """Put a server's fault in plain words; None where it is no known one.

    Parameters
    ----------
    error : BaseException or None
        What the driver raised.
    where : str
        How messages call the store.
    """
    if not type(error).__module__.startswith("psycopg"):
        return None
    said = str(error).lower()
    code: str | None = getattr(error, "sqlstate", None)
    if code == _NO_TABLE:
        return LostTableError(f"{where} is no rvsmlog store", NAME_ANOTHER)
    if code is not None and code in _BY_CODE:
        what, hint = _BY_CODE[code]
        return StoreError(f"the store {where} {what}", hint)
    if "fatal:" in said and "does not exist" in said:
        what = "role" if 'role "' in said else "database"
        return StoreError(
            f"the store {where} cannot be opened: the server has no such {what}",
            "make it as the README says under PostgreSQL, or check the URL",
        )
    if code is None:
        for mark, what, hint in _BY_TEXT:
            if mark in said:
                return StoreError(f"the store {where} {what}", hint)
    return None
