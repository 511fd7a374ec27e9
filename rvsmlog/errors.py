"""The one error base class: a message that names the fault and a hint that mends it."""


class RvsmlogError(Exception):
    """A fault the user can act on.

    Parameters
    ----------
    message : str
        What is wrong, in one line, with the offending value.
    hint : str, optional
        What to do about it, in one line.
    """

    #: Exit status of the command line when this error ends a command.
    exit_status = 2

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint


class InputError(RvsmlogError):
    """Bad usage or bad input; nothing was written."""


class OutOfRangeError(InputError):
    """A number outside the range for which a formula or a table is defined."""


class StoreError(RvsmlogError):
    """The store cannot be used."""

    exit_status = 3


class OutputError(RvsmlogError):
    """The answer cannot be written where it should go; what was recorded stays recorded."""

    exit_status = 3
