"""Options that many commands share, and how a command opens the store and names its author."""

import getpass
import os
from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer

from rvsmlog.cli.completing import one_of, pilots_of, registrations_of
from rvsmlog.cli.stopping import OPENED, leave_quietly
from rvsmlog.dates import now, parse_instant
from rvsmlog.errors import InputError
from rvsmlog.standards.regions import REGIONS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from rvsmlog.facts import Facts, NotJudged
    from rvsmlog.records.base import RecordKind
    from rvsmlog.store.connection import Store

T = TypeVar("T")

#: Exit status where an airframe of several cannot be judged: that of a check of it alone.
NOT_JUDGED_STATUS = 3
#: Environment variable that names who records.
AUTHOR_VARIABLE = "RVSMLOG_BY"

StoreOption = Annotated[
    str | None,
    typer.Option(
        "--store",
        metavar="WHERE",
        help="Store: a file or URL (or set RVSMLOG_STORE).",
        show_default=False,
    ),
]
AuthorOption = Annotated[
    str | None,
    typer.Option(
        "--by",
        metavar="NAME",
        help="Who records (or set RVSMLOG_BY; else the login name).",
        show_default=False,
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Answer in JSON.")]
Registration = Annotated[
    str,
    typer.Argument(
        metavar="REG", help="Registration of the airframe.", autocompletion=registrations_of
    ),
]
#: For what asks about one airframe or all of them.
RegistrationOrFleet = Annotated[
    str | None,
    typer.Argument(
        metavar="[REG]",
        help="Registration; without it, the fleet.",
        autocompletion=registrations_of,
    ),
]
AtOption = Annotated[
    str | None,
    typer.Option("--at", metavar="INSTANT", help="As of when, ISO 8601 with Z or an offset."),
]
ForWhenOption = Annotated[
    str | None,
    typer.Option("--at", metavar="INSTANT", help="For when, ISO 8601 with Z or an offset."),
]
LevelOption = Annotated[
    str | None,
    typer.Option("--level", metavar="LEVEL", help="Planned flight level, 310 or FL310."),
]
RegionOption = Annotated[
    str | None,
    typer.Option(
        "--region",
        metavar="CODE",
        help=f"Region of the flight: {', '.join(REGIONS)} (ALL: wherever it may lead).",
        autocompletion=one_of(REGIONS),
    ),
]
PilotOption = Annotated[
    str | None,
    typer.Option("--pilot", metavar="CODE", help="The pilot's code.", autocompletion=pilots_of),
]


def kind_option(does: str, kinds: "Iterable[RecordKind]") -> Any:
    """Describe the option that picks one of a noun's kinds of entry."""
    names = [str(kind.name) for kind in kinds]
    return typer.Option(
        "--kind",
        metavar="KIND",
        help=f"{does}: {', '.join(names)}.",
        show_default=False,
        autocompletion=one_of(names),
    )


def said(option: str, text: str | None, read: Callable[[str], T]) -> T | None:
    """Read what an option says, if it was given; see :func:`understood_as`."""
    return None if text is None else understood_as(option, text, read)


def understood_as(option: str, text: str, read: Callable[[str], T]) -> T:
    """Read what an option says.

    Raises
    ------
    InputError
        When it makes no sense; the option is named.
    """
    try:
        return read(text)
    except InputError as error:
        raise InputError(f"{option}: {error.message}", error.hint) from None


def opened(where: str | None) -> "Store":
    """Open the store named by the option, the environment, or the user's data folder."""
    from rvsmlog.store.connection import open_store

    leave_quietly()
    store = open_store(where)
    OPENED.append(store)
    return store


def instant_of(store: "Store", at: str | None, registration: str) -> datetime:
    """Give the instant that an airframe is asked about; now where none is named.

    As for a check, its own logbook and the operator's must not say that the clock is wrong; those
    of other airframes are not looked at.
    """
    from rvsmlog.store.reading.airframes import find_airframe
    from rvsmlog.store.writing.clock import believed, check_possible

    with store.reading() as connection:
        name = find_airframe(connection, registration).name
        check_possible(connection, name)
        instant = said("--at", at, parse_instant)
        return believed(connection, now(), name) if instant is None else instant


def fleet_of(store: "Store", at: str | None) -> tuple[datetime, "Iterator[Facts | NotJudged]"]:
    """Give the instant that is asked about, and the fleet as of then; now where none is named."""
    from rvsmlog.store.writing.fleet import each_airframe

    present, instant = now(), said("--at", at, parse_instant)
    return instant or present, each_airframe(store, instant, present)


def author(by: str | None) -> str:
    """Give who records.

    Raises
    ------
    InputError
        When nobody is named and the machine does not know its user.
    """
    named = (by or os.environ.get(AUTHOR_VARIABLE, "")).strip()
    if named:
        return named
    try:
        return getpass.getuser()
    except (OSError, KeyError):
        raise InputError("who records is not known", "name yourself with --by") from None
