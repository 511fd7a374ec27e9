"""What all pages share: one template engine, one style, and how a page comes to its place.

A page is one file. It fetches nothing: its content policy forbids that to the browser too. Text
that came from a person is escaped for HTML by the engine, and its control and formatting
characters are made visible, so that it can neither steer the page nor turn its letters about.
"""

import re
from collections.abc import Mapping
from datetime import date, datetime
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup
from markupsafe import escape as html_escape

from rvsmlog import __version__
from rvsmlog.dates import show_instant
from rvsmlog.errors import InputError
from rvsmlog.reports.text import escape
from rvsmlog.reports.verdict_screen import level_text
from rvsmlog.store.files import behind, put_text
from rvsmlog.verdict import CAUTION

_FOLDER = Path(__file__).parent / "templates"
_CODE = re.compile(r"`([^`]+)`")
#: How far into a file the mark of a page is looked for, bytes.
_HEAD = 4096


@cache
def _engine() -> Environment:
    """Set up the template engine once."""
    engine = Environment(
        loader=FileSystemLoader(_FOLDER),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_shown,
    )
    engine.filters["level"] = level_text
    engine.filters["commands"] = commands
    engine.globals["raw_file"] = _raw_file
    return engine


def _shown(value: Any) -> Any:
    """Write a value of a template: instants in UTC, days by ISO 8601, text made visible."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        return show_instant(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Markup):
        return value
    return escape(value) if isinstance(value, str) else value


def commands(text: str) -> Markup:
    """Set what stands between backticks, a command to type, in the letters of code."""
    safe = str(html_escape(_shown(text)))
    return Markup(_CODE.sub(r"<code>\1</code>", safe))  # noqa: S704  # escaped just before


def _raw_file(name: str) -> Markup:
    """Give a file of the templates' folder as it is: a style or a script of our own."""
    return Markup((_FOLDER / name).read_text(encoding="utf-8"))  # noqa: S704  # our own file


def fill(template: str, values: Mapping[str, Any]) -> str:
    """Fill a template that is a part of a page, or a file by itself.

    Parameters
    ----------
    template : str
        File name in the templates' folder.
    values : mapping
        What it asks for.
    """
    return _engine().get_template(template).render(**values)


def render(template: str, kind: str, values: Mapping[str, Any]) -> str:
    """Fill a template.

    Parameters
    ----------
    template : str
        File name in the templates' folder; it extends ``base.html``.
    kind : str
        Which page it is, for example ``dossier``; stands in the page as its mark.
    values : mapping
        What the template asks for. ``base.html`` asks for ``title`` (str), ``made_at`` (aware
        datetime) and ``seals`` (sequence of :class:`rvsmlog.facts.Seal`).

    Returns
    -------
    str
        The page.
    """
    return fill(
        template, {**values, "caution": CAUTION, "mark": _mark(kind), "version": __version__}
    )


def write_page(path: Path, kind: str, text: str) -> None:
    """Put a page in its place: whole, or not at all.

    An earlier page of the same kind is replaced; any other file is left alone.

    Parameters
    ----------
    path : Path
        The file.
    kind : str
        As given to :func:`render`.
    text : str
        The page.

    Raises
    ------
    InputError
        When something else stands at that place, or the file cannot be written.
    """
    target = behind(path)
    try:
        if target.exists() and not _is_ours(target, kind):
            raise InputError(
                f"{path} exists already and is no {kind} page of rvsmlog's",
                "name a file that does not exist yet",
            )
        put_text(target, text)
    except OSError as error:
        says = f"{path} cannot be written: {error.strerror}"
        raise InputError(says, "name a file in a folder that can be written to") from None


def _mark(kind: str) -> str:
    """Give the mark by which a page is known again."""
    return f"rvsmlog {kind}"


def _is_ours(path: Path, kind: str) -> bool:
    """Say whether a file is an earlier page of a kind."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        head = file.read(_HEAD)
    return f'<meta name="generator" content="{_mark(kind)}">'.encode() in head
