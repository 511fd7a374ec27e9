"""Help pages, and every command that a text of the program or its pages names."""

import ast
import re
import shlex
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import typer
from typer.core import TyperGroup

import rvsmlog
from rvsmlog.cli.app import app
from rvsmlog.cli.helping import REQUIRED, split_example
from rvsmlog.cli.lazy import COMMANDS
from rvsmlog.cli.nouns import NOUNS
from rvsmlog.reports.text import columns
from rvsmlog.rules import RULES
from rvsmlog.rules.base import HEADINGS
from rvsmlog.standards.authorities import AUTHORITIES
from tests.cli.conftest import Cli

PACKAGE = Path(rvsmlog.__file__).parent
README = PACKAGE.parent / "README.md"
#: A command line in backticks; the digests' own marks, such as `rvsmlog entry 1`, are none.
_QUOTED = re.compile(r"`rvsmlog (?!(?:entry|logbook) \d|\[)([^`]+)`")
#: Words that stand for a value in a text, as in `rvsmlog rules NAME`.
_PLACEHOLDER = re.compile(r"[A-Z][A-Z_]*|\.\.\.|<.*>")


def every_command() -> Iterator[tuple[tuple[str, ...], Any]]:
    """Give each command with its path of names."""
    root = typer.main.get_command(app)
    assert isinstance(root, TyperGroup)
    for noun in COMMANDS:
        command: Any = root.get_command(None, noun)  # type: ignore[arg-type]  # needs no context
        children = getattr(command, "commands", {})
        for name, child in children.items():
            yield (noun, name), child
        if not children:
            yield (noun,), command


EVERY = dict(every_command())
_ROOT_OPTIONS = {option for param in typer.main.get_command(app).params for option in param.opts}


def parsed(words: list[str]) -> dict[str, Any]:
    """Parse a command line as the program does, without running it."""
    path = tuple(words[:2]) if tuple(words[:2]) in EVERY else tuple(words[:1])
    command = EVERY[path]
    with command.make_context(" ".join(path), words[len(path) :]) as context:
        return dict(context.params)


@pytest.mark.parametrize("path", EVERY, ids=" ".join)
def test_every_command_has_one_example_that_parses(path: tuple[str, ...]) -> None:
    """The example stands last, names this command, and gives all that must be given."""
    text, example = split_example(EVERY[path].help)
    assert text.splitlines()[0].endswith(".")
    words = shlex.split(example)
    assert words[: 1 + len(path)] == ["rvsmlog", *path]
    given = parsed(words[1:])
    for recording in NOUNS.get(path[0], ()):
        if (path[0], recording.name) == path:
            texts = {
                name.removeprefix("field_"): value
                for name, value in given.items()
                if name.startswith("field_")
            }
            if recording.now_field:
                texts[recording.now_field] = "2026-05-02T08:00Z"
            recording.kind.parse(texts)


def test_every_command_answers_in_json() -> None:
    """README.md promises it."""
    lacks = [
        path
        for path, command in EVERY.items()
        if "--json" not in [option for param in command.params for option in param.opts]
    ]
    assert lacks == []


@pytest.mark.parametrize("path", EVERY, ids=" ".join)
def test_every_help_page_fits_and_marks_what_is_required(empty: Cli, path: tuple[str, ...]) -> None:
    """80 columns, the example to copy, and what must be given under a heading of its own."""
    page = empty.ok(*path, "--help").out
    assert page == empty.ok(*path, "-h").out
    assert max(columns(line) for line in page.splitlines()) <= 80
    assert page.startswith(f"Usage: rvsmlog {' '.join(path)} ")
    assert "\nExample:\n  rvsmlog " in page
    required = [param.opts[-1] for param in EVERY[path].params if REQUIRED in (param.help or "")]
    head, found, rest = page.partition("\nRequired:\n")
    assert bool(found) is bool(required)
    under = rest.split("\n\n")[0]
    assert [name for name in required if f"  {name} " not in under] == []
    assert REQUIRED not in head + rest


def test_the_example_of_a_page_can_be_pasted(empty: Cli) -> None:
    """Where it goes on over lines, a shell reads it as one."""
    page = empty.ok("airframe", "add", "--help").out
    shown = page.partition("\nExample:\n")[2].partition("\n\n")[0]
    assert shown.count("\\\n") >= 1
    example = split_example(EVERY["airframe", "add"].help)[1]
    assert shlex.split(shown.replace("\\\n", " ")) == shlex.split(example)


