"""Size of the dossier of a big log, and how long it takes to write and to open.

Run as ``python -m tests.benchmarks.dossier_size [CROSSCHECKS]``. The log is the demo's QX-ALD with
more cross-checks entered, four for each of many flights. Opening is timed in Chromium from the call
to the load event, and up to the first layout of the whole page.

The floor in the same run fetches the same logbook's rows by the driver, a statement for each table,
and writes each row as one of an HTML table, its texts escaped: no page can do with less.
"""

import sqlite3
import sys
import tempfile
import time
from contextlib import closing
from datetime import UTC, datetime, timedelta
from html import escape
from itertools import pairwise
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from rvsmlog.answers.dossier import dossier
from rvsmlog.dates import now
from rvsmlog.pages.dossier import dossier_page
from rvsmlog.records.flights import CrossCheck, Flight
from rvsmlog.records.kinds import KINDS
from rvsmlog.store.connection import Store, open_store
from rvsmlog.store.importing.demo import build_demo
from rvsmlog.store.reading.airframes import find_airframe
from rvsmlog.store.reading.dossier import read_dossier
from rvsmlog.store.tables import table_name
from rvsmlog.store.writing.logbook import writing
from tests.pages.conftest import QUIET, chromium

REGISTRATION = "QX-ALD"
AT = datetime(2026, 11, 24, 8, tzinfo=UTC)
_FIRST = datetime(2019, 4, 1, 6, tzinfo=UTC)
_PATIENCE_MS = 120_000
_A_FLIGHT = ("before-entry", "level", "hourly", "leaving")


def fill(store: Store, count: int) -> None:
    """Enter flights with four cross-checks each."""
    with writing(store, "M. Olquist", now) as log:
        book = find_airframe(log.connection, REGISTRATION)
        for number in range(count // len(_A_FLIGHT)):
            off = _FIRST + timedelta(hours=24 * number)
            flight = {
                "off_at": f"{off:%Y-%m-%dT%H:%MZ}",
                "on_at": f"{off + timedelta(hours=3):%Y-%m-%dT%H:%MZ}",
                "pilot": "IVO",
                "departure": "QXEL",
                "destination": "QXBO",
            }
            log.append(book, Flight.kind.parse(flight))
            for step, phase in enumerate(_A_FLIGHT):
                log.append(book, CrossCheck.kind.parse(_check(off, number, step, phase)))


def _check(off: datetime, number: int, step: int, phase: str) -> dict[str, str | None]:
    """Give a cross-check with all that an ordinary one has."""
    taken = off + timedelta(minutes=30 + 30 * step)
    altitude = 29_000 if step else 27_000
    apart = (number * 7 + step * 3) % 5 * 10
    return {
        "taken_at": f"{taken:%Y-%m-%dT%H:%MZ}",
        "phase": phase,
        "level": str(altitude // 100),
        "primary_1_ft": str(altitude),
        "primary_2_ft": str(altitude - apart),
        "standby_ft": str(altitude + 80),
        "transponder_ft": str(altitude),
        "mach": "0.46",
        "static_air_temperature_c": "-46",
        "pilot": "IVO",
    }


def written(store: Store, target: Path) -> dict[str, float]:
    """Write the dossier over the whole log; give processor seconds for each step."""
    marks = [time.process_time()]
    records, span = read_dossier(store, REGISTRATION, AT, None, None)
    marks.append(time.process_time())
    made = dossier(records, span)
    marks.append(time.process_time())
    target.write_text(dossier_page(made, now()), "utf-8")
    marks.append(time.process_time())
    read, judged, laid_out = (later - before for before, later in pairwise(marks))
    return {"read": read, "judged": judged, "laid out": laid_out}


def floor(where: Path, target: Path) -> float:
    """Write the logbook's rows as plain tables; give processor seconds."""
    began = time.process_time()
    with closing(sqlite3.connect(where)) as lite, target.open("w", encoding="utf-8") as page:
        (book,) = lite.execute(
            "SELECT logbook_id FROM airframe_detail WHERE registration = ? LIMIT 1", (REGISTRATION,)
        ).fetchone()
        for table in ("entry", *map(table_name, KINDS)):
            page.write("<table>")
            asked = f"SELECT * FROM {table} WHERE logbook_id = ?"  # noqa: S608  # names are ours
            for row in lite.execute(asked, (book,)):
                cells = "".join(f"<td>{escape(str(each))}</td>" for each in row)
                page.write(f"<tr>{cells}</tr>")
            page.write("</table>")
    return time.process_time() - began


def opened(path: Path) -> dict[str, float]:
    """Open a page in a fresh browser; give seconds by the clock."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium(), args=list(QUIET))
        page = browser.new_context(offline=True).new_page()
        page.goto("about:blank")
        start = time.perf_counter()
        page.goto(path.as_uri(), wait_until="load", timeout=_PATIENCE_MS)
        loaded = time.perf_counter() - start
        page.evaluate("document.documentElement.getBoundingClientRect().height")
        laid_out = time.perf_counter() - start
        timing: Any = page.evaluate(
            "(() => { const t = performance.getEntriesByType('navigation')[0];"
            "return [t.domInteractive, t.loadEventEnd].map(ms => ms / 1000); })()"
        )
        browser.close()
    return {
        "parsed": timing[0],
        "load event": timing[1],
        "load, as waited for": loaded,
        "and laid out": laid_out,
    }


def main(count: int) -> None:
    """Print size and times."""
    with tempfile.TemporaryDirectory() as folder:
        where = Path(folder) / "log.sqlite3"
        build_demo(str(where), now)
        target = Path(folder) / "dossier.html"
        with open_store(str(where)) as store:
            fill(store, count)
            steps = written(store, target)
        least = floor(where, Path(folder) / "plain.html")
        print(f"{count:,} cross-checks entered beside those of the demo's {REGISTRATION}")
        print(f"size: {target.stat().st_size / 1e6:.2f} MB")
        said = ", ".join(f"{name} {seconds:.2f} s" for name, seconds in steps.items())
        print(f"written, processor time: {said}")
        print(f"rows as plain tables: {least:.2f} s; {sum(steps.values()) / least:.1f} times that")
        for turn in range(1, 4):
            said = ", ".join(f"{name} {seconds:.2f} s" for name, seconds in opened(target).items())
            print(f"opened, turn {turn}: {said}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
