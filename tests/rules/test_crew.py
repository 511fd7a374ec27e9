"""What each pilot must know: appendix G sections 3(c) and 4(b), SPA.RVSM.105."""

from dataclasses import replace
from typing import Any

import pytest

from rvsmlog.facts import Facts
from rvsmlog.rules.crew import knowledge_terms, pilot_knowledge_missing
from tests.authority_tables import leaves_none_out
from tests.rules.conftest import Make, on


def trained(make: Make, *knowledge: Any, authority: str = "us-91", **parts: Any) -> Facts:
    """Give facts with other training records."""
    return make.facts(knowledge=knowledge, airframe=make.airframe(authority=authority), **parts)


def test_training_in_date_is_met(make: Make) -> None:
    """The only pilot's newest training counts."""
    says = "recurrent RVSM training of MKO on 2027-01-10 counts until 2028-01-31: 323 days left"
    assert make.rows(pilot_knowledge_missing, make.facts()) == [("met", says, None, (4,))]


@pytest.mark.parametrize(
    ("last", "outcome"), [("2027-03-14", "met"), ("2027-03-13", "not met"), (None, "met")]
)
def test_its_last_day_counts(make: Make, last: str | None, outcome: str) -> None:
    """On its last day the training counts, the day after it does not."""
    valid_until = None if last is None else on(last)
    facts = trained(make, make.knowledge(4, valid_until=valid_until))
    (row,) = make.rows(pilot_knowledge_missing, facts)
    assert (row[0], row[2], row[3]) == (outcome, None if outcome == "met" else 280, (4,))
    if outcome == "not met":
        assert row[1] == "recurrent RVSM training of MKO on 2027-01-10 counted until 2027-03-13"


#: What is said of training that recurs, without a last day.
RECURRENT = [
    # Part 91 asks for knowledge and names no recurrence; the others train again.
    ("us-91", "met"),
    ("us-135", "advice"),
    ("eu-nco", "advice"),
    ("eu-cat", "advice"),
    ("uk-nco", "advice"),
    ("uk-cat", "advice"),
    ("au-91", "met"),
    ("nz-91", "met"),
]


@pytest.mark.parametrize(("code", "outcome"), RECURRENT)
def test_recurrent_training_without_a_last_day_is_advice(
    make: Make, code: str, outcome: str
) -> None:
    """No interval is published, so that within the common 24 months the missing day is said."""
    facts = trained(make, make.knowledge(4, valid_until=None), authority=code)
    says = "recurrent RVSM training of MKO on 2027-01-10"
    if outcome == "advice":
        says += "; it recurs, but no last day is on record"
    assert make.rows(pilot_knowledge_missing, facts) == [(outcome, says, None, (4,))]


# 24 calendar months: common practice, no source (12 or 24 are usual).
@pytest.mark.parametrize(
    ("code", "completed", "expected"),
    [
        ("eu-nco", "2025-03-01", ("advice", None)),
        ("eu-nco", "2025-02-28", ("not on record", 280)),
        ("us-135", "2010-01-01", ("not on record", 280)),
        ("us-91", "2010-01-01", ("met", None)),
    ],
)
def test_training_that_recurs_does_not_count_for_ever(
    make: Make, code: str, completed: str, expected: tuple[str, int | None]
) -> None:
    """Without a last day on record, old training that recurs shows nothing; knowledge does."""
    training = make.knowledge(4, completed_on=on(completed), valid_until=None)
    facts = replace(trained(make, training, authority=code), today=on("2027-03-31"))
    (row,) = make.rows(pilot_knowledge_missing, facts)
    assert (row[0], row[2]) == expected
    terms = [(term.last_day, term.pilot) for term in knowledge_terms(facts)]
    days = {"2025-03-01": on("2027-03-31"), "2025-02-28": on("2027-02-28")}
    last = days.get(completed, on("2012-01-31"))
    assert terms == ([] if code == "us-91" else [(last, "MKO")])


def test_the_newest_training_decides(make: Make) -> None:
    """An older training without a last day does not outlive a newer one that ended."""
    facts = trained(
        make,
        make.knowledge(3, completed_on=on("2020-01-10"), valid_until=None),
        make.knowledge(4, completed_on=on("2026-01-10"), valid_until=on("2027-01-31")),
    )
    assert make.rows(pilot_knowledge_missing, facts)[0][::2] == ("not met", 280)


def test_without_training_on_record(make: Make) -> None:
    """No training, or another pilot's, is not on record."""
    says = "no RVSM training of pilot MKO on record"
    rows = [("not on record", says, 280, (2,))]
    assert make.rows(pilot_knowledge_missing, trained(make)) == rows
    other = trained(make, make.knowledge(4, pilot="ABE"))
    assert make.rows(pilot_knowledge_missing, other) == rows


