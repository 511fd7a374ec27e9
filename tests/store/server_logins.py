"""A store on a server with people, and logins for them."""
# ruff: noqa: S608 - the statements are the tests' own

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import make_url

from rvsmlog.records.kinds import KIND
from rvsmlog.store.connection import Store, open_store
from rvsmlog.store.writing.recording import record_entry

if TYPE_CHECKING:
    from tests.store.conftest import Log


TODAY = date(2027, 3, 14)
PEOPLE = (
    ("A. Example", "controller", "t_ctl"),
    ("C. Example", "crew", "t_crew"),
    ("R. Example", "releaser", "t_rel"),
    ("S. Example", "crew", ""),
)


class Server:
    """A store on a server with people, their logins, and ways to come as one of them."""

    def __init__(self, url: str, log: "Log") -> None:
        self.url = make_url(url)
        self.log = log

    def as_login(self, login: str) -> str:
        """Give the store's URL for a login."""
        return self.url.set(username=login).render_as_string(hide_password=False)

    def run(self, login: str, *statements: str) -> None:
        """Run statements past rvsmlog, in one transaction."""
        import psycopg

        with psycopg.connect(
            host=str(self.url.query["host"]), dbname=self.url.database, user=login
        ) as connection:
            for statement in statements:
                connection.execute(statement.encode())
            # Here, where a refusal still closes the connection.
            connection.commit()

    def refuses(self, login: str, says: str, *statements: str) -> None:
        """Run statements that the server itself refuses."""
        import psycopg

        before = self.log.count()
        with pytest.raises(psycopg.errors.InsufficientPrivilege, match=says):
            self.run(login, *statements)
        assert self.log.count() == before

    def entry(self, kind: str, by: str, supersedes: int | None = None) -> str:
        """Write an INSERT of the next entry of the airframe's logbook."""
        number = self.log.count("entry WHERE logbook_id = 2") + 1
        reason = "NULL" if supersedes is None else "'why'"
        return (
            "INSERT INTO entry VALUES "
            f"(2, {number}, '{kind}', {4 * 10**15}, '{by}', {supersedes or 'NULL'}, {reason}, '')"
        )

    @contextmanager
    def opened(self, login: str) -> Iterator[Store]:
        """Open the store as a login."""
        with open_store(self.as_login(login)) as store:
            yield store

    def record(self, login: str, by: str, kind: str, **texts: str) -> int:
        """Record a sample through rvsmlog."""
        with self.opened(login) as store:
            ref, _ = record_entry(
                store,
                KIND[kind],
                {**self.log.samples[kind], **texts},
                by=by,
                clock=self.log.clock,
                registration="QX-ABC" if kind != "person" else None,
            )
        return ref.entry
