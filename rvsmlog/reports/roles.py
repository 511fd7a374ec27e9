"""The group roles on a server and who is in them, on the screen and as JSON."""

from collections.abc import Iterator, Mapping
from typing import Any

from rvsmlog.records.people import ROLES
from rvsmlog.reports.text import Line, table, wrap
from rvsmlog.store.writing.roles import Member, Roles, group


def roles_lines(made: Roles) -> Iterator[Line]:
    """Lay out what was done, who is in which group, and what is left to do."""
    yield from wrap("made " + ", ".join(group(role) for role in ROLES), style="bold")
    if not made.members:
        yield from wrap(
            "Nobody is in them yet. Name each person's login with `rvsmlog operator allow "
            "--database-role`, or grant the roles by hand."
        )
        return
    yield Line("")
    rows = [
        (each.login, each.name or "nobody on the list", ", ".join(each.groups) or _none(each))
        for each in made.members
    ]
    yield from table(rows, ("login", "person", "records as"))


def _none(member: Member) -> str:
    return "nothing" if member.there else "no such login; make it, and run this again"


def roles_object(made: Roles) -> Mapping[str, Any]:
    """Give the same as JSON has it."""
    return {
        "roles": [group(role) for role in ROLES],
        "logins": [
            {
                "login": each.login,
                "name": each.name,
                "there": each.there,
                "records_as": each.groups,
            }
            for each in made.members
        ],
        "statements": made.statements,
    }
