"""Places that only the figures on oxygen and the body cite."""

from rvsmlog.standards.source import Source, Status


def _place(key: str, document: str, section: str, edition: str, status: Status) -> Source:
    """Cite one place."""
    return Source(key=key, document=document, section=section, edition=edition, status=status)


OXYGEN_ONLY_SOURCES: tuple[Source, ...] = (
    _place("25-1439", "14 CFR", "25.1439(b)(5) (protective breathing)", "2024", Status.PUBLISHED),
    _place(
        "121-331",
        "14 CFR",
        "121.331(b) (two-hour supply, reciprocating engines)",
        "as reprinted",
        Status.PUBLISHED,
    ),
    _place(
        "amc1-cat-ide-a-235-e",
        "Acceptable means of compliance to the UK and EU air operations rules",
        "AMC1 CAT.IDE.A.235(e) (recognition and reaction)",
        "consolidated text",
        Status.PUBLISHED,
    ),
    _place(
        "casa-91-guide-oxygen",
        "CASA plain English guide to Part 91",
        "summary of MOS 26.43 (supplemental oxygen)",
        "2021",
        Status.SECOND_HAND,
    ),
    _place(
        "nz-91-209",
        "New Zealand CAR Part 91",
        "91.209 (use of oxygen equipment), as summarised for training",
        "",
        Status.SECOND_HAND,
    ),
    _place(
        "gerg-2008-oxygen",
        "GERG-2008 equation of state (ISO 20765-2)",
        "pure oxygen, as coded in NIST's public AGA 8 programs",
        "2008",
        Status.SECOND_HAND,
    ),
    _place(
        "mask-to-10000", "Trade practice", "crew breathe oxygen to 10,000 ft", "", Status.PRACTICE
    ),
    _place("free-gas-70-f", "Trade usage", "litres NTPD: 70 F, 760 mmHg, dry", "", Status.MEMORY),
    _place(
        "slow-reaction",
        "Human Factors & Aviation Medicine 47/1",
        "reaction of pilots",
        "",
        Status.PUBLISHED,
    ),
)
