"""Cross-checks out of recorded flight data: made, and entered all at once or not at all."""

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from pathlib import Path

from rvsmlog.dates import show_instant
from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.slips import slips
from rvsmlog.science.level_segments import Criterion, Segment, level_segments
from rvsmlog.store.connection import Store
from rvsmlog.store.importing.duplicates import Duplicates
from rvsmlog.store.importing.recorded_flight import Columns, Recording, Tell
from rvsmlog.store.reading.airframes import find_airframe
from rvsmlog.store.ready import made_ready
from rvsmlog.store.writing.logbook import writing

#: Phase of every comparison made: level flight, whether in RVSM airspace or not.
PHASE = "level"
_BATCH = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Extracted:
    """What a recording gave.

    Parameters
    ----------
    records : tuple of CrossCheck
        One for each stretch of level flight, from the earliest to the latest.
    rows : int
        Rows read.
    left_out : tuple of (str, int)
        What was left out and how often: rows, values, stretches.
    """

    records: tuple[CrossCheck, ...]
    rows: int
    left_out: tuple[tuple[str, int], ...]


def extract(
    path: Path,
    columns: Columns,
    criterion: Criterion,
    *,
    gnss_kind: str | None,
    tell: Tell | None = None,
) -> Extracted:
    """Make one comparison of each stretch of level flight in a recording.

    Parameters
    ----------
    path : Path
        CSV of recorded flight data.
    columns : Columns
        Which column holds what.
    criterion : Criterion
        What counts as level flight.
    gnss_kind : str or None
        What the GNSS height is above; None leaves the height out, whose column then is not named.
    tell : callable, optional
        Told how many bytes are read.

    Raises
    ------
    InputError
        When the file cannot be read, or holds no level flight; when the column of the GNSS height
        is named and what it is above is not.
    """
    if gnss_kind is None and "gnss_height_ft" in columns.named:
        raise InputError(
            "what the GNSS height is above is not said",
            "say --gnss-kind ellipsoid or mean-sea-level, as the receiver's manual says",
        )
    recording = Recording(path, columns, tell)
    records = tuple(_records(recording, criterion, gnss_kind))
    if not records:
        raise InputError(
            f"{path}: no level flight in {recording.rows:,} rows",
            "see the criterion with --help; --lowest-level and --least-minutes widen it",
        )
    left_out = tuple(sorted(recording.left_out.items()))
    return Extracted(records=records, rows=recording.rows, left_out=left_out)


def _records(
    recording: Recording, criterion: Criterion, gnss_kind: str | None
) -> Iterator[CrossCheck]:
    for segment in level_segments(recording.samples(), criterion):
        if segment.level is None:
            recording.left_out["level stretches near no whole thousand of feet"] += 1
        else:
            yield _record(segment, segment.level, recording, gnss_kind)


def _record(
    segment: Segment, level: int, recording: Recording, gnss_kind: str | None
) -> CrossCheck:
    """Make a record of a stretch; feet are whole feet."""
    middle = segment.middle
    minutes = (segment.last_s - segment.first_s) / 60.0
    height = middle.gnss_height_ft if gnss_kind is not None else None
    if height is not middle.gnss_height_ft:
        recording.left_out["GNSS heights: --gnss-kind does not say what they are above"] += 1
    return CrossCheck(
        taken_at=recording.instant(middle.at_s),
        phase=PHASE,
        primary_1_ft=round(middle.primary_1_ft),
        primary_2_ft=round(middle.primary_2_ft),
        standby_ft=_whole(middle.standby_ft),
        transponder_ft=_whole(middle.transponder_ft),
        level=level,
        mach=_rounded(middle.mach, 3),
        static_air_temperature_c=_rounded(middle.static_air_temperature_c, 1),
        total_air_temperature_c=_rounded(middle.total_air_temperature_c, 1),
        gnss_height_ft=_whole(height),
        gnss_kind=gnss_kind if height is not None else None,
        latitude_deg=_rounded(middle.latitude_deg, 5),
        longitude_deg=_rounded(middle.longitude_deg, 5),
        remarks=f"median of {segment.samples:,} recorded samples in {minutes:.0f} min",
    )


def _whole(value: float | None) -> int | None:
    return None if value is None else round(value)


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)


def enter(
    store: Store,
    registration: str,
    records: Sequence[CrossCheck],
    *,
    by: str,
    clock: Callable[[], datetime],
    readings_confirmed: bool = False,
) -> tuple[str, range]:
    """Enter comparisons in one transaction.

    Parameters
    ----------
    store : Store
        Open.
    registration : str
        The airframe.
    records : sequence of CrossCheck
        At least one.
    by : str
        Who records.
    clock : callable
        Gives the present instant.
    readings_confirmed : bool
        Whether readings stand that no altimeter shows in service.

    Returns
    -------
    tuple of str and range
        The logbook and the numbers given.

    Raises
    ------
    InputError
        When one is on record already, lies in the future, or has a reading that wants to be
        confirmed: nothing was written.
    """
    if not readings_confirmed:
        _check_likely(records)
    with writing(store, by, clock) as log:
        book = find_airframe(log.connection, registration)
        known = Duplicates(log, CrossCheck.kind)
        for first in range(0, len(records), _BATCH):
            batch = records[first : first + _BATCH]
            keys = known.keys(made_ready(CrossCheck.kind, batch))
            found = known.on_record(book, keys)
            for key, record in zip(keys, batch, strict=True):
                if key in found:
                    raise InputError(
                        f"the comparison of {show_instant(record.taken_at)} is on record already "
                        f"as {book.name}#{found[key]}; nothing was written",
                        "this recording was entered before; leave it out",
                    )
        return book.name, log.append_many(book, records)


def _check_likely(records: Sequence[CrossCheck]) -> None:
    """Refuse comparisons of which one has a reading that no altimeter shows in service."""
    for record in records:
        for each in slips(record):
            raise InputError(
                f"the comparison of {show_instant(record.taken_at)}: {each.field}: {each.says}; "
                "nothing was written",
                "look at the file and its columns; where each was recorded so, add "
                "--readings-confirmed",
            )