def test_the_pilot_named_is_taken(make: Make) -> None:
    """Of two pilots the one named is judged, in either case."""
    pilots = (make.pilot(2), make.pilot(200, code="ABE"))
    facts = make.facts(pilots=pilots, question=make.question(pilot=" mko "))
    assert make.rows(pilot_knowledge_missing, facts)[0][0] == "met"
    facts = make.facts(pilots=pilots, question=make.question(pilot="ABE"))
    says = "no RVSM training of pilot ABE on record"
    assert make.rows(pilot_knowledge_missing, facts) == [("not on record", says, 280, (200,))]


@pytest.mark.parametrize(
    ("codes", "named", "says", "remedy"),
    [
        (
            (),
            None,
            "no pilot on record",
            "Record the pilot with `rvsmlog crew add`, the training with `rvsmlog crew train`.",
        ),
        (
            ("MKO", "ABE"),
            None,
            "2 pilots on record and none named",
            "Name one of ABE, MKO with --pilot.",
        ),
        (
            ("MKO",),
            "ZZZ",
            "pilot ZZZ is not on record",
            "Record pilot ZZZ with `rvsmlog crew add`, or name another.",
        ),
    ],
)
def test_an_unknown_pilot_is_not_on_record(
    make: Make, codes: tuple[str, ...], named: str | None, says: str, remedy: str
) -> None:
    """No pilot, several and none named, and an unknown code have messages of their own."""
    pilots = tuple(make.pilot(200 + row, code=code) for row, code in enumerate(codes))
    facts = make.facts(pilots=pilots, question=make.question(pilot=named))
    (finding,) = pilot_knowledge_missing.findings(facts)
    assert (finding.outcome, finding.says) == ("not on record", says)
    assert (finding.highest_level, finding.remedy) == (280, remedy)


def two(make: Make, crew: int | None = 2, second: str | None = None, **parts: Any) -> Facts:
    """Give facts of a flight of two pilots, MKO and ABE on record, MKO named as the first."""
    flight = make.flight_data(crew=crew, second_pilot=second)
    parts.setdefault("pilots", (make.pilot(2), make.pilot(200, code="ABE")))
    parts.setdefault("knowledge", (make.knowledge(4), make.knowledge(201, pilot="ABE")))
    return make.facts(question=make.question(pilot="MKO", flight=flight), **parts)


FIRST = (
    "met",
    "recurrent RVSM training of MKO on 2027-01-10 counts until 2028-01-31: 323 days left",
    None,
    (4,),
)


@pytest.mark.parametrize(("crew", "second"), [(2, "abe "), (3, "ABE"), (None, "ABE"), (1, "ABE")])
def test_each_of_two_pilots_is_asked(make: Make, crew: int | None, second: str) -> None:
    """Appendix G section 4(b): each pilot. One who is named is asked whatever --people says."""
    says = "recurrent RVSM training of ABE on 2027-01-10 counts until 2028-01-31: 323 days left"
    facts = two(make, crew, second)
    assert make.rows(pilot_knowledge_missing, facts) == [FIRST, ("met", says, None, (201,))]
    assert [term.pilot for term in knowledge_terms(facts)] == ["MKO", "ABE"]
    facts = two(make, crew, second, knowledge=(make.knowledge(4),))
    says = "no RVSM training of pilot ABE on record"
    assert make.rows(pilot_knowledge_missing, facts) == [
        FIRST,
        ("not on record", says, 280, (200,)),
    ]


@pytest.mark.parametrize(("last", "outcome"), [("2027-03-14", "met"), ("2027-03-13", "not met")])
def test_the_last_day_of_the_second_counts(make: Make, last: str, outcome: str) -> None:
    """Each training is held to its own last day."""
    training = make.knowledge(201, pilot="ABE", valid_until=on(last))
    facts = two(make, 2, "ABE", knowledge=(make.knowledge(4), training))
    assert [row[0] for row in make.rows(pilot_knowledge_missing, facts)] == ["met", outcome]


@pytest.mark.parametrize(
    ("crew", "second", "says"),
    [
        (2, None, "2 fly the aeroplane, and no second pilot is named"),
        (3, None, "3 fly the aeroplane, and no second pilot is named"),
        (2, "MKO", "pilot MKO is named as the second pilot too"),
        (2, "ZZZ", "pilot ZZZ is not on record"),
    ],
)
def test_a_second_pilot_who_is_not_known_is_not_on_record(
    make: Make, crew: int, second: str | None, says: str
) -> None:
    """The first one's training stands for nobody else."""
    assert make.rows(pilot_knowledge_missing, two(make, crew, second)) == [
        FIRST,
        ("not on record", says, 280, (2, 200)),
    ]


@pytest.mark.parametrize("crew", [1, None])
def test_one_who_flies_alone_has_no_second(make: Make, crew: int | None) -> None:
    """With one pilot, or nothing said of the people, one is asked."""
    facts = two(make, crew)
    assert make.rows(pilot_knowledge_missing, facts) == [FIRST]
    assert [term.pilot for term in knowledge_terms(facts)] == ["MKO"]


def test_no_authority_is_left_out() -> None:
    """Each has its row in the table."""
    leaves_none_out({row[0] for row in RECURRENT}, "RECURRENT")
