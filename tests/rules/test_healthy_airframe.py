"""The whole catalogue on one healthy airframe, and on one that is new in the log."""

from typing import TYPE_CHECKING

from rvsmlog.findings import Outcome
from rvsmlog.rules import RULES
from rvsmlog.rules.base import HEADINGS

if TYPE_CHECKING:
    from tests.rules.conftest import Make

LONGEST_SAYING = 110
#: Rules that have nothing to judge on an airframe without defects, deviations or ACAS.
NOT_APPLICABLE = {
    "altimeters-drifting",
    "static-error-suspected",
    "acas-version-too-old",
    "ads-b-route-not-applicable",
    "appendix-e-not-followed",
    "contaminated-air-oxygen-short",
    "deferral-caps-level",
    "deferral-not-reviewed",
    "deferral-overdue",
    "deferral-without-mel",
    "deviation-open",
    "height-error-unconfirmed",
    "level-below-hold",
    "worn-mask-missing",
}
#: At FL310 the table gives 15 s, less than 15 s to notice and 5 s to don: advice to any pilot. The
#: aeroplane's own limit of scale error stands in data that few operators have at hand.
ADVICE = {"altimeter-beyond-rvsm-limit", "useful-consciousness-short"}


def test_healthy_airframe_has_no_surprise(make: "Make") -> None:
    """Every rule is met, but for those that have nothing to judge; only the ceiling limits."""
    findings = make.findings(RULES, make.facts())
    expected = {
        rule.name: (
            Outcome.NOT_APPLICABLE
            if rule.name in NOT_APPLICABLE
            else Outcome.ADVICE
            if rule.name in ADVICE
            else Outcome.MET
        )
        for rule in RULES
    }
    assert [finding.rule for finding in findings] == list(expected)
    assert {finding.rule: finding.outcome for finding in findings} == expected
    assert [finding.rule for finding in findings if finding.limits_level] == [
        "level-above-certificated"
    ]


def test_findings_are_fit_to_read(make: "Make") -> None:
    """Every finding is one line; what is met rests on an entry and needs no remedy."""
    for finding in make.findings(RULES, make.facts()):
        assert 0 < len(finding.says) <= LONGEST_SAYING, finding
        assert "\n" not in finding.says
        if finding.outcome is Outcome.MET:
            assert finding.evidence, finding
            assert finding.remedy == "", finding


def test_airframe_new_in_the_log_is_never_passed(make: "Make") -> None:
    """With particulars alone every limiting finding names its remedy, and RVSM is lost."""
    empty = make.facts(
        operator=None,
        pilots=(),
        knowledge=(),
        equipment=(),
        approvals=(),
        tests=(),
        monitoring=(),
        flights=(),
        crosschecks=(),
        oxygen=(),
        oxygen_readings=(),
    )
    findings = make.findings(RULES, empty)
    missing = {finding.rule for finding in findings if finding.outcome is Outcome.NOT_ON_RECORD}
    assert {
        "altimetry-system-missing",
        "altitude-alerter-inoperative",
        "altitude-control-inoperative",
        "cabin-altitude-warning-inoperative",
        "crosschecks-missing",
        "oxygen-not-on-record",
        "quick-donning-mask-missing",
        "transponder-inoperative",
    } <= missing
    for finding in findings:
        if finding.outcome is Outcome.NOT_ON_RECORD:
            assert finding.highest_level is not None
            assert finding.highest_level < 290
            assert finding.remedy


def test_catalogue_has_a_page_for_each_rule() -> None:
    """No name stands twice, and every heading of every page has text."""
    assert len({rule.name for rule in RULES}) == len(RULES)
    for rule in RULES:
        assert rule.summary
        assert all(rule.section(heading) for heading in HEADINGS), rule.name
