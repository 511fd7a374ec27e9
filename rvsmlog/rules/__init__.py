"""The catalogue of rules: one literal tuple, in the order in which a reader wants the findings."""

from rvsmlog.rules.base import Rule
from rvsmlog.rules.level import level_above_certificated

#: Edition of the rules; raised with every change of what a rule finds.
RULEBOOK = "2026-11 edition 1"

RULES: tuple[Rule, ...] = (level_above_certificated,)
