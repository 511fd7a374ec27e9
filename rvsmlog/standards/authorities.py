"""What each aviation authority asks, with the source of each figure and how sure it is.

Where an authority states no figure of its own, the United States' or ICAO's stands in, and the
source says so: common practice, or from memory.
"""

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from types import MappingProxyType

from rvsmlog.errors import InputError
from rvsmlog.frozen import dataclass
from rvsmlog.standards.cruising_levels import Split
from rvsmlog.standards.repair_intervals import Category, ExtensionPolicy
from rvsmlog.standards.rvsm import (
    CROSSCHECK_TOLERANCE_FT,
    GROUND_BETWEEN_TOLERANCE_FT,
    GROUND_CHECK_TOLERANCE_FT,
)
from rvsmlog.standards.source import Figure, Source
from rvsmlog.standards.sources import source


@dataclass(frozen=True, slots=True, kw_only=True)
class Authority:
    """One authority and kind of operation.

    Parameters
    ----------
    code : str
        For example ``us-91``; the part before the dash is the state.
    title : str
        Name in running text.
    static_test_months, transponder_test_months : Figure of int
        Calendar months for which a test counts.
    crosscheck_tolerance_ft, ground_check_tolerance_ft : Figure of int
        Altimeter tolerances in flight and before it.
    ground_between_ft : Figure of int or None
        Greatest difference between the two primaries before flight; None where the text leaves it
        to the aeroplane's manual.
    report_hours : Figure of int or None
        Time limit for reporting a height-keeping error; None where the rule states none.
    adsb_route_allowed : bool
        Whether RVSM may be flown on ADS-B Out performance alone, without a specific approval.
    adsb_route_source : Source
        Where that stands.
    extension_policy : ExtensionPolicy
        Which repair intervals may be extended.
    mel_required_for_deferral : bool
        Whether a defect may be deferred only under an approved minimum equipment list.
    mel_source : Source
        Where that stands.
    mel_notified : bool
        Whether the list is notified to the authority instead of approved by it.
    oxygen_rule : str
        Key of the oxygen rule.
    knowledge_recurrent : bool
        Whether RVSM training recurs.
    knowledge_source : Source
        Where that stands.
    track_split : Split
        Tracks that take the odd levels at home.
    notes : tuple of str
        What a reader must know.
    """

    code: str
    title: str
    static_test_months: Figure[int]
    transponder_test_months: Figure[int]
    crosscheck_tolerance_ft: Figure[int]
    ground_check_tolerance_ft: Figure[int]
    ground_between_ft: Figure[int] | None
    report_hours: Figure[int] | None
    adsb_route_allowed: bool
    adsb_route_source: Source
    extension_policy: ExtensionPolicy
    mel_required_for_deferral: bool
    mel_source: Source
    oxygen_rule: str
    knowledge_recurrent: bool
    knowledge_source: Source
    track_split: Split
    mel_notified: bool = False
    notes: tuple[str, ...] = ()

    @property
    def state(self) -> str:
        """The part of the code before the dash: ``us``, ``eu``, ``uk``, ``au`` or ``nz``."""
        return self.code.partition("-")[0]


def _months(key: str, note: str = "") -> Figure[int]:
    """State the 24 calendar months that every authority here uses, each on its own ground."""
    return Figure(value=24, unit="calendar months", source=source(key), note=note)


_PROGRAMME = "the maintenance programme states the interval; the United States' figure stands in"

_US_91 = Authority(
    code="us-91",
    title="United States, 14 CFR Part 91",
    static_test_months=_months("91-411-a1"),
    transponder_test_months=_months("91-413"),
    crosscheck_tolerance_ft=replace(
        CROSSCHECK_TOLERANCE_FT, source=source("nat-doc-001-3-5-1f"), note="AC 91-85B agrees"
    ),
    ground_check_tolerance_ft=replace(
        GROUND_CHECK_TOLERANCE_FT,
        source=source("ac-91-85b-app-b"),
        note="AIM 7-2-3 calls an altimeter questionable at 75 ft already",
    ),
    # AC 91-85B appendix B, from memory: 75 ft from the elevation; how far the two may be apart is
    # the aeroplane's operating manual's.
    ground_between_ft=None,
    report_hours=None,
    adsb_route_allowed=True,
    adsb_route_source=source("appendix-g-9"),
    extension_policy=ExtensionPolicy(
        categories=(),
        times=0,
        source=source("us-mel-extension"),
        note="continuing authorization is for holders of operations specifications; a letter of "
        "authorization under Part 91 is not taken to include it",
    ),
    mel_required_for_deferral=True,
    mel_source=source("91-213"),
    oxygen_rule="us-91",
    knowledge_recurrent=False,
    knowledge_source=source("appendix-g-3c"),
    track_split=Split.EASTERLY,
    notes=(
        "Appendix G section 6 states no time limit for a report.",
        "Section 9 serves in airspace of the United States only; abroad a specific authorization "
        "is needed.",
        "MMEL Policy Letter 25 binds users under Parts 121, 125, 129 and 135 to the repair "
        "intervals; whether they bind a holder under Part 91, its letter of authorization says.",
    ),
)

_US_135 = replace(
    _US_91,
    code="us-135",
    title="United States, 14 CFR Part 135",
    extension_policy=ExtensionPolicy(
        categories=(Category.B, Category.C),
        times=1,
        source=source("us-mel-extension"),
        note="needs the continuing authorization; categories A and D need the authority's consent",
    ),
    mel_source=source("135-179"),
    notes=_US_91.notes[:2],
    oxygen_rule="us-135",
    knowledge_recurrent=True,
    knowledge_source=source("appendix-g-3"),
)

