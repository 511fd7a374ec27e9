"""ADS-B Out in airspace of the United States.

14 CFR 91.225 as reprinted (published): (a) in Class A airspace TSO-C166b or C166c on 1090 MHz that
meets 91.227, unless air traffic control authorises otherwise; (b) below 18,000 ft TSO-C154c or
C154d (UAT) serves too; (d) with AIM 3-2-6: Class E at and above 10,000 ft MSL. 91.135(c): the same
of Class A. DO-260B and DO-282B are the documents that these orders refer to.
"""

from typing import Any

import pytest

from rvsmlog.facts import EquipmentCase, Facts
from rvsmlog.frozen import replace
from rvsmlog.rules.ads_b import ads_b_route_not_applicable
from rvsmlog.rules.ads_b_out import ads_b_out_missing
from rvsmlog.rules.ads_b_standard import Standard, standard_of
from tests.rules.conftest import Make

#: The highest thousand below 10,000 ft, and the highest below 18,000 ft.
BELOW_10_000, BELOW_18_000 = 90, 170
MET = ("met", "ADS-B Out on record: TSO-C166b, no open defect", None, (24,))


def flying(make: Make, *units: EquipmentCase, region: str | None = "US", **parts: Any) -> Facts:
    """Give facts of a flight in a region with other ADS-B Out units than the healthy one's."""
    others = make.equipment_without("ads-b-out")
    return make.facts(question=make.question(region=region), equipment=(*others, *units), **parts)


def one(
    make: Make, entry: int = 24, version: str | None = "TSO-C166b", **more: Any
) -> EquipmentCase:
    """Log an ADS-B Out."""
    return make.unit(entry, "ads-b-out", version=version, **more)


@pytest.mark.parametrize(
    "code", ["us-91", "us-135", "eu-nco", "eu-cat", "uk-nco", "au-91", "nz-91"]
)
@pytest.mark.parametrize("region", ["US", "NAM", "ALL"])
def test_it_is_asked_of_everybody_in_airspace_of_the_united_states(
    make: Make, code: str, region: str
) -> None:
    """91.225 is about the airspace, so a foreign airframe is asked too."""
    airframe = make.airframe(authority=code)
    facts = flying(make, one(make), region=region, airframe=airframe)
    assert make.rows(ads_b_out_missing, facts) == [MET]
    facts = flying(make, region=region, airframe=airframe)
    assert make.rows(ads_b_out_missing, facts) == [
        ("not on record", "no ADS-B Out on record as fitted", BELOW_10_000, (1,))
    ]


@pytest.mark.parametrize("region", ["EUR", "NAT", "PAC", "CAR", "ASIA"])
def test_elsewhere_it_is_not_asked(make: Make, region: str) -> None:
    """91.225 ends with the airspace of the United States."""
    says = f"region {region}: 91.225 is about airspace of the United States"
    assert make.rows(ads_b_out_missing, flying(make, region=region)) == [
        ("not applicable", says, None, ())
    ]


def test_an_unknown_region_may_be_the_united_states(make: Make) -> None:
    """Where no region is known, what is missing is not passed over."""
    operator = make.operator(region=None)
    facts = flying(make, region=None, operator=operator)
    assert make.rows(ads_b_out_missing, facts)[0][::2] == ("not on record", BELOW_10_000)
    facts = flying(make, one(make), region=None, operator=operator)
    assert make.rows(ads_b_out_missing, facts) == [MET]


def test_an_open_defect_bars_deferred_or_not(make: Make) -> None:
    """91.225(g): with one that does not work air traffic control is asked; that is not recorded."""
    defect = make.defect(200, function="ads-b-out")
    facts = flying(make, one(make), defects=(make.case(defect),))
    says = "ADS-B Out: defect #200 open, not deferred"
    assert make.rows(ads_b_out_missing, facts) == [("not met", says, BELOW_10_000, (200,))]
    (finding,) = ads_b_out_missing.findings(facts)
    assert "cannot be recorded here" in finding.remedy
    facts = flying(make, one(make), defects=(make.case(defect, deferral=make.deferral(201, 200)),))
    says = "ADS-B Out: defect #200 deferred under item 34-99-1"
    assert make.rows(ads_b_out_missing, facts) == [("not met", says, BELOW_10_000, (200, 201))]
    mended = make.case(defect, rectification=make.rectification(202, 200))
    assert make.rows(ads_b_out_missing, flying(make, one(make), defects=(mended,))) == [MET]


