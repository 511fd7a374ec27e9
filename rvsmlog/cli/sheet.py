"""One cross-check as a paper sheet: which fields in which order, what each asks, what is known."""

from collections.abc import Mapping
from dataclasses import field
from datetime import datetime
from types import MappingProxyType
from typing import Any

from rvsmlog.cli.answers import check_past, chosen, in_own_unit, moment
from rvsmlog.dates import show_instant
from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.records.airframe import Airframe
from rvsmlog.records.asked import PROMPTS, START, asked_in
from rvsmlog.records.base import FieldSpec
from rvsmlog.records.fields import Choice
from rvsmlog.records.flights import GROUND_PHASES, CrossCheck
from rvsmlog.records.slips import ALTITUDES, slip
from rvsmlog.records.trade_fields import Instant
from rvsmlog.reports.text import WIDTH, Line, command_lines, wrap
from rvsmlog.store.writing.vetting import FUTURE_TOLERANCE

KIND = CrossCheck.kind
_WITH_HEIGHT = frozenset(("gnss_kind", "latitude_deg", "longitude_deg"))

#: What `?` tells beside the field's own description.
EXPLAINED: Mapping[str, str] = MappingProxyType(
    {
        "phase": "ground: before flight at a known elevation. before-entry: before RVSM airspace. "
        "level: on reaching the level. hourly: at about one hour's interval. leaving: on the way "
        "out. after-flight: after landing at a known elevation.",
        "taken_at": "The moment at which both altimeters were read, in UTC: a full date and time, "
        "or `now`, or a time of day such as 10:05Z (the last one, or the one nearest to the check "
        "before).",
        "level": "The flight level held, on 1013.25 hPa; the tolerance is that of this level.",
        "field_elevation_ft": "Of the very spot, from the aerodrome chart; the apron may differ "
        "from the published elevation.",
        "qnh_hpa": "As set on both sub-scales; inches may be written as 29.92 inHg.",
        "primary_1_ft": "As read, all digits, on the sub-scale setting of the phase.",
        "primary_2_ft": "As read at the same moment, all digits.",
        "standby_ft": "It tells which primary is wrong when the two part.",
        "transponder_ft": "The pressure altitude that the transponder reports, as its display or "
        "ATC gives it.",
        "mach": "Static source error changes with it; trends are compared at like Mach numbers.",
        "static_air_temperature_c": "Outside air, corrected for speed. Below zero with a minus.",
        "total_air_temperature_c": "As the probe reads it. Below zero with a minus.",
        "gnss_height_ft": "With it an error common to both altimeters can be found.",
        "gnss_kind": "Most receivers show height above mean sea level; raw data are above the "
        "ellipsoid. The two differ by up to some 350 ft: see the receiver's manual.",
        "latitude_deg": "For the geoid and the weather where the GNSS height was read.",
        "longitude_deg": "For the geoid and the weather where the GNSS height was read.",
        "pilot": "The code by which the crew list names the pilot.",
        "remarks": "Turbulence, autopilot off, icing, anything that explains a reading.",
    }
)


@dataclass(slots=True, kw_only=True)
class Sheet:
    """A cross-check while it is filled in.

    Parameters
    ----------
    airframe : Airframe
        Whose tolerances hold.
    now : datetime
        The present instant.
    earlier : datetime or None
        The instant of the check before it.
    offered : dict of str to str
        Answers that Enter takes, by field.
    given : frozenset of str
        Fields answered on the command line: kept even where the phase does not ask for them.
    texts : dict of str to str
        Answers as text, by field; None for those passed over.
    values : dict of str to value
        The same as values.
    kept : set of str
        Doubts about readings that were typed again to keep them.
    """

    airframe: Airframe
    now: datetime
    earlier: datetime | None = None
    offered: dict[str, str] = field(default_factory=dict)
    given: frozenset[str] = frozenset()
    texts: dict[str, str | None] = field(default_factory=dict)
    values: dict[str, Any] = field(default_factory=dict)
    kept: set[str] = field(default_factory=set)

    @property
    def on_ground(self) -> bool:
        """Whether it is a check at a known elevation."""
        return self.values.get("phase") in GROUND_PHASES

    def fields(self) -> tuple[str, ...]:
        """Give the fields of this sheet in their order."""
        if "phase" not in self.values:
            return START
        asked = asked_in(self.values["phase"])
        with_height = self.values.get("gnss_height_ft") is not None
        without = frozenset() if with_height else _WITH_HEIGHT - self.given
        extra = tuple(name for name in self.texts if name in self.given and name not in asked)
        return (*(name for name in asked if name not in without), *extra)

    def next_field(self) -> str | None:
        """Give the first field that is not answered yet."""
        return next((name for name in self.fields() if name not in self.texts), None)

    def is_wanted(self, name: str) -> bool:
        """Whether a field may not be passed over on this sheet."""
        if name == "gnss_kind":
            return self.values.get("gnss_height_ft") is not None
        needed = {"field_elevation_ft", "qnh_hpa"} if self.on_ground else {"level"}
        return KIND.by_name[name].required or name in needed

    def put(self, name: str, text: str) -> None:
        """Take an answer.

        Raises
        ------
        InputError
            When it is no value of the field.
        """
        spec = KIND.by_name[name]
        value = self._read(spec, text)
        self.values[name], self.texts[name] = value, spec.type.show(value)

    def _read(self, spec: FieldSpec, text: str) -> Any:
        """Read an answer, short forms too."""
        if isinstance(spec.type, Choice):
            return chosen(spec.type, text)
        if isinstance(spec.type, Instant):
            instant = moment(text, self.now, self.earlier)
            check_past(instant, self.now, FUTURE_TOLERANCE)
            return instant
        return spec.type.parse(in_own_unit(spec.name, text))

    def skip(self, name: str) -> None:
        """Pass a field over."""
        self.texts[name] = None
        self.values.pop(name, None)

    def doubt(self, name: str) -> str:
        """Say why an altitude may be a slip of the finger; nothing when it is likely."""
        if name not in ALTITUDES or name not in self.values:
            return ""
        found = slip(
            name,
            self.values[name],
            level=None if self.on_ground else self.values.get("level"),
            elevation_ft=self.values.get("field_elevation_ft") if self.on_ground else None,
        )
        return "" if found is None else found.says

    def next_doubt(self) -> str | None:
        """Give the first reading that may be a slip and was not typed again to keep it."""
        for name in self.fields():
            doubt = self.doubt(name)
            if doubt and doubt not in self.kept:
                return name
        return None

    def answers(self) -> dict[str, str | None]:
        """Give the answers that belong to this sheet."""
        return {name: self.texts.get(name) for name in self.fields()}


