"""One healthy airframe for the tests of the rules; each test changes what it is about.

Everything in it is invented. The aeroplane flew twice, on 5 and 12 March 2027, and the question is
asked on 14 March 2027 about FL310.
"""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import pytest

from rvsmlog.facts import (
    EquipmentCase,
    Facts,
    FlightData,
    Logged,
    Question,
    Seal,
    with_swaps,
)
from rvsmlog.findings import Finding, Margin, Value
from rvsmlog.records.airframe import Swap
from rvsmlog.records.flights import CrossCheck
from rvsmlog.records.papers import Test
from rvsmlog.rules.base import Rule
from tests.rules.made_records import AIRFRAME_BOOK, OPERATOR_BOOK, MadeRecords, at, on

__all__ = ["Make", "Row", "at", "on"]

Row = tuple[str, str, int | None, tuple[int, ...]]


class Make(MadeRecords):
    """Builds records as logged, cases, and facts; keyword arguments change any field.

    Entry numbers are given by the test, so that it can name its evidence. Numbers up to 199 belong
    to the healthy airframe; a test's own entries take 200 and up.
    """

    def swapped(self, *swaps: Logged[Swap], **parts: Any) -> Facts:
        """Give the healthy airframe's facts after some swaps; other keywords replace parts."""
        units = with_swaps(parts.pop("equipment", self.equipment()), swaps)
        return self.facts(equipment=units, swaps=swaps, **parts)

    def flight_data(self, **fields: Any) -> FlightData:
        """Say everything of a flight with one pilot and three passengers, with no hold."""
        given: dict[str, Any] = {
            "crew": 1,
            "passengers": 3,
            "hold_level": 100,
            "hold_minutes": 0,
            "recognition_s": 30,
            "descent_fpm": 3000,
            "final_descent_fpm": 1000,
            "contaminated_minutes": 0,
        }
        return FlightData(**(given | fields))

    def equipment(self) -> tuple[EquipmentCase, ...]:
        """Give the healthy airframe's units, entries 10 to 29."""
        pairs = ("altimeter", "air-data-computer", "static-source", "static-heat", "pitot-heat")
        units = [
            self.unit(10 + 2 * row + column, function, position=str(column + 1))
            for row, function in enumerate(pairs)
            for column in range(2)
        ]
        single = (
            "altitude-alerter",
            "altitude-control",
            "transponder",
            "standby-altimeter",
            "ads-b-out",
            "cabin-pressure-control",
            "cabin-altitude-warning",
        )
        said: dict[str, dict[str, Any]] = {"ads-b-out": {"version": "TSO-C166b"}}
        units += [
            self.unit(20 + row, function, **said.get(function, {}))
            for row, function in enumerate(single)
        ]
        return tuple(units)

    def equipment_without(self, function: str) -> tuple[EquipmentCase, ...]:
        """Give the healthy airframe's units but those of a function."""
        return tuple(
            case for case in self.equipment() if case.equipment.record.function != function
        )

    def day_of_checks(self, first: int, day: str) -> tuple[Logged[CrossCheck], ...]:
        """Give the six checks of one flight as :meth:`flight` describes it."""
        times = (
            ("00:10", "ground"),
            ("00:55", "before-entry"),
            ("01:10", "level"),
            ("02:10", "hourly"),
            ("03:05", "leaving"),
            ("03:50", "after-flight"),
        )
        return tuple(
            self.crosscheck(first + number, day, time, phase)
            for number, (time, phase) in enumerate(times)
        )

    def tests(self) -> tuple[Logged[Test], ...]:
        """Give the healthy airframe's tests, entries 50 to 53."""
        return (
            self.test(50),
            self.test(51, test="leak-check", leak_ft=40),
            self.test(52, test="transponder"),
            self.test(53, test="correspondence", correspondence_ft=30),
        )

    def question(self, **fields: Any) -> Question:
        """Ask about FL310 at :attr:`NOW`, with all data of the flight."""
        return replace(Question(at=self.NOW, level=310, flight=self.flight_data()), **fields)

    def facts(self, **parts: Any) -> Facts:
        """Give the healthy airframe's facts; a keyword replaces the whole part of that name."""
        healthy: dict[str, Any] = {
            "question": self.question(),
            "time_zone": "UTC",
            "today": on("2027-03-14"),
            "airframe": self.airframe(),
            "operator": self.operator(),
            "pilots": (self.pilot(2),),
            "knowledge": (
                self.knowledge(
                    3, completed_on=on("2026-04-10"), training="initial", valid_until=None
                ),
                self.knowledge(4),
            ),
            "equipment": self.equipment(),
            "approvals": (self.approval(40), self.approval(41, approval="mel", regions=None)),
            "tests": self.tests(),
            "monitoring": (self.monitoring(60),),
            "flights": (self.flight(70, "2027-03-05", airframe_hours=1597.0), self.flight(71)),
            "crosschecks": (
                *self.day_of_checks(80, "2027-03-05"),
                *self.day_of_checks(90, "2027-03-12"),
            ),
            "oxygen": (self.oxygen_fitted(),),
            "oxygen_readings": (self.oxygen_reading(),),
            "seals": (
                Seal(logbook=OPERATOR_BOOK, entry=4, digest="0" * 64),
                Seal(logbook=AIRFRAME_BOOK, entry=199, digest="1" * 64),
            ),
        }
        return Facts(**(healthy | parts))

    def outcomes(
        self, rule: Rule, facts: Facts
    ) -> list[tuple[str, int | None, tuple[int, ...], float | None]]:
        """Judge by one rule: outcome, highest level, evidence and margin of every finding."""
        return [
            (
                str(finding.outcome),
                finding.highest_level,
                tuple(ref.entry for ref in finding.evidence),
                None if finding.margin is None else finding.margin.value,
            )
            for finding in rule.findings(facts)
        ]

    def says(self, rule: Rule, facts: Facts) -> str:
        """Judge by one rule that finds one thing, and give what it says."""
        (finding,) = rule.findings(facts)
        return finding.says

    def rows(self, rule: Rule, facts: Facts) -> list[Row]:
        """Judge by one rule: outcome, saying, highest level and evidence of every finding."""
        return [
            (
                str(finding.outcome),
                finding.says,
                finding.highest_level,
                tuple(ref.entry for ref in finding.evidence),
            )
            for finding in rule.findings(facts)
        ]

    def numbers(self, rule: Rule, facts: Facts) -> list[tuple[dict[str, Value], dict[str, Value]]]:
        """Judge by one rule: values and limits of every finding."""
        return [(dict(finding.values), dict(finding.limits)) for finding in rule.findings(facts)]

    def margins(self, rule: Rule, facts: Facts) -> list[Margin | None]:
        """Judge by one rule: the margin of every finding."""
        return [finding.margin for finding in rule.findings(facts)]

    def findings(self, rules: Iterable[Rule], facts: Facts) -> tuple[Finding, ...]:
        """Judge by several rules."""
        return tuple(finding for rule in rules for finding in rule.findings(facts))


@pytest.fixture(scope="session")
def make() -> Make:
    """Give the builder; it has no state."""
    return Make()
