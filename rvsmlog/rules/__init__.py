"""The catalogue of rules: one literal tuple, in the order in which a reader wants the findings."""

from rvsmlog.rules.base import Rule

#: Edition of the rules; raised with every change of what a rule finds.
RULEBOOK = "2026-11 edition 1"

RULES: tuple[Rule, ...] = ()
