"""Altimeter cross-checks: the noun's commands."""

from rvsmlog.cli.nouns import make

__all__ = ["make"]