_EU_CAT = Authority(
    code="eu-cat",
    title="European Union, commercial air transport",
    static_test_months=_months("practice", _PROGRAMME),
    transponder_test_months=_months("practice", _PROGRAMME),
    crosscheck_tolerance_ft=CROSSCHECK_TOLERANCE_FT,
    ground_check_tolerance_ft=GROUND_CHECK_TOLERANCE_FT,
    ground_between_ft=GROUND_BETWEEN_TOLERANCE_FT,
    report_hours=Figure(value=72, unit="h", source=source("spa-rvsm-115")),
    adsb_route_allowed=False,
    adsb_route_source=source("spa-rvsm-100"),
    extension_policy=ExtensionPolicy(
        categories=(Category.B, Category.C, Category.D),
        times=1,
        source=source("oro-mlr-105-f"),
        note="with approval, within the master list, only for events beyond the operator's "
        "control, and notified to the authority",
    ),
    mel_required_for_deferral=True,
    mel_source=source("oro-mlr-105"),
    oxygen_rule="eu-cat",
    knowledge_recurrent=True,
    knowledge_source=source("spa-rvsm-105-training"),
    track_split=Split.EASTERLY,
    notes=("Some European states give the odd levels to tracks 090 to 269.",),
)

_EU_NCO = replace(
    _EU_CAT,
    code="eu-nco",
    title="European Union, non-commercial, other than complex",
    extension_policy=ExtensionPolicy(
        categories=(),
        times=0,
        source=source("nco-gen-155"),
        note="ORO.MLR.105(f) is for operators under Part-ORO, which these are not; no source was "
        "read for an extension under Part-NCO, so none is taken to be allowed",
        read=False,
    ),
    mel_required_for_deferral=True,
    mel_source=source("nco-ide-a-105"),
    mel_notified=True,
    oxygen_rule="eu-nco",
    notes=(
        *_EU_CAT.notes,
        "A minimum equipment list is voluntary here and notified to the authority, not approved "
        "(NCO.GEN.155); but equipment required for the intended flight may be inoperative only "
        "under one.",
        "Part-NCC, of complex aeroplanes, is not covered: jets, and turboprops above 5,700 kg. "
        "Turboprops up to that mass fly under Part-NCO, with several engines too "
        f"({source('air-ops-article-6')}).",
    ),
)

_UK_CAT = replace(
    _EU_CAT,
    code="uk-cat",
    title="United Kingdom, commercial air transport",
    oxygen_rule="uk-cat",
    notes=(),
)
_UK_NCO = replace(
    _EU_NCO,
    code="uk-nco",
    title="United Kingdom, non-commercial, other than complex",
    oxygen_rule="uk-nco",
    notes=_EU_NCO.notes[1:],
)

_AU_91 = replace(
    _US_91,
    code="au-91",
    title="Australia, CASR Part 91",
    static_test_months=_months("casa-periodic-tests", "verify against the maintenance schedule"),
    transponder_test_months=_months(
        "casa-periodic-tests", "verify against the maintenance schedule"
    ),
    ground_check_tolerance_ft=replace(
        GROUND_CHECK_TOLERANCE_FT, source=source("practice"), note="the European figure stands in"
    ),
    ground_between_ft=replace(
        GROUND_BETWEEN_TOLERANCE_FT, source=source("practice"), note="the European figure stands in"
    ),
    adsb_route_allowed=False,
    adsb_route_source=source("casa-rvsm"),
    extension_policy=ExtensionPolicy(
        categories=(),
        times=0,
        source=source("casa-mel-extension"),
        note="the wording of the Australian rule was not read, so none is taken to be allowed",
        read=False,
    ),
    mel_source=source("casa-91-mos-28"),
    oxygen_rule="au-91",
    knowledge_source=source("casa-rvsm"),
    notes=("No time limit for a report was found; none is checked.",),
)

_NZ_91 = replace(
    _AU_91,
    code="nz-91",
    title="New Zealand, CAR Part 91",
    static_test_months=_months("nz-91-605", "verify against the rule"),
    transponder_test_months=_months("nz-91-605", "verify against the rule"),
    adsb_route_source=source("nz-91-rvsm"),
    extension_policy=ExtensionPolicy(
        categories=(),
        times=0,
        source=source("nz-91-mel"),
        note="the wording of the New Zealand rule was not read, so none is taken to be allowed",
        read=False,
    ),
    mel_source=source("nz-91-mel"),
    oxygen_rule="nz-91",
    knowledge_source=source("nz-91-rvsm"),
    track_split=Split.NORTHERLY,
)

#: Every authority overlay, by its code.
AUTHORITIES: Mapping[str, Authority] = MappingProxyType(
    {
        overlay.code: overlay
        for overlay in (_US_91, _US_135, _EU_NCO, _EU_CAT, _UK_NCO, _UK_CAT, _AU_91, _NZ_91)
    }
)


@lru_cache(maxsize=64)
def authority(code: str) -> Authority:
    """Give the overlay of an authority code.

    Raises
    ------
    InputError
        When there is no such code; the hint lists them.

    Examples
    --------
    >>> authority("nz-91").track_split
    <Split.NORTHERLY: '270-089'>
    """
    overlay = AUTHORITIES.get(code.strip().lower())
    if overlay is None:
        raise InputError(f"{code!r} is no authority", "authorities are " + ", ".join(AUTHORITIES))
    return overlay
