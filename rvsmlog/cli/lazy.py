"""The list of commands, and a group that loads a command's module only when it is called."""

import gc
from collections.abc import Collection, Mapping
from difflib import get_close_matches
from importlib import import_module
from types import MappingProxyType
from typing import Any

import typer
from typer.core import TyperGroup

from rvsmlog.errors import InputError

_NOUNS = "rvsmlog.cli.noun_commands"
#: Each command: the module that makes it, and its line in the list of commands.
COMMANDS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "gonogo": ("rvsmlog.cli.gonogo", "May this level be filed? If not, which, and why."),
        "levels": (
            "rvsmlog.cli.flight_questions",
            "Which cruising levels may be filed on a track.",
        ),
        "board": (
            "rvsmlog.cli.board",
            "The fleet in one line each, or as a page; the same without a command.",
        ),
        "due": ("rvsmlog.cli.due", "What expires next, and what that will cost in levels."),
        "drift": ("rvsmlog.cli.drift", "Do the altimeters drift apart? Which moved, and when?"),
        "dossier": ("rvsmlog.cli.dossier", "What an inspector asks of one airframe, as a page."),
        "static-error": ("rvsmlog.cli.static_error", "Do both altimeters share an error?"),
        "crosscheck": ("rvsmlog.cli.crosscheck", "Log and list altimeter cross-checks."),
        "flight": (_NOUNS, "Log and list flights."),
        "airframe": (_NOUNS, "Enter and change airframe particulars."),
        "equipment": (_NOUNS, "Fit and remove units; record altimetry work."),
        "defect": (_NOUNS, "Report, defer, extend, rectify and review defects."),
        "approval": (_NOUNS, "Enter and withdraw RVSM and MEL approvals."),
        "test": (_NOUNS, "Enter altimeter, static and transponder tests."),
        "monitoring": (_NOUNS, "Enter height monitoring results, and plan the next."),
        "crew": (_NOUNS, "Enter pilots and their RVSM knowledge."),
        "oxygen": (
            _NOUNS,
            "Enter oxygen systems and readings; show what a flight needs.",
        ),
        "route": (_NOUNS, "Keep the data of flights that are flown often."),
        "deviation": ("rvsmlog.cli.deviation", "Report, close and write up altitude deviations."),
        "operator": (_NOUNS, "Enter the operator's particulars, and who may record."),
        "rules": ("rvsmlog.cli.rules", "List the rules, or show one with its sources."),
        "store": ("rvsmlog.cli.store", "Make, upgrade, back up and verify the store."),
        "demo": ("rvsmlog.cli.demo", "Build an invented operator's store to explore."),
    }
)


class _AsTyped:
    """Hands a value on as it was typed; our own field types read it."""

    @staticmethod
    def coerce(value: Any, param: object, ctx: object) -> Any:
        """Give the value itself."""
        del param, ctx
        return () if value is None else value


class _OneAsTyped(_AsTyped):
    """The same for a parameter given once: none is None."""

    @staticmethod
    def coerce(value: Any, param: object, ctx: object) -> Any:
        """Give the value itself."""
        del param, ctx
        return value


def take_as_typed(command: Any) -> Any:
    """Keep the parser from loading a validation library for text that we read ourselves.

    Every option of this program is text, a flag, or a list of texts. Left alone, the parser
    builds a validator for each, which costs a check a third of its start-up.
    """
    given = command.get_params

    def get_params(ctx: Any) -> Any:
        params = given(ctx)
        for param in params:
            if hasattr(param, "_runtime_param"):
                many = param.multiple or param.nargs == -1
                param._runtime_param = _AsTyped() if many else _OneAsTyped()  # see above
        return params

    command.get_params = get_params
    for child in getattr(command, "commands", {}).values():
        take_as_typed(child)
    return command


def check_known(name: str, known: Collection[str], path: str) -> None:
    """Refuse a command that is not there, and name the nearest one that is.

    Parameters
    ----------
    name : str
        As typed; what begins with a dash is an option, of which the parser speaks.
    known : collection of str
        The commands.
    path : str
        What stands before it, ``rvsmlog`` or ``rvsmlog crosscheck``.
    """
    if name in known or name.startswith("-"):
        return
    near = get_close_matches(name, known, n=1)
    hint = f"did you mean `{path} {near[0]}`?" if near else f"see `{path} --help`"
    typed = " ".join((*path.split()[1:], name))
    raise InputError(f"there is no command {typed!r}", hint)


def loaded() -> None:
    """Collect garbage again, where the program's start had stopped it.

    What is loaded by now stays, and need not be looked through any more.
    """
    if not gc.isenabled():
        gc.freeze()
        gc.enable()


class LazyGroup(TyperGroup):
    """The root group; it knows the commands' names and loads their modules when called."""

    def list_commands(self, ctx: object) -> list[str]:
        """Give the commands in the order of the working day."""
        del ctx
        return list(COMMANDS)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Find a command; a name that is almost one is answered with it."""
        if not ctx.resilient_parsing:
            check_known(args[0], COMMANDS, ctx.command_path)
        return super().resolve_command(ctx, args)

    def get_command(self, ctx: object, cmd_name: str) -> Any:
        """Load one command."""
        del ctx
        if cmd_name not in COMMANDS:
            return None
        module = import_module(COMMANDS[cmd_name][0])
        command = typer.main.get_command(module.make(cmd_name))
        command.name = cmd_name
        loaded()
        return take_as_typed(command)

    def format_commands(self, ctx: object, formatter: Any) -> None:
        """List the commands without loading any."""
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])
