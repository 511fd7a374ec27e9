"""What hangs on the calendar: the rules whose answer a day may change, and what they go by."""

from collections.abc import Callable, Iterable

from rvsmlog.facts import Facts
from rvsmlog.rules import RULES
from rvsmlog.rules.ads_b import ads_b_route_not_applicable
from rvsmlog.rules.approvals import approval_terms, rvsm_approval_missing
from rvsmlog.rules.base import Rule
from rvsmlog.rules.crew import knowledge_terms, pilot_codes, pilot_knowledge_missing
from rvsmlog.rules.crosschecks import crosscheck_terms, crosschecks_too_old
from rvsmlog.rules.deferral_list import deferral_without_mel, mel_terms
from rvsmlog.rules.deferrals import deferral_overdue, deferral_terms
from rvsmlog.rules.deviations import report_terms
from rvsmlog.rules.drift import altimeters_drifting
from rvsmlog.rules.drift_due import drift_terms
from rvsmlog.rules.height_error import height_error_unconfirmed
from rvsmlog.rules.monitoring import height_monitoring_beyond_limits
from rvsmlog.rules.monitoring_due import height_monitoring_overdue, monitoring_terms
from rvsmlog.rules.oxygen_record import oxygen_reading_terms, oxygen_reading_too_old
from rvsmlog.rules.reporting_due import (
    altitude_reporting_terms,
    altitude_reporting_test_overdue,
)
from rvsmlog.rules.term import Term
from rvsmlog.rules.tests_due import static_test_overdue, static_test_terms
from rvsmlog.rules.transponder import transponder_terms, transponder_test_overdue

Terms = Callable[[Facts], Iterable[Term]]

#: Rules that look at which approval the flight rests on, and at what that one asks.
PAPER_RULES: tuple[Rule, ...] = (
    rvsm_approval_missing,
    ads_b_route_not_applicable,
    height_monitoring_overdue,
    height_monitoring_beyond_limits,
    height_error_unconfirmed,
)
#: What their answer goes by. It may be another once an approval begins or ends.
PAPER_TERMS: tuple[Terms, ...] = (approval_terms, mel_terms, monitoring_terms)
#: Every rule whose highest level may change from one day to the next with nothing recorded.
DATED: tuple[Rule, ...] = (
    *PAPER_RULES,
    deferral_overdue,
    deferral_without_mel,
    pilot_knowledge_missing,
    static_test_overdue,
    altitude_reporting_test_overdue,
    transponder_test_overdue,
    crosschecks_too_old,
    oxygen_reading_too_old,
    altimeters_drifting,
)
#: Rules that ask for what must hold as long as the flight lasts, not for what is done before it.
#: An overdue deferral is left out: that rule counts to the end of the flight in words of its own.
TO_THE_END: tuple[Rule, ...] = (
    *PAPER_RULES,
    deferral_without_mel,
    pilot_knowledge_missing,
    static_test_overdue,
    altitude_reporting_test_overdue,
    transponder_test_overdue,
)
#: What ends on a day, or with hours flown.
TERMS: tuple[Terms, ...] = (
    *PAPER_TERMS,
    deferral_terms,
    knowledge_terms,
    static_test_terms,
    altitude_reporting_terms,
    transponder_terms,
    crosscheck_terms,
    oxygen_reading_terms,
    drift_terms,
    report_terms,
)


_WITHOUT_CREW = tuple(rule for rule in RULES if rule is not pilot_knowledge_missing)


def rules_for(facts: Facts) -> tuple[Rule, ...]:
    """Give the rules for a look at the airframe: those of the crew only where the pilot is known.

    Of several pilots none may be named; which of them may fly is then a question by itself.
    """
    known = facts.question.pilot is not None or len(pilot_codes(facts)) <= 1
    return RULES if known else _WITHOUT_CREW
