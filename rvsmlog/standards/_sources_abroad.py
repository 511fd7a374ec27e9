"""Places cited outside the United States: ICAO, Europe, United Kingdom, Australia, New Zealand."""

from rvsmlog.standards.source import Source, Status

_AMC = "Acceptable means of compliance to the UK and EU air operations rules"
_RULES = "UK and EU air operations rules"


def _amc(key: str, section: str) -> Source:
    """Cite the acceptable means of compliance that the UK and the EU share."""
    return Source(
        key=key,
        document=_AMC,
        section=section,
        edition="consolidated text",
        status=Status.PUBLISHED,
    )


def _rule(key: str, section: str, status: Status = Status.PUBLISHED) -> Source:
    """Cite the air operations rules that the UK and the EU share."""
    return Source(
        key=key, document=_RULES, section=section, edition="consolidated text", status=status
    )


def _procedures(phase: str, letter: str, title: str) -> Source:
    """Cite the procedures of flight in RVSM airspace, read on pages that do not bear their number.

    They are AMC2 from memory; AMC1, read as well, has the application's content and no procedures.
    """
    return _amc(f"spa-rvsm-105-{phase}", f"AMC SPA.RVSM.105({letter}) ({title})")


def _guidance(key: str, section: str) -> Source:
    """Cite the guidance material that the UK and the EU share."""
    return Source(
        key=key,
        document="Guidance material to the UK and EU air operations rules",
        section=section,
        edition="consolidated text",
        status=Status.PUBLISHED,
    )


def _icao(key: str, document: str, section: str, status: Status, edition: str = "") -> Source:
    """Cite an ICAO document."""
    return Source(
        key=key, document=f"ICAO {document}", section=section, edition=edition, status=status
    )


def _other(key: str, document: str, section: str, status: Status, edition: str = "") -> Source:
    """Cite anything else."""
    return Source(key=key, document=document, section=section, edition=edition, status=status)


def _nat(letter: str, subject: str) -> Source:
    """Cite one paragraph of the North Atlantic guidance on flight in RVSM airspace."""
    return _icao(
        f"nat-doc-001-3-5-1{letter}",
        "NAT Doc 001",
        f"3.5.1({letter}) ({subject})",
        Status.PUBLISHED,
    )


_EUROPE: tuple[Source, ...] = (
    _rule("spa-gen-100", "SPA.GEN.100 (competent authority for specific approvals)"),
    _rule("spa-rvsm-100", "SPA.RVSM.100 (approval)", Status.MEMORY),
    _procedures("pre-flight", "b", "pre-flight"),
    _procedures("entry", "c", "before entry"),
    _procedures("in-flight", "d", "in flight"),
    _procedures("post-flight", "e", "after flight"),
    _amc("spa-rvsm-105-mel", "AMC1 SPA.RVSM.105(f) (minimum equipment list)"),
    _rule("spa-rvsm-105-training", "SPA.RVSM.105 (training of flight crew)"),
    _rule("spa-rvsm-110", "SPA.RVSM.110 (equipment)"),
    _rule("spa-rvsm-115", "SPA.RVSM.115 (reporting height-keeping errors)"),
    _rule("spa-rvsm-115-c", "SPA.RVSM.115(c) (immediate action on height-keeping errors)"),
    _amc("aro-ops-200-d1", "AMC2 ARO.OPS.200(d)(1) (immediate action, suspension)"),
    _amc("aro-ops-200", "AMC2 ARO.OPS.200(d) (monitoring and approval)"),
    _rule("oro-mlr-105", "ORO.MLR.105 (minimum equipment list)"),
    _rule("oro-mlr-105-f", "ORO.MLR.105(f) (extension of rectification intervals)"),
    _guidance("oro-mlr-105-d3", "GM1 ORO.MLR.105(d)(3) (special approvals in the MEL)"),
    _other(
        "air-ops-article-6",
        "Regulation (EU) 965/2012",
        "Article 6, derogation for turboprops up to 5,700 kg",
        Status.SECOND_HAND,
        "as amended by Regulation (EU) 2016/1199, as pages of EASA and of authorities say",
    ),
    _rule("nco-gen-155", "NCO.GEN.155 (minimum equipment list)"),
    _rule("nco-ide-a-105", "NCO.IDE.A.105 (minimum equipment for flight)"),
    _rule("nco-op-190", "NCO.OP.190 (use of supplemental oxygen)"),
    _rule("nco-ide-a-150", "NCO.IDE.A.150 (supplemental oxygen, pressurised aeroplanes)"),
    _rule("cat-ide-a-235", "CAT.IDE.A.235 (supplemental oxygen, pressurised aeroplanes)"),
    _rule("cat-ide-a-235-table-1", "CAT.IDE.A.235 Table 1", Status.MEMORY),
    _amc("cat-ide-a-235-profiles", "AMC to CAT.IDE.A.235(f)(g)(h) (descent profiles)"),
    _rule("cat-op-mpa-285", "CAT.OP.MPA.285 (use of supplemental oxygen)", Status.MEMORY),
    _other(
        "jaa-tgl-6",
        "JAA Temporary Guidance Leaflet 6",
        "maintenance after a reported height-keeping error",
        Status.MEMORY,
    ),
    _other(
        "european-deviation-report",
        "European altitude deviation report form and guidance",
        "boxes 1 to 13",
        Status.PUBLISHED,
    ),
)