def test_one_of_two_is_enough(make: Make) -> None:
    """A second unit of the standard serves while the first has a defect at its position."""
    two = (one(make, position="1"), one(make, 25, position="2"))
    case = make.case(make.defect(200, function="ads-b-out", position="1"))
    says = "ADS-B Out 2 on record: TSO-C166b, no open defect"
    assert make.rows(ads_b_out_missing, flying(make, *two, defects=(case,))) == [
        ("met", says, None, (25, 200))
    ]
    case = make.case(make.defect(200, function="ads-b-out"))
    says = "ADS-B Out: defect #200 open, not deferred"
    assert make.rows(ads_b_out_missing, flying(make, *two, defects=(case,))) == [
        ("not met", says, BELOW_10_000, (200,))
    ]


@pytest.mark.parametrize(
    ("version", "outcome", "highest"),
    [
        ("TSO-C166b", "met", None),
        ("TSO-C166c", "met", None),
        ("ETSO C166b", "met", None),
        ("DO-260B", "met", None),
        ("91.227, 1090 ES", "not on record", BELOW_10_000),
        ("1090ES and UAT", "not on record", BELOW_10_000),
        ("TSO-C166a", "not met", BELOW_10_000),
        ("TSO-C166", "not met", BELOW_10_000),
        ("1090ES, DO-260A", "not met", BELOW_10_000),
        ("DO-260", "not met", BELOW_10_000),
        ("TSO-C154c", "not met", BELOW_18_000),
        ("TSO-C154d", "not met", BELOW_18_000),
        ("DO-282C", "not met", BELOW_18_000),
        ("TSO-C154", "not met", BELOW_10_000),
        ("TSO-C154a", "not met", BELOW_10_000),
        ("TSO-C154b", "not met", BELOW_10_000),
        ("DO-282A", "not met", BELOW_10_000),
        ("UAT", "not on record", BELOW_10_000),
        ("978", "not on record", BELOW_10_000),
        ("UAT, MOPS version 2", "not on record", BELOW_10_000),
        ("DO-282B, 978 MHz", "not met", BELOW_18_000),
        ("3.2", "not on record", BELOW_10_000),
        (None, "not on record", BELOW_10_000),
    ],
)
def test_the_standard_on_record(
    make: Make, version: str | None, outcome: str, highest: int | None
) -> None:
    """(a)(1): C166b or C166c; (b): C154c and C154d below 18,000 ft; earlier ones nowhere."""
    facts = flying(make, one(make, version=version))
    assert make.outcomes(ads_b_out_missing, facts) == [(outcome, highest, (24,), None)]


def test_a_uat_beside_one_for_class_a_takes_nothing_away(make: Make) -> None:
    """One unit of the standard is enough, whatever else is fitted."""
    facts = flying(make, one(make, 25, "TSO-C154c"), one(make))
    assert make.rows(ads_b_out_missing, facts) == [MET]


def test_a_uat_does_not_serve_under_section_9(make: Make) -> None:
    """Section 9(a)(5) asks for one that meets 91.227; in Class A airspace that is on 1090 MHz."""
    facts = flying(
        make,
        one(make, version="TSO-C154c"),
        approvals=(make.approval(200, approval="rvsm-ads-b"),),
    )
    says = (
        "ADS-B based authority #200: ADS-B Out: TSO-C154c, a universal access transceiver, which "
        "serves below 18,000 ft only"
    )
    assert make.rows(ads_b_route_not_applicable, facts) == [("not met", says, 280, (24,))]


