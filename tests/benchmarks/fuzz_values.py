"""Hostile values for the fuzzer, and small changes to texts and bytes."""

import random
from collections.abc import Sequence

#: What steers a terminal, a mark-up, a page, a spreadsheet or a shell, when it is not neutral.
STEERING = (
    "\x1b[31mred\x1b[0m",
    "\x1b]0;title\x07",
    "\x9b31m",
    "bell\x07",
    "back\x08\x08\x08",
    "over\rwrite",
    "two\nlines",
    "tab\tbed",
    "nul\x00byte",
    "[bold red]loud[/]",
    "[/nothing]",
    "[link=https://example.invalid]x[/link]",
    "<script>alert(1)</script>",
    "</svg><b>x",
    "&amp;&lt;",
    '"><img src=x onerror=alert(1)>',
    "=cmd|' /C calc'!A0",
    "+1",
    "-1",
    "@SUM(A1)",
    "'=quoted",
    "\t=1+1",
    "$(id)",
    "`id`",
    "%s%n%d",
    "{0.__class__}",
    "${x}",
    "a;b,c\\,d",
    "\u202egnitirw",
    "\u2066hidden\u2069",
    "zero\u200bwidth",
    "\ufeffmark",
    "line\u2028sep",
    "\u0301",
    "e\u0301" * 40,
    "\U000e0041tag",
    "wide\uff21\u4e2d",
    "\ud800",
    "x\udcff",
    "\uffff",
    "\U0010ffff",
    "İıſß",
    "'; DROP TABLE entry; --",
)
#: Numbers that are none, are too much, or are written in digits of other scripts.
NUMBERS = (
    *("nan", "inf", "-inf", "NaN", "Infinity", "-0", "+0", "0", "00310", "1e3", "1E400", "0x10"),
    *("1_000", "31,000", "31 000", "310.0", ".5", "5.", "-", "+", "--1", "1/2"),
    *("٣١٠", "３１０", "²"),
    *("9" * 18, "9" * 19, "9" * 400, "-" + "9" * 30, "0." + "0" * 400 + "1", "1" + "0" * 5000),
    *("2147483648", "-2147483649", "9223372036854775808", "1e-400", "1013.25", "FL310", "fl 310"),
    *("310", "661", "-310", "#3", "##3", "#0", "FL٣١٠", "29.92 inHg", "29.92inHg hPa", "1+3"),
)
#: Days and instants at the edge of the calendar, of the clock and of what is believed.
TIMES = (
    *("0001-01-01", "9999-12-31", "2023-02-29", "2024-02-29", "1949-12-31", "2200-01-01"),
    *("0001-01-01T00:00Z", "9999-12-31T23:59:59Z", "2024-02-30T10:00Z", "2024-05-01T24:00Z"),
    *("2016-12-31T23:59:60Z", "2024-05-01T10:00+14:59", "2024-05-01T10:00-23:59"),
    *("2024-05-01T10:00+24:00", "2024-05-01T10:00", "2024-05-01 10:00Z", "2024-W18-3", "20240501"),
    *("2024-05-01T10:00:00.123456789Z", "2024-05-01T10:00:00,5Z", "2024-05-01T10Z", "now"),
    *("2024-05-01T10:00Z", "2024-05-01", "1950-01-01", "2199-12-31", "2024-13-01", "٢٠٢٤-٠٥-٠١"),
    *("90d", "0d", "99999d", "120m", "121m", "-3d", "6y", "2024-05-01T10:00+00:00:01"),
)
#: Where files may be; each is made in every worker's box, or is missing there.
PLACES = (
    *("pipe", "zero", "folder", "folder/", "link", "dangling", "loop", "missing/new.x", "new.x"),
    *("../new.x", "../../new.x", ".", "..", "", " ", "a\nb", "-new", "--", "=new.csv", "~/new"),
    *("log.sqlite3", "empty.sqlite3", "log.backup", "QX-ABC.jsonl", "all.jsonl.gz"),
    *("bomb.jsonl.gz", "long.csv", "sparse.csv", "deep.jsonl"),
    *("sheet.csv", "new.ics", "new.svg", "new.png", "new.jsonl", "new.jsonl.gz"),
    *("nul\x00", "x\udcff", "y\ud800"),
    *("n" * 300, "folder/" * 700, "file:log.sqlite3", "sqlite:///log.sqlite3", "sqlite://"),
    *("sqlite:///:memory:", "sqlite:///log.sqlite3?mode=ro", "mysql://x/y", "://", "x://y"),
    *("postgresql+psycopg://127.0.0.1:1/x?connect_timeout=1", "postgresql://[::1", "garbage"),
    *("readonly.sqlite3", "text.txt", "flight.csv", "heights.csv", "igra.txt", "climb.csv"),
)
_ODD = "0189-+.,:;#'\"\\/ \t\n\r\x00\x1bABZaz[]<>={}٣é"
LONG = ("x" * 2001, "x" * 100_000, "é" * 2000, "[" * 5000, "a," * 3000, "=" * 300)


def hostile(rng: random.Random) -> str:
    """Give one hostile value."""
    lot: Sequence[str] = rng.choice((STEERING, STEERING, NUMBERS, NUMBERS, TIMES, PLACES, LONG))
    value = rng.choice(lot)
    if rng.random() < 0.1:
        value += rng.choice(STEERING)
    return value


def bent(rng: random.Random, text: str) -> str:
    """Change a few characters of a text."""
    for _ in range(rng.choice((1, 1, 2, 5))):
        at = rng.randrange(len(text) + 1)
        what = rng.random()
        if what < 0.4:
            text = text[:at] + rng.choice(_ODD) + text[at:]
        elif what < 0.7:
            text = text[:at] + text[at + rng.randrange(1, 4) :]
        elif what < 0.85:
            text = text[:at] + rng.choice(STEERING) + text[at:]
        else:
            to = rng.randrange(len(text) + 1)
            text = text[:at] + text[min(at, to) : max(at, to)] + text[at:]
    return text


def bent_bytes(rng: random.Random, content: bytes) -> bytes:
    """Change, cut out, double or put in some bytes."""
    for _ in range(rng.choice((1, 1, 1, 3, 20))):
        at = rng.randrange(len(content) + 1)
        what = rng.random()
        if what < 0.4:
            content = content[:at] + rng.randbytes(rng.choice((1, 1, 4))) + content[at + 1 :]
        elif what < 0.6:
            content = content[:at] + content[at + rng.choice((1, 8, 500)) :]
        elif what < 0.75:
            content = content[:at]
        elif what < 0.9:
            content = content[:at] + content[max(0, at - rng.choice((1, 40, 900))) :]
        else:
            odd = rng.choice((b"\xff\xfe", b"\x00" * 9, b"\r", b'"'))
            content = content[:at] + odd + content[at:]
    return content
