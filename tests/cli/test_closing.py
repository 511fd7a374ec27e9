"""Closing a deviation says whether a height error is still to be confirmed put right.

Limits: 14 CFR 91 appendix G section 6 (published): 245 ft of altimetry system error. That a check
must confirm the fix: AC 91-85B and JAA TGL 6, from memory.
"""

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.cli.conftest import Cli

REG = "QX-ABC"
CLOSE = (
    *("--closed-on", "2024-05-20", "--conclusion", "air data computer exchanged"),
    *("--confirmed-by", "J. Doe"),
)


def deviation(cli: "Cli", *size: str) -> str:
    """Report a deviation and give its entry."""
    ran = cli.ok(
        *("deviation", "report", REG, "--occurred-at", "2024-05-01T10:00Z", *size),
        *("--description", "reported by the regional agency", "--json"),
    )
    return str(ran.json["entry"])


def test_a_large_height_error_is_not_closed_by_words(small: "Cli") -> None:
    """The level that remains, and the check that is wanted, within 80 columns."""
    entry = deviation(small, "--ase-ft", "260")
    out = small.ok("deviation", "close", REG, entry, *CLOSE).out
    assert all(len(line) <= 80 for line in out.splitlines())
    flat = " ".join(out.split())
    assert "FL280 at most: deviation #" in flat
    assert "no check confirms it put right" in flat
    assert "functional check, a flight check or a monitored flight" in flat


@pytest.mark.parametrize(
    ("size", "check", "limits"),
    [
        (("--ase-ft", "260"), (), "height-error-unconfirmed"),
        (
            ("--ase-ft", "260"),
            ("--confirmation", "flight-check", "--confirmed-on", "2024-05-21"),
            None,
        ),
        (("--aad-ft", "400"), (), None),
    ],
)
def test_closing_answers_in_json(
    small: "Cli", size: tuple[str, ...], check: tuple[str, ...], limits: str | None
) -> None:
    """Nothing still limits once a check is on record, or where only the level was left."""
    entry = deviation(small, *size)
    found = small.ok("deviation", "close", REG, entry, *CLOSE, *check, "--json").json
    still = found["still_limits"]
    assert (None if still is None else still["rule"]) == limits


def test_a_monitoring_result_beyond_limits_is_closed_too(small: "Cli") -> None:
    """By its own entry."""
    ran = small.ok(
        *("monitoring", "add", REG, "--measured-on", "2024-05-01", "--method", "ads-b"),
        *("--ase-ft", "230", "--json"),
    )
    closed = small.ok("deviation", "close", REG, str(ran.json["entry"]), *CLOSE, "--json").json
    assert closed["deviation"] == ran.json["entry"]
