"""Options that belong together, declared as a table: a command takes what they say as one value."""

from collections.abc import Callable, Mapping
from inspect import Parameter, Signature, signature
from typing import Annotated, Any, NamedTuple

import typer

Said = Mapping[str, str | None]
Command = Callable[..., None]


class OptionRow(NamedTuple):
    """One option: its name without dashes, what stands for its value, help, what completes it."""

    name: str
    metavar: str
    help: str
    completed: Callable[..., list[str]] | None = None


def with_options(
    parameter: str, rows: tuple[OptionRow, ...], read: Callable[[Said], object]
) -> Callable[[Command], Command]:
    """Put options in the place of one parameter of a command.

    Parameters
    ----------
    parameter : str
        The command's parameter; it is given what ``read`` makes of the options.
    rows : tuple of OptionRow
        The options, in the order of the help page; each is a text, or None when it is left out.
    read : callable
        Gives the value; it is handed what every option says, by its name without dashes.

    Returns
    -------
    callable
        Decorates a command, which keeps its other parameters, its help and its name.
    """
    names = {row.name.replace("-", "_"): row.name for row in rows}

    def decorated(command: Command) -> Command:
        def wrapped(**given: Any) -> None:
            said = {option: given.pop(name, None) for name, option in names.items()}
            command(**given, **{parameter: read(said)})

        wrapped.__signature__ = Signature(_replaced(command, parameter, rows))  # type: ignore[attr-defined]  # read by the parser
        wrapped.__annotations__ = {}
        wrapped.__doc__, wrapped.__name__ = command.__doc__, command.__name__
        return wrapped

    return decorated


def _replaced(command: Command, parameter: str, rows: tuple[OptionRow, ...]) -> list[Parameter]:
    """Give a command's parameters with the options in the place of one of them."""
    found: list[Parameter] = []
    for each in signature(command).parameters.values():
        if each.name == parameter:
            found += map(_parameter, rows)
        else:
            found.append(each.replace(kind=Parameter.KEYWORD_ONLY))
    return found


def _parameter(row: OptionRow) -> Parameter:
    """Give the parameter that the parser reads an option from."""
    option = typer.Option(
        "--" + row.name,
        metavar=row.metavar,
        help=row.help,
        show_default=False,
        autocompletion=row.completed,
    )
    return Parameter(
        row.name.replace("-", "_"),
        Parameter.KEYWORD_ONLY,
        default=None,
        annotation=Annotated[str | None, option],
    )
