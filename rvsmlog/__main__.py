"""The command's entry point: run one command, put errors in one line and a hint."""

import sys


def run() -> None:
    """Run the command line and leave with its exit status."""
    from rvsmlog.cli.app import main

    sys.exit(main(sys.argv[1:]))


if __name__ == "__main__":
    run()
