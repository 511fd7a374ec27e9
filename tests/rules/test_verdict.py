"""The verdict: one number from all findings. Properties hold for any set of bad facts."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rvsmlog.facts import Facts, Question
from rvsmlog.findings import Finding, Outcome
from rvsmlog.rules import OXYGEN_RULES, RULES
from rvsmlog.rules.level import level_above_certificated
from rvsmlog.standards.authorities import AUTHORITIES
from rvsmlog.standards.equipment import Function
from rvsmlog.verdict import CAUTION, Answer, judge, lowest_level
from tests.rules.conftest import Make, at, on

MAKE = Make()
Worse = Callable[[Facts], Facts]


def without(part: str) -> Worse:
    """Leave a part of the facts empty."""
    change: dict[str, Any] = {part: None if part == "operator" else ()}
    return lambda facts: replace(facts, **change)


def adding(part: str, *items: Any) -> Worse:
    """Add bad entries to a part."""

    def add(facts: Facts) -> Facts:
        change: dict[str, Any] = {part: (*getattr(facts, part), *items)}
        return replace(facts, **change)

    return add


def without_test(kind: str) -> Worse:
    """Leave out the tests of one kind."""
    return lambda facts: replace(
        facts, tests=tuple(test for test in facts.tests if test.record.test != kind)
    )


def without_unit(function: str) -> Worse:
    """Leave out the units of one function."""
    return lambda facts: replace(
        facts,
        equipment=tuple(
            case for case in facts.equipment if case.equipment.record.function != function
        ),
    )


def with_defect(entry: int, function: str) -> Worse:
    """Add an open defect."""
    return adding("defects", MAKE.case(MAKE.defect(entry, function=function)))


def later(day: str) -> Worse:
    """Let time pass without anything new on record; never backwards."""
    return lambda facts: (
        facts
        if facts.today >= on(day)
        else replace(facts, today=on(day), question=replace(facts.question, at=at(day, "02:30")))
    )


def lower(level: int) -> Worse:
    """Lower the certificated level."""
    return lambda facts: replace(
        facts,
        airframe=MAKE.airframe(highest_level=min(level, facts.particulars.highest_level)),
    )


def ending_at(feet: int) -> Worse:
    """Let every altimeter test on record have ended at an altitude, or lower."""

    def cap(test: Any) -> Any:
        record = test.record
        if record.tested_altitude_ft is None:
            return test
        lowest = min(feet, record.tested_altitude_ft)
        return replace(test, record=replace(record, tested_altitude_ft=lowest))

    return lambda facts: replace(facts, tests=tuple(cap(test) for test in facts.tests))


#: What makes facts worse, each from its own side, in the order in which several are applied.
WORSE: tuple[Worse, ...] = (
    without("operator"),
    without("pilots"),
    without("knowledge"),
    without("approvals"),
    without("monitoring"),
    without("crosschecks"),
    without("tests"),
    without("equipment"),
    lower(300),
    lower(270),
    without_test("altimeter-static"),
    without_test("transponder"),
    ending_at(30000),
    ending_at(25000),
    adding("tests", MAKE.test(302, passed=False, position="2", done_on=on("2027-03-02"))),
    adding("tests", MAKE.test(303, test="transponder", passed=False, done_on=on("2027-03-02"))),
    adding("tests", MAKE.test(304, test="leak-check", leak_ft=900, done_on=on("2027-03-02"))),
    adding("work", MAKE.work(310, "2027-03-13", work=("static-system-opened",))),
    adding("work", MAKE.work(311, "2027-03-13", work=("altitude-reporting",))),
    adding("work", MAKE.work(312, "2027-03-13", position="1")),
    adding("deviations", MAKE.deviation(320)),
    adding("deviations", MAKE.deviation(321, aad_ft=100)),
    adding("monitoring", MAKE.monitoring(330, measured_on=on("2027-03-01"), ase_ft=230)),
    *(without_unit(function) for function in Function),
    *(with_defect(340 + row, function) for row, function in enumerate(Function)),
    later("2027-09-01"),
    later("2029-09-01"),
    later("2032-03-01"),
)
SETS = st.sets(st.sampled_from(range(len(WORSE))), max_size=4)
LEVELS = st.one_of(st.none(), st.integers(min_value=10, max_value=450))


def made_worse(numbers: set[int], level: int | None = 310) -> Facts:
    """Give the healthy airframe's facts, made worse in several ways."""
    facts = MAKE.facts(question=MAKE.question(level=level))
    for number in sorted(numbers):
        facts = WORSE[number](facts)
    return facts


