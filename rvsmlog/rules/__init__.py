"""The catalogue of rules: one literal tuple, in the order in which a reader wants the findings."""

from rvsmlog.rules.altimetry import altimeters_disagree, ground_check_out_of_limit
from rvsmlog.rules.base import Rule
from rvsmlog.rules.crosschecks import (
    altimeters_not_compared_since_work,
    crosschecks_missing,
    crosschecks_too_old,
)
from rvsmlog.rules.hourly_checks import hourly_checks_missed
from rvsmlog.rules.level import level_above_certificated
from rvsmlog.rules.witnesses import standby_disagrees, transponder_altitude_disagrees

#: Edition of the rules; raised with every change of what a rule finds.
RULEBOOK = "2026-11 edition 1"

RULES: tuple[Rule, ...] = (
    level_above_certificated,
    altimeters_disagree,
    ground_check_out_of_limit,
    standby_disagrees,
    transponder_altitude_disagrees,
    crosschecks_missing,
    crosschecks_too_old,
    altimeters_not_compared_since_work,
    hourly_checks_missed,
)
