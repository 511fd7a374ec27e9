"""The rule on the minimum equipment list: 14 CFR 91.213 and ORO.MLR.105, published."""

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from rvsmlog.facts import ApprovalCase, Facts
from rvsmlog.rules import deferral_list
from rvsmlog.rules.deferral_list import deferral_without_mel
from rvsmlog.standards.authorities import authority

if TYPE_CHECKING:
    from tests.rules.conftest import Make

NO_FLIGHT = 0


def deferred(make: "Make", *approvals: ApprovalCase, **parts: Any) -> Facts:
    """Give facts with an open deferral, entry 201, and some approvals."""
    case = make.case(make.defect(200), deferral=make.deferral(201, 200))
    return make.facts(**({"defects": (case,), "approvals": approvals} | parts))


def mel(make: "Make", **fields: Any) -> ApprovalCase:
    """Log the approval of a minimum equipment list, entry 210."""
    return make.approval(210, approval="mel", regions=None, **fields)


def test_no_deferral_open(make: "Make") -> None:
    """Without an open deferral no list is needed."""
    rectified = make.case(
        make.defect(200),
        deferral=make.deferral(201, 200),
        rectification=make.rectification(202, 200),
    )
    loose = make.case(make.defect(200))
    for case in (rectified, loose):
        facts = make.facts(defects=(case,), approvals=())
        assert make.outcomes(deferral_without_mel, facts) == [("not applicable", None, (), None)]


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"registration": "QXABC"},
        {"holder": "MERROW  AIR"},
        {"expires_on": "2027-03-14"},
        {"issued_on": "2027-03-14"},
    ],
)
def test_list_counts(make: "Make", fields: dict[str, str]) -> None:
    """A list counts from its first day to its last, under the same marks and name."""
    given = {name: make.on(text) if name.endswith("_on") else text for name, text in fields.items()}
    facts = deferred(make, mel(make, **given))
    assert make.outcomes(deferral_without_mel, facts) == [("met", None, (210, 201), None)]


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"registration": "QX-ABD"}, "names registration QX-ABD"),
        ({"holder": "Fenwick Aero"}, "names holder Fenwick Aero"),
        ({"expires_on": "2027-03-13"}, "expired on 2027-03-13"),
        ({"issued_on": "2027-03-15"}, "not valid before 2027-03-15"),
        ({"withdrawn": "2027-03-14"}, "withdrawn on 2027-03-14"),
    ],
)
def test_list_does_not_count(make: "Make", fields: dict[str, str], says: str) -> None:
    """A list in another name, expired, not yet issued or withdrawn does not count."""
    given: dict[str, Any] = {
        name: make.on(text) if name.endswith("_on") else text for name, text in fields.items()
    }
    day = given.pop("withdrawn", None)
    withdrawal = None if day is None else make.withdrawal(211, 210, day)
    facts = deferred(make, mel(make, withdrawal=withdrawal, **given))
    assert make.outcomes(deferral_without_mel, facts) == [
        ("not on record", NO_FLIGHT, (201, 210), None)
    ]
    assert says in make.says(deferral_without_mel, facts)


def test_list_counts_until_the_day_before_its_withdrawal(make: "Make") -> None:
    """The day of withdrawal is the first on which it no longer counts."""
    facts = deferred(make, mel(make, withdrawal=make.withdrawal(211, 210, "2027-03-15")))
    assert make.outcomes(deferral_without_mel, facts) == [("met", None, (210, 201), None)]


def test_newest_list_is_named(make: "Make") -> None:
    """Of two lists that count the newer one is named, and of two that do not as well."""
    for marks, outcome in (
        ("QX-ABC", ("met", None, (211, 201), None)),
        ("QX-ABD", ("not on record", NO_FLIGHT, (201, 211), None)),
    ):
        lists = tuple(
            make.approval(entry, approval="mel", regions=None, registration=marks)
            for entry in (210, 211)
        )
        assert make.outcomes(deferral_without_mel, deferred(make, *lists)) == [outcome]


def test_no_list_on_record(make: "Make") -> None:
    """An RVSM approval is no list; without one the flight may not go."""
    facts = deferred(make, make.approval(210))
    assert make.outcomes(deferral_without_mel, facts) == [
        ("not on record", NO_FLIGHT, (201,), None)
    ]


def test_operator_not_on_record(make: "Make") -> None:
    """Without an operator on record nobody's list can count."""
    facts = deferred(make, mel(make), operator=None)
    assert make.outcomes(deferral_without_mel, facts) == [
        ("not on record", NO_FLIGHT, (201, 210), None)
    ]
    assert "operator not on record" in make.says(deferral_without_mel, facts)


def test_list_not_required(make: "Make", monkeypatch: pytest.MonkeyPatch) -> None:
    """Under an authority that lets defer without a list the finding is advice.

    None of the authorities on record does, so one is made up.
    """
    lenient = replace(authority("us-91"), mel_required_for_deferral=False)
    monkeypatch.setattr(deferral_list, "authority", lambda _code: lenient)
    assert make.outcomes(deferral_without_mel, deferred(make)) == [("advice", None, (201,), None)]


@pytest.mark.parametrize(
    ("code", "word", "source"),
    [
        ("eu-nco", "notified", "nco-gen-155"),
        ("uk-nco", "notified", "nco-gen-155"),
        ("eu-cat", "approved", "oro-mlr-105"),
        ("us-91", "approved", "91-213"),
    ],
)
def test_under_part_nco_the_list_is_notified(
    make: "Make", code: str, word: str, source: str
) -> None:
    """NCO.GEN.155(b): the list and each change of it is notified to the authority."""
    facts = deferred(make, airframe=make.airframe(authority=code))
    (finding,) = deferral_without_mel.findings(facts)
    assert (str(finding.outcome), finding.highest_level) == ("not on record", NO_FLIGHT)
    assert finding.says == f"defect deferred, no {word} minimum equipment list on record"
    assert source in finding.sources
    assert ("notified" in finding.remedy) == (word == "notified")