def question(sheet: Sheet, name: str) -> str:
    """Give the prompt of a field: what it is, and what Enter does."""
    if name in sheet.offered:
        enter = f" [{sheet.offered[name]}]"
    else:
        enter = "" if sheet.is_wanted(name) else " (Enter: none)"
    return f"{PROMPTS[name]}{enter}: "


def choices(name: str) -> list[Line]:
    """List the words of a field that takes one of a few."""
    kind = KIND.by_name[name].type
    if not isinstance(kind, Choice):
        return []
    return wrap("  ".join(f"{at} {word}" for at, word in enumerate(kind.words, start=1)), 2, 2)


def explained(name: str) -> list[Line]:
    """Explain a field."""
    spec = KIND.by_name[name]
    return [
        *wrap(f"{spec.type.help}: {spec.type.wanted}", 2, 4),
        *wrap(EXPLAINED[name], 2, 2),
    ]


def find_field(sheet: Sheet, text: str) -> str:
    """Find the field of a sheet by its name or the beginning of it.

    Raises
    ------
    InputError
        When there is none, or several.
    """
    wanted = text.strip().lower().replace("-", "_").replace(" ", "_")
    found = [name for name in sheet.fields() if wanted and name.startswith(wanted)]
    if wanted in found:
        return wanted
    if len(found) != 1:
        names = ", ".join(name.replace("_", "-") for name in found or sheet.fields())
        says = f"{text.strip()!r} names no field" if not found else f"{text.strip()!r} is not one"
        raise InputError(says, f"fields: {names}")
    return found[0]


def summary(sheet: Sheet) -> list[Line]:
    """Show the whole sheet, then the same in one line of the command."""
    lines = []
    for name in sheet.fields():
        text = sheet.texts.get(name)
        if text is not None:
            lines += wrap(f"{name.replace('_', ' '):<26}{text}", 2, 28)
    return lines


def one_line(sheet: Sheet, corrects: int | None = None, reason: str | None = None) -> list[Line]:
    """Give the command that enters the same in one line, the whole of a correction too."""
    parts = ["rvsmlog crosscheck log", sheet.airframe.registration]
    for name, text in sheet.answers().items():
        if text is not None:
            parts.append(f"{KIND.by_name[name].option} {_quoted(text)}")
        elif corrects is not None and name in sheet.offered:
            parts.append(f"{KIND.by_name[name].option} ''")
    if sheet.kept:
        parts.append("--readings-confirmed")
    if corrects is not None:
        parts.append(f"--corrects {corrects} --reason {_quoted(reason or '')}")
    return [Line(f"  {line}") for line in command_lines(" ".join(parts), WIDTH - 2)]


def _quoted(text: str) -> str:
    """Quote what a shell would split or read."""
    plain = all(character.isalnum() or character in "-+.:,_/" for character in text)
    return text if plain else "'" + text.replace("'", "'\\''") + "'"


def carried(sheet: Sheet) -> dict[str, str]:
    """Give what the next sheet offers: the time and the pilot of this one."""
    offered = {"taken_at": show_instant(sheet.values["taken_at"])}
    if sheet.texts.get("pilot"):
        offered["pilot"] = str(sheet.texts["pilot"])
    return offered
