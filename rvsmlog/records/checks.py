"""The go/no-go check itself, kept as an entry so that it can be repeated."""

from datetime import datetime
from typing import Annotated

from rvsmlog.frozen import dataclass
from rvsmlog.records.base import Logbook, Record, record
from rvsmlog.records.fields import Choice, Text, Whole
from rvsmlog.records.trade_fields import Instant, Level
from rvsmlog.standards.regions import REGIONS


@record("gonogo", Logbook.AIRFRAME, title="go/no-go check")
@dataclass(frozen=True, slots=True, kw_only=True)
class GoNoGo(Record):
    """A check that was made: what was asked, what was known, what was answered."""

    at: Annotated[datetime, Instant("the instant asked about")]
    verdict: Annotated[str, Choice("the answer", words=("GO", "NO-GO"))]
    rulebook: Annotated[str, Text("edition of the rules", longest=60)]
    operator_entry: Annotated[
        int, Whole("newest entry of the operator's logbook that was known", low=0)
    ]
    airframe_entry: Annotated[
        int, Whole("newest entry of the airframe's logbook that was known", low=0)
    ]
    planned_level: Annotated[int | None, Level("level planned")] = None
    highest_level: Annotated[int | None, Level("highest level that may be used")] = None
    region: Annotated[str | None, Choice("region asked about", words=tuple(REGIONS))] = None
    pilot: Annotated[str | None, Text("the pilot's code", longest=8, upper=True)] = None
    question: Annotated[
        str | None, Text("what else was said of the flight; as JSON", longest=20000)
    ] = None
    limiting: Annotated[
        str | None, Text("rules that set the highest level; with commas between", longest=20000)
    ] = None
    operator_seal: Annotated[
        str | None,
        Text("digest of that entry of the operator's logbook", longest=64, pattern=r"[0-9a-f]{64}"),
    ] = None
