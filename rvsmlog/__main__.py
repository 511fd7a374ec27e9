"""The command's entry point: run one command, put errors in one line and a hint."""

import gc
import os
import sys


def run() -> None:
    """Run the command line and leave with its exit status."""
    _fill_streams()
    # Nothing of what is imported becomes garbage, and looking for some takes a good part of the
    # start. It is turned on again once the command is loaded.
    gc.disable()
    hint, status = "nothing was written", 2
    try:
        from rvsmlog.cli.app import main

        hint, status = "look with `list` or `store info` what is on record", 3
        status = main(sys.argv[1:])
    except KeyboardInterrupt:  # while it was still loading, or a second time
        sys.stderr.write(f"error: stopped before the end\nhint: {hint}\n")
    sys.exit(status)


def _fill_streams() -> None:
    """Let streams that were closed from outside lead nowhere.

    A file of the log must not come to stand where output goes, and what a command answers by its
    exit status must not hang on who listens.
    """
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            # By its number, so that the number that was closed is taken; it stays open.
            number = os.open(os.devnull, os.O_RDWR)
            setattr(sys, name, os.fdopen(number, mode, encoding="utf-8"))


if __name__ == "__main__":
    run()