@pytest.mark.parametrize("noun", [noun for noun in COMMANDS if (noun,) not in EVERY])
def test_a_noun_alone_lists_its_commands(empty: Cli, noun: str) -> None:
    """Without a command it shows its help and leaves with 2: something is missing."""
    ran = empty(noun)
    assert (ran.status, ran.out) == (2, "")
    named = re.findall(r"^  ([a-z-]+)  ", ran.err, re.MULTILINE)
    assert named == [path[1] for path in EVERY if path[0] == noun]
    assert empty.ok(noun, "--help").out == ran.err
    assert max(columns(line) for line in ran.err.splitlines()) <= 80


def test_the_list_of_commands_names_them_all(empty: Cli) -> None:
    """The root's help page has each command with its line, in the order of the working day."""
    page = empty.ok("--help").out
    assert re.findall(r"^  ([a-z-]+)  ", page.partition("Commands:")[2], re.MULTILINE) == list(
        COMMANDS
    )
    assert max(columns(line) for line in page.splitlines()) <= 80


def test_the_version_is_that_of_the_package(empty: Cli) -> None:
    """--version says it and leaves."""
    assert empty.ok("--version").out == f"rvsmlog {rvsmlog.__version__}\n"


def texts_of(path: Path) -> Iterator[str]:
    """Give every text in a source file: literals, f-strings with a word for each value."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            parts = (
                str(part.value) if isinstance(part, ast.Constant) else "VALUE"
                for part in node.values
            )
            yield "".join(parts)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value


def named_commands() -> dict[str, str]:
    """Give every command line that stands in backticks, with where it stands."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        for text in texts_of(path):
            for command in _QUOTED.findall(" ".join(text.split())):
                found[command] = str(path.relative_to(PACKAGE.parent))
    for rule in RULES:
        text = " ".join([rule.summary, *(rule.section(heading) for heading in HEADINGS)])
        for command in _QUOTED.findall(text):
            found[command] = f"rule {rule.name}"
    for page in (README, PACKAGE.parent / "DEVELOPERS.md"):
        if page.exists():
            for command in _QUOTED.findall(" ".join(page.read_text(encoding="utf-8").split())):
                found[command] = page.name
    return found


def fault_of(command: str) -> str:
    """Say what is wrong with a command line in a text; nothing when it exists."""
    noun, _, rest = command.partition(" ")
    if noun == "VALUE" and rest:
        # The noun is filled in: the command below it must be one of some noun.
        known_below = {path[1] for path in EVERY if len(path) > 1}
        return "" if rest.split()[0] in known_below else f"no noun has a command {rest!r}"
    words = [word for word in command.split() if not word.startswith("VALUE")]
    names = []
    for word in words[:2]:
        if word.startswith("-") or _PLACEHOLDER.fullmatch(word):
            break
        names.append(word)
    if words and words[0] in _ROOT_OPTIONS:
        return ""
    if not names:
        return "" if words[:1] == ["VALUE"] or not words else f"{command!r} names no command"
    if names[0] not in COMMANDS:
        return f"there is no command {names[0]!r}"
    is_noun = (names[0],) not in EVERY
    if is_noun and len(names) > 1 and tuple(names) not in EVERY:
        return f"there is no command {' '.join(names)!r}"
    known = EVERY.get(tuple(names[:2])) or EVERY.get((names[0],))
    options = {option for param in getattr(known, "params", ()) for option in param.opts}
    unknown = [word for word in words if known and word.startswith("--") and word not in options]
    return f"no such option: {unknown}" if unknown else ""


def test_every_command_named_in_a_text_exists() -> None:
    """Rule pages, remedies, hints and the project's pages name commands that are there."""
    named = named_commands()
    assert len(named) > 20
    wrong = {command: (where, fault_of(command)) for command, where in named.items()}
    assert {command: each for command, each in wrong.items() if each[1]} == {}


@pytest.mark.parametrize(
    "command",
    [
        *("crosscheck add", "crosscheck log REG --colour red", "gonow", "gonogo REG --height 3"),
        "VALUE stroke",
    ],
)
def test_the_check_of_named_commands_finds_a_wrong_one(command: str) -> None:
    """The check itself can fail."""
    assert fault_of(command)


def test_the_readme_names_every_command() -> None:
    """A command that the page leaves out fails here."""
    page = README.read_text(encoding="utf-8")
    missing = [name for name in COMMANDS if f"| `rvsmlog {name}` | " not in page]
    assert not missing, "each wants a line in README.md's table of commands"


def test_the_readme_names_every_authority() -> None:
    """A code that the page leaves out fails here."""
    page = README.read_text(encoding="utf-8")
    missing = [code for code in AUTHORITIES if not re.search(rf"\b{code}\b", page)]
    assert not missing, "README.md wants each, where it says by whose rules an airframe flies"
