"""Places cited in the rules, handbooks and advisory material of the United States."""

from rvsmlog.standards.source import Source, Status

_TEXT = "2026 text"
_BEFORE_64 = "text before Amendment 23-64"


def _cfr(key: str, section: str, status: Status = Status.PUBLISHED, edition: str = _TEXT) -> Source:
    """Cite a section of Title 14 of the Code of Federal Regulations."""
    return Source(key=key, document="14 CFR", section=section, edition=edition, status=status)


def _appendix_g(key: str, section: str) -> Source:
    """Cite a section of Appendix G to Part 91, operations in RVSM airspace."""
    return _cfr(f"appendix-g-{key}", f"Part 91 Appendix G, section {section}")


def _part_43(key: str, section: str) -> Source:
    """Cite Part 43, maintenance, and its appendices."""
    return _cfr(f"43-{key}", f"Part 43 {section}")


def _aim(key: str, section: str, edition: str = "2026") -> Source:
    """Cite the Aeronautical Information Manual."""
    return Source(
        key=f"aim-{key}",
        document="FAA Aeronautical Information Manual",
        section=section,
        edition=edition,
        status=Status.PUBLISHED,
    )


def _advisory(key: str, section: str, status: Status) -> Source:
    """Cite AC 91-85B, authorization of aircraft and operators for flight in RVSM airspace."""
    return Source(
        key=f"ac-91-85b{key}", document="FAA AC 91-85B", section=section, edition="", status=status
    )


_RULES: tuple[Source, ...] = (
    _appendix_g("1", "1 (definitions)"),
    _appendix_g("2", "2 (aircraft approval)"),
    _appendix_g("2b", "2(b) (data package)"),
    _appendix_g("2c", "2(c) (equipment)"),
    _appendix_g("2c-1", "2(c)(1) (altitude measurement systems)"),
    _appendix_g("2c-2", "2(c)(2) (automatic altitude control)"),
    _appendix_g("2c-3", "2(c)(3) (altitude alert)"),
    _appendix_g("2d", "2(d) (group, type certificate application on or before 9 April 1997)"),
    _appendix_g("2e", "2(e) (group, type certificate application after 9 April 1997)"),
    _appendix_g("2f", "2(f) (nongroup aircraft)"),
    _appendix_g("2g", "2(g) (TCAS compatibility)"),
    _appendix_g("3", "3 (operator authorization)"),
    _appendix_g("3c", "3(c) (evidence of capability; pilot knowledge)"),
    _appendix_g("4", "4 (RVSM operations)"),
    _appendix_g("4a", "4(a) (flight plan; route status)"),
    _appendix_g("4b", "4(b) (conditions for showing approval and for flight)"),
    _appendix_g("5", "5 (deviation authority)"),
    _appendix_g("6", "6 (reporting altitude-keeping errors)"),
    _appendix_g("7", "7 (removal or amendment of authority)"),
    _appendix_g("8", "8 (airspace designation)"),
    _appendix_g("9", "9 (aircraft equipped with ADS-B Out)"),
    _appendix_g("9a", "9(a) (equipment and monitoring)"),
    _appendix_g("9b", "9(b) (altimetry system error)"),
    _cfr("91-121", "91.121 (altimeter settings)", Status.MEMORY),
    _cfr(
        "91-135",
        "91.135(c) (equipment in Class A airspace)",
        edition="Amendment 91-314, 28 May 2010, as reprinted",
    ),
    _cfr("91-179", "91.179 (IFR cruising altitude or flight level)"),
    _cfr("91-180", "91.180 (operations within RVSM airspace)", edition="Amendment 91-276"),
    _cfr("91-211", "91.211 (supplemental oxygen)"),
    _cfr("91-213", "91.213 (inoperative instruments and equipment)"),
    _cfr("91-215", "91.215 (transponder and altitude reporting)", edition="2021 text"),
    _cfr("91-217", "91.217 (pressure altitude data and altitude reference)"),
    _cfr("91-225", "91.225 (ADS-B Out equipment and use)", edition="2025 text, as reprinted"),
    _cfr("91-227", "91.227 (ADS-B Out performance)"),
    _cfr("91-411-a1", "91.411(a)(1) (24 calendar months)"),
    _cfr("91-411-a2", "91.411(a)(2) (after opening the static system)"),
    _cfr("91-411-a3", "91.411(a)(3) (after work on altitude reporting)"),
    _cfr("91-411-b", "91.411(b) (who may test)"),
    _cfr("91-411-c", "91.411(c) (date of manufacture)"),
    _cfr("91-411-d", "91.411(d) (highest tested altitude)"),
    _cfr("91-413", "91.413 (transponder tests and inspections)"),
    _cfr("91-417", "91.417 (maintenance records)"),
    _cfr(
        "91-705",
        "91.705 (airspace of minimum navigation performance specifications)",
        edition="2014 text",
    ),
    _cfr("91-706", "91.706 (RVSM outside the United States)", edition="1997 text"),
    _cfr("135-89", "135.89 (pilots: oxygen)"),
    _cfr("135-157", "135.157 (oxygen equipment)"),
    _cfr("135-179", "135.179 (inoperable instruments and equipment)", Status.MEMORY),
    _part_43("9", "43.9 (maintenance entries)"),
    _part_43("appendix-e-a", "Appendix E(a) (static pressure system)"),
    _part_43("appendix-e-b", "Appendix E(b) (altimeter)"),
    _part_43("appendix-e-c", "Appendix E(c) (correspondence of altitude reporting)"),
    _part_43("appendix-e-d", "Appendix E(d) (records)"),
    _part_43("appendix-e-table-1", "Appendix E Table I (scale error)"),
    _part_43("appendix-e-table-2", "Appendix E Table II (test tolerances)"),
    _part_43("appendix-e-table-3", "Appendix E Table III (friction)"),
    _part_43("appendix-e-table-4", "Appendix E Table IV (pressure-altitude difference)"),
    _part_43("appendix-f", "Appendix F (transponder tests)"),
)

