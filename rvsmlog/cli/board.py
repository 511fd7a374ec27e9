"""What the program shows without a command: the fleet."""

from rvsmlog.cli.gonogo import gonogo


def board() -> None:
    """Show one line for each airframe."""
    gonogo()
