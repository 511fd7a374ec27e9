"""The command's entry point: run one command, put errors in one line and a hint."""

import gc
import sys


def run() -> None:
    """Run the command line and leave with its exit status."""
    # Nothing of what is imported becomes garbage, and looking for some takes a good part of the
    # start. It is turned on again once the command is loaded.
    gc.disable()
    from rvsmlog.cli.app import main

    sys.exit(main(sys.argv[1:]))


if __name__ == "__main__":
    run()