_ICAO: tuple[Source, ...] = (
    _icao("nat-doc-001-3-5-1", "NAT Doc 001", "3.5.1 (in-flight procedures)", Status.PUBLISHED),
    _nat("a", "altimeter setting"),
    _nat("c", "overshoot and undershoot"),
    _nat("d", "automatic altitude control engaged"),
    _nat("e", "altitude alert engaged"),
    _nat("f", "hourly cross-check"),
    _nat("g", "altimetry feeding the transponder"),
    _nat("h", "deviation notified by ATC"),
    _icao("nat-doc-007", "NAT Doc 007", "altimetry in North Atlantic airspace", Status.MEMORY),
    _icao(
        "annex-6-1-7-2-7",
        "Annex 6 Part I",
        "7.2.7 (height monitoring)",
        Status.SECOND_HAND,
        "effective 18 November 2010, as quoted by a regional monitoring agency",
    ),
    _icao("annex-6-1-4-4-10", "Annex 6 Part I", "4.4.10 (rates near a level)", Status.MEMORY),
    _icao("annex-6-2-2-5-2", "Annex 6 Part II", "2.5.2 (RVSM equipment)", Status.MEMORY),
    _icao("annex-6-2-2-5-2-9", "Annex 6 Part II", "2.5.2.9 (height monitoring)", Status.MEMORY),
    _icao(
        "annex-2-app-3",
        "Annex 2",
        "Appendix 3 (tables of cruising levels)",
        Status.SECOND_HAND,
        "as the French rules of the air carry it, read up to FL310",
    ),
    _other(
        "national-cruising-levels",
        "Aeronautical information publications of Italy, France, Portugal and Spain",
        "cruising levels",
        Status.MEMORY,
    ),
    _icao("doc-4444-app-2", "Doc 4444", "flight plan form, items 8, 10 and 18", Status.SECOND_HAND),
    _icao("doc-9574", "Doc 9574", "height-keeping performance", Status.MEMORY),
    _icao("doc-7488", "Doc 7488", "standard atmosphere", Status.MEMORY),
    _icao("mmr-table", "minimum monitoring requirements", "monitoring classes", Status.MEMORY),
    _other(
        "regional-monitoring-agency",
        "Guidance of the regional monitoring agencies",
        "minimum monitoring; large height deviations",
        Status.PUBLISHED,
    ),
    _other(
        "large-height-deviation-form",
        "Regional large height deviation form F4",
        "notes and fields",
        Status.PUBLISHED,
    ),
)

_SOUTH: tuple[Source, ...] = (
    _other(
        "casa-91-mos-2-08",
        "CASA Part 91 Manual of Standards",
        "2.08 (IFR specified cruising levels)",
        Status.MEMORY,
    ),
    _other("casa-91-mos-26-43", "CASA Part 91 MOS", "26.43 (supplemental oxygen)", Status.MEMORY),
    _other(
        "casa-91-mos-28",
        "CASA Part 91 Manual of Standards",
        "chapter 28 (minimum equipment lists)",
        Status.PUBLISHED,
    ),
    _other(
        "casa-mel-extension",
        "CASA rules on minimum equipment lists",
        "rectification interval extension",
        Status.MEMORY,
    ),
    _other(
        "casa-rvsm",
        "CASA CAAP 181A-1(2)",
        "RVSM approvals",
        Status.PUBLISHED,
        "August 2012; the rules have moved since",
    ),
    _other(
        "casa-periodic-tests",
        "CASA maintenance requirements",
        "periodic tests of altimeters and transponders",
        Status.MEMORY,
    ),
    _other(
        "nz-91-313",
        "New Zealand CAR Part 91",
        "91.313 and 91.425 (cruising levels)",
        Status.PUBLISHED,
    ),
    _other("nz-91-605", "New Zealand CAR Part 91", "91.605 (periodic tests)", Status.MEMORY),
    _other(
        "nz-91-rvsm",
        "New Zealand CAR Part 91",
        "91.519 (RVSM operations)",
        Status.SECOND_HAND,
        "as the authority's page on AC91-4, Revision 2 of December 2014, names it",
    ),
    _other(
        "nat-hla",
        "North Atlantic high level airspace",
        "FL285 to FL420, authorization of its own",
        Status.SECOND_HAND,
        "as pages for pilots describe it",
    ),
    _other("nz-91-mel", "New Zealand CAR Part 91", "inoperative equipment", Status.MEMORY),
)

_TRADE: tuple[Source, ...] = (
    _other(
        "mel-preamble",
        "Airline MEL preambles and authority MEL templates",
        "repair categories",
        Status.PUBLISHED,
    ),
    _other("practice", "Common practice of the trade", "no published source", Status.PRACTICE),
    _other(
        "derived",
        "Computed from published figures",
        "the figures are named beside the value",
        Status.DERIVED,
    ),
)

ABROAD_SOURCES: tuple[Source, ...] = _EUROPE + _ICAO + _SOUTH + _TRADE