_CERTIFICATION: tuple[Source, ...] = (
    _cfr("25-841", "25.841 (pressurized cabins)"),
    _cfr("25-1325", "25.1325(c) (static pressure systems)"),
    _cfr("25-1443", "25.1443 (minimum mass flow of supplemental oxygen)"),
    _cfr("25-1447", "25.1447 (oxygen dispensing units)"),
    _cfr("23-2320", "23.2320 (occupant physical environment)"),
    _cfr("23-365-legacy", "23.365 (pressurized cabin loads)", edition=_BEFORE_64),
    _cfr("23-841-legacy", "23.841 (pressurized cabins)", edition=_BEFORE_64),
    _cfr("23-1325-legacy", "23.1325 (static pressure system)", edition=_BEFORE_64),
    _cfr("23-1441-legacy", "23.1441 (oxygen equipment and supply)", edition=_BEFORE_64),
    _cfr("23-1443-legacy", "23.1443 (mass flow of oxygen)", edition=_BEFORE_64),
    _cfr("23-1445-legacy", "23.1445 (oxygen distribution system)", edition=_BEFORE_64),
    _cfr("23-1447-legacy", "23.1447 (oxygen dispensing units)", edition=_BEFORE_64),
)

_GUIDANCE: tuple[Source, ...] = (
    _aim("4-1-20", "4-1-20(c) (automatic altitude reporting)", "2014 or later"),
    _aim("4-6-3", "4-6-3 (aircraft and operator approval)"),
    _aim("4-6-4", "4-6-4 (flight planning into RVSM airspace)"),
    _aim("4-6-5", "4-6-5 (pilot operating practices)"),
    _aim("4-6-8", "4-6-8 (phraseology)"),
    _aim("4-6-9", "4-6-9 (contingency actions)"),
    _aim("4-6-10", "4-6-10 (non-RVSM aircraft)"),
    _aim("4-6-11", "4-6-11 (non-RVSM climb or descent through RVSM airspace)"),
    _aim("7-2-3", "7-2-3 (altimeter errors)", "2021 or later"),
    _aim("app-4", "Appendix 4 (FAA flight plan form)"),
    _advisory("", "as a whole", Status.MEMORY),
    _advisory("-4", "chapter 4 (altitude-keeping events; aircraft withdrawn)", Status.MEMORY),
    _advisory("-4-3", "4.3 (monitoring of section 9 aircraft)", Status.SECOND_HAND),
    _advisory("-app-b", "Appendix B (pilot procedures)", Status.MEMORY),
    Source(
        key="faa-order-4-5-2",
        document="FAA Order JO 7110.65",
        section="4-5-2, table 4-5-1 (altitude assignment)",
        edition="",
        status=Status.PUBLISHED,
    ),
    Source(
        key="ac-61-107",
        document="FAA AC 61-107",
        section="table of time of useful consciousness",
        edition="type-training reprint",
        status=Status.SECOND_HAND,
    ),
    Source(
        key="rvsm-maintenance-guidance",
        document="RVSM maintenance guidance (AC 91-85B, JAA TGL 6)",
        section="paragraph 10 and following",
        edition="as restated in a training article",
        status=Status.SECOND_HAND,
    ),
    Source(
        key="faa-monitoring-dates",
        document="FAA questions and answers on RVSM height monitoring",
        section="dates and intervals",
        edition="",
        status=Status.SECOND_HAND,
    ),
    Source(
        key="mel-pl-25",
        document="FAA MMEL Policy Letter 25",
        section="definitions (repair categories, day of discovery)",
        edition="Revision 16 and later, as quoted by its users",
        status=Status.SECOND_HAND,
    ),
    Source(
        key="us-mel-extension",
        document="FAA operations specifications D095 and D195",
        section="continuing authorization to extend repair intervals",
        edition="",
        status=Status.MEMORY,
    ),
)

US_SOURCES: tuple[Source, ...] = _RULES + _CERTIFICATION + _GUIDANCE
