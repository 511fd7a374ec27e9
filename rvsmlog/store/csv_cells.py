"""Text in the cells of a CSV file that no spreadsheet takes for a formula, and back again."""

import re

#: What a spreadsheet takes for the beginning of a formula, however many quotes stand before it.
_FORMULA = re.compile(r"'*[=+\-@\t\r]")
_NEUTRAL = re.compile(r"'+[=+\-@\t\r]")


def neutral(text: str) -> str:
    """Put a quote before text that a spreadsheet would take for a formula.

    Examples
    --------
    >>> neutral("=1+1")
    "'=1+1"
    >>> neutral("seen at FL310")
    'seen at FL310'
    """
    return "'" + text if _FORMULA.match(text) else text


def as_written(cell: str) -> str:
    """Take away the one quote that :func:`neutral` put before a text.

    Examples
    --------
    >>> as_written("'=1+1")
    '=1+1'
    >>> as_written("'quoted' text")
    "'quoted' text"
    """
    return cell[1:] if _NEUTRAL.match(cell) else cell
