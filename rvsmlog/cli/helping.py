"""How help pages look: usage, what it does, one example to copy, required options first."""

import re
import sys
from collections.abc import Callable, Iterator
from typing import Any

import typer
from typer.core import TyperCommand, TyperGroup

from rvsmlog.cli.lazy import check_known
from rvsmlog.reports.text import command_lines

#: How an option's help text marks that it must be given.
REQUIRED = "[required]"
#: Options that every recording command has; they stand last.
_SHARED = ("--corrects", "--reason", "--store", "--by", "--json", "--help")
_EXAMPLE = "Example: "


class HelpedCommand(TyperCommand):
    """A command whose help page leads with an example that can be copied as it stands."""

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        """Name the arguments, then that there are options."""
        return [*(_name(each) for each in _arguments(self, ctx)), "[OPTIONS]"]

    def format_help_text(self, ctx: Any, formatter: Any) -> None:
        """Write what the command does, then its example."""
        del ctx
        text, example = split_example(self.help or "")
        formatter.write_paragraph()
        with formatter.indentation():
            formatter.write_text(text)
        if example:
            with formatter.section("Example"):
                lines = command_lines(example, formatter.width - formatter.current_indent)
                formatter.write("".join(f"  {line}\n" for line in lines))

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Write arguments, required options, the others, and those of every command."""
        arguments = [(_name(each), each.help or "") for each in _arguments(self, ctx)]
        records = [_record(each, ctx) for each in self.get_params(ctx) if _is_option(each)]
        required = [row for row in records if REQUIRED in row[1]]
        shared = [row for row in records if row not in required and _is_shared(row)]
        others = [row for row in records if row not in required and row not in shared]
        required = [(name, text.replace(REQUIRED, "").rstrip()) for name, text in required]
        for title, rows in (
            ("Arguments", arguments),
            ("Required", required),
            ("Optional" if required else "Options", others),
            ("Shared" if others or required else "Options", shared),
        ):
            if rows:
                with formatter.section(title):
                    formatter.write_dl(rows)


class HelpedGroup(TyperGroup):
    """A noun whose help page gives each of its commands in a full sentence."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Show the help page of a noun alone: something is missing, so it leaves with 2."""
        if not args and not ctx.resilient_parsing:
            sys.stderr.write(ctx.get_help() + "\n")
            ctx.exit(2)
        return list(super().parse_args(ctx, args))

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Find a command; one that is not there is answered with the nearest."""
        if not ctx.resilient_parsing:
            check_known(args[0], self.list_commands(ctx), ctx.command_path)
        return super().resolve_command(ctx, args)

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        """Name what follows the noun."""
        del ctx
        return ["COMMAND ..."]

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """List the commands; the first paragraph of each help page, not cut short."""
        rows = []
        for name in self.list_commands(ctx):
            command = self.get_command(ctx, name)
            text = split_example(getattr(command, "help", "") or "")[0]
            rows.append((name, " ".join(text.split("\n\n")[0].split())))
        with formatter.section("Commands"):
            formatter.write_dl(rows)


def _is_option(param: Any) -> bool:
    return bool(param.param_type_name == "option")


def _arguments(command: Any, ctx: Any) -> Iterator[Any]:
    """Give a command's arguments."""
    return (each for each in command.get_params(ctx) if not _is_option(each))


def _name(argument: Any) -> str:
    """Give an argument's name as help pages show it."""
    return str(argument.metavar or argument.name.upper())


def _record(option: Any, ctx: Any) -> tuple[str, str]:
    """Give an option's names and help."""
    name, text = option.get_help_record(ctx) or ("", "")
    return str(name), " ".join(str(text).split())


def _is_shared(row: tuple[str, str]) -> bool:
    return any(part in _SHARED for part in re.split(r"[ ,]+", row[0]))


def split_example(text: str) -> tuple[str, str]:
    """Split a command's docstring into what it does and its example."""
    does, _, example = text.partition(_EXAMPLE)
    return does.strip(), " ".join(example.split())


def single(name: str, command: Callable[..., None]) -> typer.Typer:
    """Make a command that has no commands below it."""
    app = typer.Typer(rich_markup_mode=None, add_completion=False)
    app.command(name, cls=HelpedCommand)(command)
    return app


def group(does: str) -> typer.Typer:
    """Make a noun: commands are added to it by :func:`add`."""
    app = typer.Typer(cls=HelpedGroup, rich_markup_mode=None, add_completion=False)

    def noun() -> None:
        pass

    noun.__doc__ = does
    app.callback()(noun)
    return app


def add(app: typer.Typer, name: str, command: Callable[..., None]) -> None:
    """Add a command to a noun."""
    app.command(name, cls=HelpedCommand)(command)
