"""Who may record what, by the operator's list of people as it stands.

As long as nobody stands on it, everybody may record everything. The list always has a controller
without a last day, so that somebody can change it.
"""

import unicodedata
from collections.abc import Iterable
from datetime import date, datetime
from difflib import get_close_matches

from sqlalchemy import Connection, text

from rvsmlog.dates import local_day
from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.records.base import FieldError
from rvsmlog.records.kinds import KIND
from rvsmlog.records.people import (
    CONTROLLER,
    CREW,
    CREW_OWN,
    MAY_RECORD,
    ROLES,
    TRANSFER,
    Person,
)
from rvsmlog.store.reading.books import OPERATOR
from rvsmlog.store.reading.facts_reader import operator_zone

_CALLED = {"crew": "the crew", "controller": "a controller", "releaser": "a releaser"}
#: Characters that show nothing: zero-width ones, and those that turn the direction of writing.
_UNSEEN = ("Cf", "Cc", "Zl", "Zp")
_STANDING = (
    "SELECT d.number, d.name, d.may, d.valid_until, d.database_role FROM person_detail d "
    "WHERE NOT EXISTS (SELECT 1 FROM entry c WHERE c.logbook_id = d.logbook_id "
    "AND c.supersedes = d.number) ORDER BY d.number"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """One person as the list stands."""

    number: int
    name: str
    may: tuple[str, ...]
    valid_until: date | None
    database_role: str | None

    @property
    def keeps_the_list(self) -> bool:
        """Whether this person may change the list for good."""
        return _keeps_the_list(self.may, self.valid_until)


def _keeps_the_list(may: Iterable[str], valid_until: date | None) -> bool:
    return CONTROLLER in may and valid_until is None


def standing(connection: Connection) -> tuple[Listed, ...]:
    """Give the people who stand on the list, in the order of their entries."""
    return tuple(
        Listed(
            number=number,
            name=name,
            may=tuple(may.split(",")),
            valid_until=None if until is None else date.fromisoformat(until),
            database_role=role,
        )
        for number, name, may, until, role in connection.execute(text(_STANDING))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """Why something is not recorded, and what to do about it."""

    says: str
    hint: str


@dataclass(frozen=True, slots=True, kw_only=True)
class People:
    """The list as one transaction finds it, and who is connected.

    Parameters
    ----------
    listed : tuple of Listed
        Everybody on the list.
    login : str or None
        The login on a server, where anybody on the list names one and it is not the owner's.
    today : date or None
        The operator's day, where anybody on the list has a last one.
    """

    listed: tuple[Listed, ...]
    login: str | None = None
    today: date | None = None

    def why_not(self, name: str, wanted: str, of: str | None = None) -> Why | None:
        """Say why somebody may not record something; None where it is allowed.

        Parameters
        ----------
        name : str
            Who records.
        wanted : str
            A kind of record, or a transfer.
        of : str, optional
            Who recorded what is to be corrected or struck out.
        """
        if not self.listed:
            return None
        person = next((each for each in self.listed if each.name == name), None)
        if person is None:
            near = get_close_matches(name, [each.name for each in self.listed], n=1)
            return Why(
                says=f"{name} is not on the operator's list of people",
                hint=f"did you mean --by {near[0]!r}?"
                if near
                else "give --by as `rvsmlog operator list` has it",
            )
        return (
            self._other_login(person)
            or self._too_late(person)
            or _other_role(person, wanted)
            or _of_another(person, wanted, of)
        )

    def bound(self) -> Listed | None:
        """Give the person whose login is connected, if anybody's is."""
        if self.login is None:
            return None
        return next((each for each in self.listed if each.database_role == self.login), None)

    def signs(self, name: str) -> str:
        """Give the name under which a refusal is put on record: on a server that of the login."""
        bound = self.bound()
        if bound is not None:
            return bound.name
        of_another = any(each.name == name and each.database_role for each in self.listed)
        return self.login if self.login is not None and of_another else name

    def _other_login(self, person: Listed) -> Why | None:
        """Hold the name against the login on a server."""
        bound = self.bound()
        if bound is not None and bound.name != person.name:
            return Why(
                says=f"the login {self.login} is {bound.name}, not {person.name}",
                hint=f"record with --by {bound.name!r}",
            )
        if self.login is not None and person.database_role not in (None, self.login):
            return Why(
                says=f"{person.name} records by a login of their own, not by {self.login}",
                hint="connect as the login that the list names",
            )
        return None

    def _too_late(self, person: Listed) -> Why | None:
        """Hold the last day against today."""
        if person.valid_until is None or self.today is None or self.today <= person.valid_until:
            return None
        return Why(
            says=f"{person.name} might record till {person.valid_until}, and it is {self.today}",
            hint="a controller corrects the last day with `rvsmlog operator allow --corrects "
            f"{person.number}`",
        )


def _other_role(person: Listed, wanted: str) -> Why | None:
    """Hold what somebody records as against what is to be recorded."""
    roles = MAY_RECORD[wanted]
    if set(roles) & set(person.may):
        return None
    what = "take logbooks in" if wanted == TRANSFER else f"record: {KIND[wanted].title}"
    return Why(
        says=f"{person.name} ({', '.join(person.may)}) may not {what}",
        hint="recorded by " + " or ".join(_CALLED[role] for role in roles),
    )


def _of_another(person: Listed, wanted: str, of: str | None) -> Why | None:
    """Hold who recorded what is to be corrected against the crew: they may not release."""
    if of in (None, person.name) or wanted not in CREW_OWN or person.may != (CREW,):
        return None
    return Why(
        says=f"{person.name} ({CREW}) may not change what {of} recorded: {KIND[wanted].title}",
        hint="corrected or struck out by who recorded it, or by "
        + " or ".join(_CALLED[role] for role in MAY_RECORD[wanted] if role != CREW),
    )


def people(connection: Connection, now: datetime) -> People:
    """Read the list, and what it is held against."""
    listed = standing(connection)
    if not listed:
        return People(listed=())
    bound = connection.dialect.name == "postgresql" and any(each.database_role for each in listed)
    login = _login(connection) if bound else None
    ends = any(each.valid_until for each in listed)
    today = local_day(now, operator_zone(connection)) if ends else None
    return People(listed=listed, login=login, today=today)


def _login(connection: Connection) -> str | None:
    """Give the login on a server; None for the owner of the store's tables.

    The owner is bound by nothing that the server holds against others, and so can enter the list
    before the logins are there, and mend it when one has gone.
    """
    login, owns = connection.execute(
        text(
            "SELECT session_user, pg_has_role(session_user, relowner, 'MEMBER') FROM pg_class "
            "WHERE oid = 'entry'::regclass"
        )
    ).one()
    return None if owns else str(login)


def check_person(
    connection: Connection, record: Person, supersedes: int | None, *, anew: bool
) -> None:
    """Check that somebody may be entered, or corrected so.

    Parameters
    ----------
    connection, record, supersedes
        What is entered, and where.
    anew : bool
        Whether it is entered now; one made earlier, or elsewhere, keeps its name.

    Raises
    ------
    FieldError
        When the name or the login stands on the list already, the name cannot be told from
        another by eye, or no controller would be left who may change the list for good.
    """
    others = [each for each in standing(connection) if each.number != supersedes]
    for each in others:
        for field in ("name", "database_role"):
            value = getattr(record, field)
            if value is not None and value == getattr(each, field):
                raise FieldError(
                    field,
                    f"{value} is on the list already, {OPERATOR}#{each.number}",
                    f"correct that entry: --corrects {each.number} --reason TEXT",
                )
    if anew:
        check_name(record, others)
    if not (_keeps_the_list(record.may, record.valid_until) or _kept(others)):
        field = "may" if CONTROLLER not in record.may else "valid_until"
        raise FieldError(
            field,
            "the list must have a controller without a last day, or nobody could change it",
            "enter the controller first" if not others else "enter another controller first",
        )


def check_name(record: Person, others: Iterable[Listed]) -> None:
    """Check that a name new on the list is told from every other by eye, and its login is one.

    Raises
    ------
    FieldError
        When the name holds what does not show, or reads like another; or when the login is no
        person's but a role of the server's or of rvsmlog's own.
    """
    unseen = next((each for each in record.name if unicodedata.category(each) in _UNSEEN), None)
    if unseen is not None:
        raise FieldError(
            "name",
            f"the name holds U+{ord(unseen):04X}, which does not show",
            "write it in one line, as it is read",
        )
    for each in others:
        if _as_read(each.name) == _as_read(record.name) and each.name != record.name:
            raise FieldError(
                "name",
                f"{record.name} reads like {each.name}, {OPERATOR}#{each.number}",
                "add what tells the two apart, or correct that entry: "
                f"--corrects {each.number} --reason TEXT",
            )
    login = record.database_role or ""
    if login.startswith("pg_") or login in {f"rvsmlog_{role}" for role in ROLES}:
        raise FieldError(
            "database_role", f"{login} is a group role, no login", "name the person's own login"
        )


def _as_read(name: str) -> str:
    """Give a name without what hardly shows: case, width, blanks, marks that have no width."""
    shown = "".join(each for each in name if unicodedata.category(each) not in _UNSEEN)
    return " ".join(unicodedata.normalize("NFKC", shown).casefold().split())


def check_leaves(connection: Connection, number: int) -> None:
    """Check that somebody may be struck off the list.

    Raises
    ------
    InputError
        When no controller would be left who may change it for good.
    """
    others = [each for each in standing(connection) if each.number != number]
    if not _kept(others):
        raise InputError(
            f"{OPERATOR}#{number} is the last controller on the list without a last day",
            "enter another one first with `rvsmlog operator allow`",
        )


def _kept(listed: Iterable[Listed]) -> bool:
    return any(each.keeps_the_list for each in listed)