def test_a_standard_is_read_in_either_case() -> None:
    """What somebody typed counts however it was typed."""
    assert standard_of("tso-c166B") is standard_of("do260b") is Standard.CLASS_A
    assert standard_of("tso-c154C") is standard_of("tso c154D") is Standard.UAT


@pytest.mark.parametrize(
    "version",
    [
        *("TSOC166b", "TSO-C166 b", "TSO-C166-b", "TSO C-166B", "C166b", "(E)TSO-C166b"),
        *("DO 260B", "RTCA/DO-260B", "DO-260C", "TSO\u2011C166c", "TSO-C166b (DO-260B), Class A1S"),
        # That these ask for DO-260B, and the numbers of its versions: from memory.
        *("ED-102A", "ED-102A/DO-260B", "CS-ACNS", "1090ES version 2", "1090 ES, MOPS v3"),
        *("TSO-C166b, 91.227", "meets 91.227, TSO-C166b, 1090 MHz", "TSO-C166b and TSO-C154c"),
        *("TSO-C166b or later", "TSO-C112e, TSO-C166b", "TSO-C166b, software 3.2"),
    ],
)
def test_spellings_of_a_good_standard(version: str) -> None:
    """(a)(1): TSO-C166b or C166c."""
    assert standard_of(version) is Standard.CLASS_A


@pytest.mark.parametrize(
    "version",
    [
        # An older one, alone or beside a good one.
        *("1090ES version 1", "1090 v0", "AMC 20-24 1090ES", "ED-102", "1090ES, C166a"),
        *("TSO-C166b, DO-260A", "TSO-C166a, upgrade to TSO-C166b pending", "DO-260B version 1"),
        # Words that deny or doubt it, and slips of the key.
        *("not TSO-C166b", "1090ES, does not meet 91.227", "TSO-C166b pending", "TSO-C166b?"),
        *("lacks TSO-C166b", "no TSO-C166b", "TSO-C154c or TSO-C166b", "non-TSO-C166b"),
        *("TSO-C166v", "C1660b", "1090ES version 2.1", "1090ES version 20"),
        # Nothing of a standard: a number alone may be the software's, or of the other link.
        *("1090", "1090ES", "version 2", "software version 2", "978 version 2, 1090", "91.227", ""),
    ],
)
def test_what_is_no_proof_of_a_standard(make: Make, version: str) -> None:
    """What does not name TSO-C166b, C166c or what stands for it, and nothing against it, limits."""
    (row,) = make.rows(ads_b_out_missing, flying(make, one(make, version=version or None)))
    assert row[0] in ("not met", "not on record")
    assert row[2] == BELOW_10_000


def test_the_remedy_names_the_entry_that_stands(make: Make) -> None:
    """An entry that was corrected is not corrected once more: its newest one is."""
    unit = one(make, version="1090ES")
    corrected = replace(
        unit,
        equipment=replace(unit.equipment, ref=replace(unit.equipment.ref, entry=107), first=24),
    )
    (finding,) = ads_b_out_missing.findings(flying(make, corrected))
    assert finding.remedy.startswith("Correct entry #107 ")
    assert "--version TSO-C166b" in finding.remedy


def test_a_defect_whose_end_opens_class_a_is_named_beside_the_uat(make: Make) -> None:
    """The unit for Class A has a defect, the UAT works: rectifying the defect is a way too."""
    two = (one(make, position="1"), one(make, 25, "TSO-C154c", position="2"))
    case = make.case(make.defect(200, function="ads-b-out", position="1"))
    (finding,) = ads_b_out_missing.findings(flying(make, *two, defects=(case,)))
    assert finding.highest_level == BELOW_18_000
    assert finding.remedy.startswith("Rectify defect #200 ")
    assert [ref.entry for ref in finding.evidence] == [25, 200]
    # Where the unit with the defect would not serve either, nothing is promised.
    two = (one(make, version="TSO-C166a", position="1"), two[1])
    (finding,) = ads_b_out_missing.findings(flying(make, *two, defects=(case,)))
    assert "#200" not in finding.remedy
