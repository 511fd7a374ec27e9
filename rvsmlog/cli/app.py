"""The root of the command line: which commands there are, each loaded only when it is called."""

import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module

import typer
from typer.core import TyperGroup

from rvsmlog import __version__
from rvsmlog.cli.lazy import COMMANDS, LazyGroup, loaded, take_as_typed
from rvsmlog.cli.stopping import OPENED, stopped
from rvsmlog.errors import (
    LACKS_DOCSTRINGS,
    NO_DOCSTRINGS,
    WANTS_DOCSTRINGS,
    InputError,
    RvsmlogError,
)
from rvsmlog.reports.text import drop_output, escape, flush

#: Set to anything to see the traceback of an unexpected fault.
DEBUG_VARIABLE = "RVSMLOG_DEBUG"

#: No error is told at greater length; what somebody pasted by mistake may be a whole file.
_LONGEST = 2000
#: What the parser makes of Ctrl-C.
_INTERRUPTED = 130

app = typer.Typer(
    cls=LazyGroup,
    invoke_without_command=True,
    add_completion=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


@app.callback()
def root(
    ctx: typer.Context,
    version: bool = typer.Option(False, "--version", help="Show the version and leave."),
) -> None:
    """Keep the RVSM log of one aeroplane or a fleet, and ask which level may be filed.

    An aid, not a release: the approved manuals, the local rules, licensed maintenance and the
    pilot in command decide.
    """
    if version:
        sys.stdout.write(f"rvsmlog {__version__}\n")
        raise typer.Exit
    if ctx.invoked_subcommand is None:
        board = import_module("rvsmlog.cli.board")
        loaded()
        board.board()


def main(arguments: Sequence[str]) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : sequence of str
        What stands behind the program's name.

    Returns
    -------
    int
        Exit status: 0 GO or done, 1 NO-GO or a failed verification, 2 bad usage or input,
        3 the store cannot be used, or the answer could not be given.
    """
    if LACKS_DOCSTRINGS:
        return _complain(NO_DOCSTRINGS, WANTS_DOCSTRINGS, 3)
    OPENED.clear()
    command = take_as_typed(typer.main.get_command(app))
    assert isinstance(command, TyperGroup)  # noqa: S101  # the root has subcommands
    try:
        _check_text(arguments)
        status = command.main(list(arguments), prog_name="rvsmlog", standalone_mode=False)
        flush()
    except RvsmlogError as error:
        return _complain(error.message, error.hint, error.exit_status)
    except (KeyboardInterrupt, EOFError, typer.Abort):
        return _stopped()
    except Exception as error:  # the last resort: a person sees one line, not a traceback
        return _unexpected(error, arguments)
    if status == _INTERRUPTED:
        return _stopped()
    return status if isinstance(status, int) else 0


def _check_text(arguments: Sequence[str]) -> None:
    """Refuse what is no text before anything is done: no answer could name it any more."""
    if any("\0" in word for word in arguments):  # no system hands one on; a caller in Python may
        raise InputError("an argument holds a zero byte", "give file names and text without")
    if any("\ud800" <= character <= "\udfff" for word in arguments for character in word):
        raise InputError("an argument is not UTF-8 text", "give file names and text in UTF-8")


def _stopped() -> int:
    """Say that somebody stopped the command, and what is on record all the same."""
    return _complain(*stopped())


def _refused(error: OSError) -> int:
    """Say what the system refused."""
    drop_output()  # or what is held back of it fails once more on leaving
    says = error.strerror or str(error)
    named = "the system refused" if error.filename is None else f"{error.filename} cannot be used"
    return _complain(f"{named}: {says}", "check the disk, and the names of files", 3)


def _no_text() -> int:
    """Say that a text read from a damaged store cannot be written."""
    # A transaction that ends so is taken back.
    return _complain(
        "the store is damaged: a text in it is no text any more",
        "run `rvsmlog store verify`; restore the newest backup",
        3,
    )


def _unexpected(error: Exception, arguments: Sequence[str]) -> int:
    """Put usage errors of the parser, and faults that nobody foresaw, in one line."""
    show = getattr(error, "format_message", None)
    if callable(show):
        message = " ".join(str(show()).split())
        context = getattr(error, "ctx", None)
        named = arguments[:1] if arguments[:1] and arguments[0] in COMMANDS else []
        where = context.command_path if context is not None else " ".join(("rvsmlog", *named))
        option = getattr(error, "option_name", None)
        if type(error).__name__ == "NoSuchOption" and option:
            return _complain(f"there is no option {option!r}", _option_hint(error, where), 2)
        return _complain(message.rstrip("."), f"see `{where} --help`", 2)
    if isinstance(error, OSError):
        return _refused(error)
    if isinstance(error, UnicodeEncodeError):
        return _no_text()
    if os.environ.get(DEBUG_VARIABLE):
        raise error
    return _complain(
        f"unexpected fault: {type(error).__name__}: {error}",
        f"set {DEBUG_VARIABLE}=1 to see where, and report it",
        3,
    )


def _option_hint(error: Exception, where: str) -> str:
    """Name the options that are near one that is not there, or where options belong."""
    near = sorted({*(getattr(error, "possibilities", None) or ())} - {"--help"})
    if near:
        return f"did you mean {' or '.join(near)}? see `{where} --help`"
    if where == "rvsmlog":
        return f"see `{where} --help`; a command's options follow it: `rvsmlog gonogo --store FILE`"
    return f"see `{where} --help`"


def _complain(message: str, hint: str, status: int) -> int:
    """Write one line and a hint to standard error, if it can be written to."""
    text = f"error: {_one_line(message)}\n" + (f"hint: {_one_line(hint)}\n" if hint else "")
    try:
        sys.stderr.write(text)
        sys.stderr.flush()
    except OSError:  # the exit status still tells
        with suppress(OSError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stderr.fileno())
    return status


def _one_line(text: str) -> str:
    """Escape a text, keep it on its line, and leave out the middle of what is very long."""
    if len(text) > _LONGEST:
        text = f"{text[: _LONGEST // 2]} … {text[-_LONGEST // 4 :]}"
    return escape(text).replace("\n", "\\n")


__all__ = ["COMMANDS", "app", "main"]
