"""What to do and say when something fails in RVSM airspace, and what to note of it afterwards.

What to do is put in our own words; what is said on the radio is quoted as published.
"""

from rvsmlog.frozen import dataclass
from rvsmlog.standards.rvsm import CROSSCHECK_TOLERANCE_FT
from rvsmlog.standards.source import Figure, Source
from rvsmlog.standards.sources import source

#: Deviation by turbulence or mountain wave at and about which RVSM is given up.
TURBULENCE_DEVIATION_FT = Figure(
    value=200, unit="ft", source=source("aim-4-6-9"), note="about 200 ft or more"
)
#: Deviation of which air traffic control tells the pilot, beyond which the level is regained.
TOLD_DEVIATION_FT = Figure(
    value=300, unit="ft", source=source("nat-doc-001-3-5-1h"), note="more than 300 ft (91 m)"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Contingency:
    """One thing that may go wrong in RVSM airspace.

    Parameters
    ----------
    key : str
        Short slug.
    when : str
        What has happened.
    do : tuple of str
        What the pilot does, in order.
    say : str
        Phraseology as published; ``""`` where plain words serve.
    controller : str
        What to expect of air traffic control; ``""`` where nothing is published.
    sources : tuple of Source
        Where it stands.
    """

    key: str
    when: str
    do: tuple[str, ...]
    say: str
    controller: str
    sources: tuple[Source, ...]


def _contingency(
    key: str, when: str, *do: str, say: str = "", controller: str = "", cites: tuple[str, ...]
) -> Contingency:
    """State a contingency."""
    return Contingency(
        key=key,
        when=when,
        do=do,
        say=say,
        controller=controller,
        sources=tuple(map(source, cites)),
    )


_ACTIONS, _WORDS = "aim-4-6-9", "aim-4-6-8"
_UNABLE = "UNABLE RVSM DUE EQUIPMENT"

#: In the order in which a pilot would look for them.
CONTINGENCIES: tuple[Contingency, ...] = (
    _contingency(
        "primaries-differ",
        f"The two primaries differ by more than {CROSSCHECK_TOLERANCE_FT.value} ft, or by more "
        "than the aeroplane's own limit.",
        "Find out which is wrong: compare with the standby altimeter and its correction card, and "
        "with the altitude that the controller sees.",
        "Wrong one found: fly by the good one, and tell the controller that one primary is left.",
        "Not found: as if all primaries had failed; then the quoted words.",
        say=_UNABLE,
        controller="As when all primaries have failed, unless one is confirmed.",
        cites=("ac-91-85b-app-b", "nat-doc-007", "nat-doc-001-3-5-1f"),
    ),
    _contingency(
        "before-entry",
        "Something that RVSM needs fails before you are in RVSM airspace.",
        "Ask for a clearance that stays out of RVSM airspace.",
        cites=("spa-rvsm-105-entry",),
    ),
    _contingency(
        "one-primary",
        "One primary altimeter is left.",
        "Compare it with the standby altimeter.",
        "Tell the controller that you have a single primary altimeter.",
        "Where its accuracy cannot be confirmed: as if all primaries had failed.",
        controller="Acknowledges.",
        cites=(_ACTIONS,),
    ),
    _contingency(
        "required-equipment",
        "Automatic altitude control, the altitude alerter, or every primary altimeter has failed.",
        "Tell the controller.",
        "Ask to leave RVSM airspace, unless the situation asks for something else.",
        say=_UNABLE,
        controller="Gives 2,000 ft or horizontal separation, and clears you out of RVSM airspace.",
        cites=(_ACTIONS, _WORDS),
    ),
    _contingency(
        "unsure",
        "You are not sure that the level is being kept.",
        "Tell the controller.",
        "Hold the cleared level while you find out.",
        "Look out, watch the traffic display, switch the exterior lights on.",
        cites=(_ACTIONS,),
    ),
    _contingency(
        "told-off-level",
        "The controller says that you are more than "
        f"{TOLD_DEVIATION_FT.value} ft off the cleared level.",
        "Return to the cleared level at once.",
        cites=("nat-doc-001-3-5-1h",),
    ),
    _contingency(
        "transponder",
        "The transponder has failed.",
        "Ask the controller to stay at the level.",
        "Follow the clearance, also when it changes.",
        controller="Considers it with the traffic.",
        cites=(_ACTIONS, "91-215"),
    ),
    # What is published of it is not written for RVSM airspace: it has a row, and sources, of its
    # own. That a wrong report leaves one as without a report is our conclusion.
    _contingency(
        "wrong-report",
        "The transponder reports a wrong altitude.",
        "See that the altimeter is set right: the transponder always reports on 1013.25 hPa.",
        "Turn altitude reporting off when the controller says so.",
        "Then as if the transponder had failed (common practice, no source).",
        controller="May say by how many feet it differs, and ask to stop altitude reporting.",
        cites=("aim-4-1-20", "91-217"),
    ),
    _contingency(
        "turbulence",
        "Turbulence or mountain wave moves the aeroplane about "
        f"{TURBULENCE_DEVIATION_FT.value} ft or more off its level.",
        "Tell the controller how far.",
        "Ask for a heading off other traffic, another level or another route.",
        say="UNABLE RVSM DUE (reason)",
        controller="Vectors away from merging traffic where it can.",
        cites=(_ACTIONS, _WORDS),
    ),
    _contingency(
        "more-than-moderate",
        "Turbulence is more than moderate.",
        "Tell the controller.",
        cites=("spa-rvsm-105-in-flight",),
    ),
    _contingency(
        "able-again",
        "What had failed works again, or the air is smooth again.",
        "Tell the controller, once you have seen it work.",
        say="READY TO RESUME RVSM",
        controller="May ask first: CONFIRM ABLE TO RESUME RVSM.",
        cites=(_WORDS,),
    ),
    _contingency(
        "not-approved",
        "The flight is not approved for RVSM.",
        "Say so with the first call on each frequency, and with each level asked for or read back.",
        say="NEGATIVE RVSM",
        controller="Gives 2,000 ft.",
        cites=(_WORDS, "aim-4-6-10"),
    ),
)

#: What to note in flight about an altimetry fault, for the log entry after landing.
FAULT_NOTES: tuple[str, ...] = (
    "both primaries and the standby, as read",
    "the altitude selected",
    "the setting of each sub-scale",
    "the autopilot in use, and what changed with the other one",
    "the readings with the alternate static source",
    "the air data computer selected, and what changed with the other one",
    "the transponder selected, and what changed with the other one",
)
#: Where that list stands.
FAULT_NOTES_SOURCE = source("spa-rvsm-105-post-flight")