def rank(level: int | None) -> int:
    """Order levels: no flight is the lowest."""
    return 0 if level is None else level


@settings(max_examples=80, deadline=None)
@given(numbers=SETS, one_more=st.sampled_from(range(len(WORSE))), level=LEVELS)
def test_the_level_never_rises_when_a_fact_gets_worse(
    numbers: set[int], one_more: int, level: int | None
) -> None:
    """One more bad fact leaves the highest level or lowers it."""
    before = judge(made_worse(numbers, level)).highest_level
    after = judge(made_worse(numbers | {one_more}, level)).highest_level
    assert rank(after) <= rank(before)


@pytest.mark.parametrize("number", range(len(WORSE)))
def test_each_single_bad_fact_leaves_the_level_or_lowers_it(number: int) -> None:
    """Against the healthy airframe, whose highest level is the certificated one."""
    verdict = judge(made_worse({number}))
    assert rank(verdict.highest_level) <= 310
    if verdict.highest_level != 310:
        assert verdict.answer is Answer.NO_GO
        assert verdict.limiting


@settings(max_examples=60, deadline=None)
@given(numbers=SETS, level=LEVELS)
def test_go_means_that_no_finding_stands_below_the_level(
    numbers: set[int], level: int | None
) -> None:
    """GO exactly when each finding lets the planned level be flown; without one, any level."""
    verdict = judge(made_worse(numbers, level))
    caps = [item.highest_level for item in verdict.findings if item.highest_level is not None]
    wanted = 1 if level is None else level
    assert (verdict.answer is Answer.GO) == all(cap >= wanted for cap in caps)


@settings(max_examples=60, deadline=None)
@given(numbers=SETS, level=LEVELS)
def test_the_highest_level_itself_is_go(numbers: set[int], level: int | None) -> None:
    """Asked again about the highest level, the answer is GO."""
    highest = judge(made_worse(numbers, level)).highest_level
    if highest is not None:
        assert judge(made_worse(numbers, highest)).answer is Answer.GO


@settings(max_examples=30, deadline=None)
@given(numbers=SETS, level=LEVELS)
def test_the_same_facts_give_the_same_verdict(numbers: set[int], level: int | None) -> None:
    """Equal facts, built twice, give equal verdicts."""
    assert judge(made_worse(numbers, level)) == judge(made_worse(numbers, level))


@settings(max_examples=40, deadline=None)
@given(numbers=SETS)
def test_what_is_wrong_has_a_remedy_and_evidence(numbers: set[int]) -> None:
    """A finding that is not met or not on record says what to do; only those and caps limit."""
    for finding in judge(made_worse(numbers)).findings:
        wrong = finding.outcome in (Outcome.NOT_MET, Outcome.NOT_ON_RECORD)
        assert finding.limits_level or not wrong
        assert bool(finding.remedy) or not wrong
        assert finding.says
        if finding.outcome in (Outcome.ADVICE, Outcome.NOT_APPLICABLE):
            assert finding.highest_level is None


@settings(max_examples=60, deadline=None)
@given(
    code=st.sampled_from(sorted(AUTHORITIES)),
    basis=st.sampled_from(["group", "non-group"]),
    level=st.one_of(st.none(), st.integers(min_value=290, max_value=450)),
    region=st.sampled_from([None, "US", "EUR", "ALL"]),
)
def test_an_airframe_without_any_evidence_never_goes(
    code: str, basis: str, level: int | None, region: str | None
) -> None:
    """Particulars alone are never a GO: missing evidence is not a pass."""
    airframe = MAKE.airframe(authority=code, rvsm_basis=basis, highest_level=450)
    facts = Facts(
        question=Question(at=MAKE.NOW, level=level, region=region),
        time_zone="UTC",
        today=on("2027-03-14"),
        airframe=airframe,
    )
    verdict = judge(facts)
    assert verdict.answer is Answer.NO_GO
    assert rank(verdict.highest_level) < 290
    assert verdict.flight_plan.item_10a_w is False


@pytest.mark.parametrize(
    "part",
    ["operator", "pilots", "knowledge", "approvals", "tests", "equipment", "crosschecks"],
)
def test_each_kind_of_evidence_is_needed(part: str) -> None:
    """Leave one kind out, and FL310 is NO-GO."""
    facts = without(part)(MAKE.facts())
    verdict = judge(facts)
    assert verdict.answer is Answer.NO_GO
    assert Outcome.NOT_ON_RECORD in {finding.outcome for finding in verdict.limiting}


