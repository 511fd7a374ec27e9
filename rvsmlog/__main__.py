"""The command's entry point: run one command, put errors in one line and a hint."""

import gc
import sys


def run() -> None:
    """Run the command line and leave with its exit status."""
    # Nothing of what is imported becomes garbage, and looking for some takes a good part of the
    # start. It is turned on again once the command is loaded.
    gc.disable()
    try:
        from rvsmlog.cli.app import main

        status = main(sys.argv[1:])
    except KeyboardInterrupt:  # while it was still loading
        sys.stderr.write("error: stopped before the end\nhint: nothing was written\n")
        status = 2
    sys.exit(status)


if __name__ == "__main__":
    run()
