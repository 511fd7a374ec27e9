"""What is written for COPY is what the server reads: it alone says what the lines mean."""

import struct
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from rvsmlog.store.writing.bulk import copy_lines, insert_rows

if TYPE_CHECKING:
    from tests.store.conftest import Log

pytestmark = [pytest.mark.parametrize("backend", ["postgresql"]), pytest.mark.postgres]

_TEXTS = (
    *(
        "",
        " ",
        "plain",
        "\\",
        "\\N",
        "\\.",
        "\\\\N",
        "\\t",
        "a\tb",
        "a\nb",
        "a\r\nb",
        "\r",
        "\\x41",
    ),
    *("\b\f\v\x01\x7f", "\u00e9\u0394\u4e2d\U0001f6e9", "\u2028\x85", ",\";'", "{}", "%s"),
)
_REALS = (0.0, -0.0, 0.1, 1013.25, 1e-7, 1e22, 1.7976931348623157e308, 5e-324, -2.5)
_WHOLES = (0, -1, 1, 2**63 - 1, -(2**63))
_BYTES = (b"", bytes(range(256)), b"\\x", b"\n")


def test_every_value_comes_back_as_it_went(log: "Log") -> None:
    """Texts with what COPY gives a meaning, reals to the last bit, the ends of whole numbers."""
    many = len(_TEXTS)
    columns = [
        list(range(many)),
        _TEXTS,
        *([*values, *[None] * (many - len(values))] for values in (_REALS, _WHOLES, _BYTES)),
    ]
    with log.store.changing() as connection:
        connection.execute(
            text(
                "CREATE TEMP TABLE sent (place int, said text, real float8, whole int8, raw bytea)"
            )
        )
        insert_rows(
            connection, "sent", ("place", "said", "real", "whole", "raw"), copy_lines(columns)
        )
        found = connection.execute(
            text("SELECT said, real, whole, raw FROM sent ORDER BY place")
        ).all()
    said, real, whole, raw = zip(*found, strict=True)
    assert said == _TEXTS
    assert list(map(_bits, real[: len(_REALS)])) == list(map(_bits, _REALS))
    assert whole[: len(_WHOLES)] == _WHOLES
    assert raw[: len(_BYTES)] == _BYTES
    assert found[-1][1:] == (None, None, None)


def _bits(real: float) -> bytes:
    """Give all the bits of a real: of 0.0 other ones than of -0.0."""
    return struct.pack(">d", real)


def test_a_character_that_no_text_holds_is_refused(log: "Log") -> None:
    """NUL, which the server's texts cannot hold, ends nothing early: nothing goes in."""
    with log.store.changing() as connection:
        connection.execute(text("CREATE TEMP TABLE sent (t text)"))
        with pytest.raises(DBAPIError, match="0x00"):
            insert_rows(connection, "sent", ("t",), copy_lines([["a", "b\0c"]]))