def test_the_healthy_airframe_goes() -> None:
    """Everything in order: GO at the certificated level, and nothing is wrong."""
    verdict = judge(MAKE.facts())
    assert (verdict.answer, verdict.highest_level, verdict.planned_level) == (Answer.GO, 310, 310)
    assert (verdict.airframe, verdict.at) == ("QX-ABC", MAKE.NOW)
    assert verdict.seals == MAKE.facts().seals
    assert [finding.rule for finding in verdict.limiting] == ["level-above-certificated"]
    wrong = [
        finding.rule
        for finding in verdict.findings
        if finding.outcome not in (Outcome.MET, Outcome.NOT_APPLICABLE)
    ]
    assert wrong == ["altimeter-beyond-rvsm-limit", "useful-consciousness-short"]
    assert {finding.rule for finding in verdict.findings} == {rule.name for rule in RULES}
    assert verdict.flight_plan.item_10a_w is True
    assert len(verdict.to_do) == 13


def test_a_flight_that_may_not_go_has_no_level() -> None:
    """Without tests nothing remains: no level, NO-GO, nothing to file, nothing to do."""
    verdict = judge(MAKE.facts(tests=()))
    assert (verdict.highest_level, verdict.answer) == (None, Answer.NO_GO)
    assert "static-test-overdue" in {finding.rule for finding in verdict.limiting}
    assert all(finding.highest_level == 0 for finding in verdict.limiting)
    assert verdict.to_do == ()
    asked = judge(MAKE.facts(tests=(), question=MAKE.question(level=None)))
    assert asked.answer is Answer.NO_GO


def test_without_rvsm_fl280_remains() -> None:
    """With the approval withdrawn FL310 is NO-GO, FL280 is GO."""
    case = MAKE.approval(40, withdrawal=MAKE.withdrawal(200, 40, "2027-03-01"))
    verdict = judge(MAKE.facts(approvals=(case,)))
    assert (verdict.highest_level, verdict.answer) == (280, Answer.NO_GO)
    assert [finding.rule for finding in verdict.limiting] == ["rvsm-approval-missing"]
    low = judge(MAKE.facts(approvals=(case,), question=MAKE.question(level=280)))
    assert low.answer is Answer.GO


def test_rules_can_be_chosen() -> None:
    """A part of the catalogue judges by that part; no rule at all is refused."""
    verdict = judge(MAKE.facts(), (level_above_certificated,))
    assert [finding.rule for finding in verdict.findings] == ["level-above-certificated"]
    with pytest.raises(ValueError, match="empty"):
        judge(MAKE.facts(), ())


@pytest.mark.parametrize(
    ("levels", "lowest"),
    [((310, None, 280), 280), ((310,), 310), ((310, 0, 280), None), ((None, 0), None)],
)
def test_the_lowest_of_the_levels_counts(
    levels: tuple[int | None, ...], lowest: int | None
) -> None:
    """None sets no limit, zero is no flight."""
    findings = [
        Finding(rule="x", outcome=Outcome.MET, says="x", highest_level=level) for level in levels
    ]
    assert lowest_level(findings) == lowest


def test_the_catalogue_names_each_rule_once() -> None:
    """No two rules share a name, and the caution defers to those who decide."""
    names = [rule.name for rule in RULES]
    assert len(names) == len(set(names))
    assert "the pilot in command decide" in CAUTION


def test_a_seal_is_written_with_its_number() -> None:
    """Logbook, entry and digest."""
    assert str(MAKE.facts().seals[0]) == "operator#4:" + "0" * 64


def test_facts_answer_simple_questions() -> None:
    """Region asked about or usual; reviews of an entry; what is open and fitted."""
    facts = MAKE.facts(reviews=(MAKE.review(200, 71), MAKE.review(201, 70)))
    assert facts.region == "NAM"
    assert replace(facts, operator=None).region is None
    assert replace(facts, question=MAKE.question(region="EUR")).region == "EUR"
    assert [review.first for review in facts.reviews_of(71)] == [200]
    assert [case.equipment.first for case in facts.fitted("transponder")] == [22]
    assert MAKE.case(MAKE.defect(200)).is_open


def test_oxygen_alone_leaves_the_letter_w_in_the_plan() -> None:
    """Without a gauge reading the level is low, but the fitness for RVSM is what it was."""
    verdict = judge(MAKE.facts(oxygen_readings=()))
    assert rank(verdict.highest_level) < 290
    assert {finding.rule for finding in verdict.limiting} <= OXYGEN_RULES
    assert verdict.flight_plan.item_10a_w is True
    both = judge(MAKE.facts(oxygen_readings=(), crosschecks=()))
    assert both.flight_plan.item_10a_w is False
