"""A seal is printed on one line, whatever its logbook is called."""

import pytest

from rvsmlog.facts import Seal
from rvsmlog.reports.verification import printed, seal_lines


@pytest.mark.parametrize("breaks", ["\n", "\r\n", "\x0b", "\x85", "\u2028", "\u2029"])
def test_no_name_prints_a_second_seal(breaks: str) -> None:
    """A name with a line break is no way to put a seal of another logbook on the screen."""
    forged = f"VK71-1007#9:{'d' * 64}"
    seal = Seal(logbook=f"x{breaks}  {forged}", entry=0, digest="a" * 64)
    assert len(printed(seal).splitlines()) == 1
    lines = [line.text for line in seal_lines([seal])]
    assert not any(line.strip().startswith("VK71") for line in lines)


def test_a_name_of_the_trade_is_printed_as_it_is() -> None:
    """Type, serial number, letters of any script and spaces stay."""
    seal = Seal(logbook="VK71-1007 Ö", entry=12, digest="0f" * 32)
    assert printed(seal).startswith("VK71-1007 Ö#12:0f0f")
