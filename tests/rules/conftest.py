"""One healthy airframe for the tests of the rules; each test changes what it is about.

Everything in it is invented. The aeroplane flew twice, on 5 and 12 March 2027, and the question is
asked on 14 March 2027 about FL310.
"""

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any, TypeVar

import pytest

from rvsmlog.facts import (
    ApprovalCase,
    DefectCase,
    DeviationCase,
    EquipmentCase,
    Facts,
    FlightData,
    Logged,
    Question,
    Seal,
    with_swaps,
)
from rvsmlog.findings import Finding, Margin, Value
from rvsmlog.records.airframe import Airframe, Equipment, Removal, Swap, Work
from rvsmlog.records.base import Record, Ref
from rvsmlog.records.defects import (
    AltimetryFault,
    Defect,
    Deferral,
    Extension,
    Rectification,
    Review,
)
from rvsmlog.records.flights import Closure, CrossCheck, Deviation, Flight
from rvsmlog.records.operator import Knowledge, Operator, Pilot
from rvsmlog.records.oxygen import OxygenInstallation, OxygenReading
from rvsmlog.records.papers import Approval, Monitoring, Test, Withdrawal
from rvsmlog.records.readings import Readings
from rvsmlog.rules.base import Rule

R = TypeVar("R", bound=Record)
Row = tuple[str, str, int | None, tuple[int, ...]]

AIRFRAME_BOOK = "VK71-1007"
OPERATOR_BOOK = "operator"
_OPERATOR_KINDS = (Operator, Pilot, Knowledge)


def at(day: str, time: str = "12:00") -> datetime:
    """Give an instant in UTC, for example ``at("2027-03-14", "02:30")``."""
    return datetime.fromisoformat(f"{day}T{time}").replace(tzinfo=UTC)


def on(day: str) -> date:
    """Give a calendar day."""
    return date.fromisoformat(day)


class Make:
    """Builds records as logged, cases, and facts; keyword arguments change any field.

    Entry numbers are given by the test, so that it can name its evidence. Numbers up to 199 belong
    to the healthy airframe; a test's own entries take 200 and up.
    """

    NOW = at("2027-03-14", "02:30")
    at = staticmethod(at)
    on = staticmethod(on)

    def ref(self, entry: int, logbook: str = AIRFRAME_BOOK) -> Ref:
        """Name an entry."""
        return Ref(logbook=logbook, entry=entry)

    def log(
        self,
        record: R,
        entry: int,
        *,
        first: int | None = None,
        recorded_at: datetime | None = None,
    ) -> Logged[R]:
        """Log a record under a number; ``first`` is given when it corrects an earlier entry."""
        operator = isinstance(record, _OPERATOR_KINDS)
        return Logged(
            ref=self.ref(entry, OPERATOR_BOOK if operator else AIRFRAME_BOOK),
            first=entry if first is None else first,
            recorded_at=recorded_at or self.NOW,
            recorded_by="MKO",
            record=record,
        )

    def airframe(self, entry: int = 1, **fields: Any) -> Logged[Airframe]:
        """Log the airframe's particulars."""
        given: dict[str, Any] = {
            "registration": "QX-ABC",
            "type_designator": "VK71",
            "serial_number": "1007",
            "authority": "us-91",
            "rvsm_basis": "group",
            "type_certificate": "after-1997-04-09",
            "highest_level": 310,
            "icao_address": "00A1F3",
            "max_differential_psi": 6.2,
            "altimeter_resolution_ft": 20,
            "standby_tolerance": ((290, 400), (350, 500)),
        }
        return self.log(Airframe(**(given | fields)), entry)

    def operator(self, entry: int = 1, **fields: Any) -> Logged[Operator]:
        """Log the operator's particulars."""
        given: dict[str, Any] = {"name": "Merrow Air", "time_zone": "UTC", "region": "NAM"}
        return self.log(Operator(**(given | fields)), entry)

    def pilot(self, entry: int, **fields: Any) -> Logged[Pilot]:
        """Log a pilot."""
        given: dict[str, Any] = {"code": "MKO", "name": "M. Korr"}
        return self.log(Pilot(**(given | fields)), entry)

    def knowledge(self, entry: int, **fields: Any) -> Logged[Knowledge]:
        """Log a pilot's training."""
        given: dict[str, Any] = {
            "pilot": "MKO",
            "completed_on": on("2027-01-10"),
            "training": "recurrent",
            "valid_until": on("2028-01-31"),
        }
        return self.log(Knowledge(**(given | fields)), entry)

    def unit(
        self, entry: int, function: str, *, removed: Logged[Removal] | None = None, **fields: Any
    ) -> EquipmentCase:
        """Log a unit fitted on 1 May 2026; its serial number is made from its entry number."""
        given: dict[str, Any] = {
            "function": function,
            "fitted_on": on("2026-05-01"),
            "serial_number": f"S{entry:03d}",
        }
        return EquipmentCase(
            equipment=self.log(Equipment(**(given | fields)), entry), removal=removed
        )

    def removal(self, entry: int, equipment: int, removed_on: str) -> Logged[Removal]:
        """Log the removal of a unit."""
        return self.log(Removal(equipment=equipment, removed_on=on(removed_on)), entry)

    def swap(self, entry: int, unit: int, other: int, day: str, **fields: Any) -> Logged[Swap]:
        """Log that two units changed places at 09:00 UTC."""
        given: dict[str, Any] = {"swapped_at": at(day, "09:00"), "cause": "which one is wrong"}
        return self.log(Swap(unit=unit, other=other, **(given | fields)), entry)

    def swapped(self, *swaps: Logged[Swap], **parts: Any) -> Facts:
        """Give the healthy airframe's facts after some swaps; other keywords replace parts."""
        units = with_swaps(parts.pop("equipment", self.equipment()), swaps)
        return self.facts(equipment=units, swaps=swaps, **parts)

    def work(self, entry: int, done_on: str, **fields: Any) -> Logged[Work]:
        """Log maintenance work on an altimeter."""
        given: dict[str, Any] = {"work": ("altimeter",), "description": "altimeter exchanged"}
        return self.log(Work(done_on=on(done_on), **(given | fields)), entry)

    def defect(self, entry: int, **fields: Any) -> Logged[Defect]:
        """Log a defect of the altitude alerter found on 12 March 2027."""
        given: dict[str, Any] = {
            "found_at": at("2027-03-12", "04:00"),
            "function": "altitude-alerter",
            "description": "no aural alert",
        }
        return self.log(Defect(**(given | fields)), entry)

    def altimetry_fault(self, entry: int, **fields: Any) -> Logged[AltimetryFault]:
        """Log an altimetry fault noticed on 12 March 2027."""
        given: dict[str, Any] = {
            "found_at": at("2027-03-12", "02:00"),
            "description": "altimeters split in cruise",
        }
        return self.log(AltimetryFault(**(given | fields)), entry)

    def deferral(self, entry: int, defect: int, **fields: Any) -> Logged[Deferral]:
        """Log a deferral of 12 March 2027 in category C: its last day is 22 March."""
        given: dict[str, Any] = {
            "defect": defect,
            "category": "C",
            "mel_reference": "34-99-1",
            "deferred_on": on("2027-03-12"),
        }
        return self.log(Deferral(**(given | fields)), entry)

    def extension(self, entry: int, deferral: int, days: int, **fields: Any) -> Logged[Extension]:
        """Log an extension granted on 13 March 2027."""
        given: dict[str, Any] = {"granted_on": on("2027-03-13"), "granted_by": "R. Tan"}
        return self.log(Extension(deferral=deferral, days=days, **(given | fields)), entry)

    def rectification(self, entry: int, defect: int, **fields: Any) -> Logged[Rectification]:
        """Log a rectification of 13 March 2027, 09:00 UTC."""
        given: dict[str, Any] = {
            "done_at": at("2027-03-13", "09:00"),
            "work_done": "unit exchanged and tested",
            "released_by": "R. Tan",
            "licence": "LAE 40021",
            "reference": "WO-118",
        }
        return self.log(Rectification(defect=defect, **(given | fields)), entry)

    def review(self, entry: int, subject: int, **fields: Any) -> Logged[Review]:
        """Log a controller's review of 13 March 2027 that accepts the finding."""
        given: dict[str, Any] = {
            "reviewed_at": at("2027-03-13", "10:00"),
            "conclusion": "misread in turbulence",
            "accepted": True,
        }
        return self.log(Review(subject=subject, **(given | fields)), entry)

    def case(self, defect: Logged[Defect] | Logged[AltimetryFault], **parts: Any) -> DefectCase:
        """Join a defect with ``deferral``, ``extensions``, ``rectification`` and ``reviews``."""
        return DefectCase(defect=defect, **parts)

    def approval(
        self, entry: int, *, withdrawal: Logged[Withdrawal] | None = None, **fields: Any
    ) -> ApprovalCase:
        """Log an approval of 1 May 2026 for RVSM in all regions."""
        given: dict[str, Any] = {
            "approval": "rvsm",
            "registration": "QX-ABC",
            "holder": "Merrow Air",
            "issued_on": on("2026-05-01"),
            "regions": ("ALL",),
        }
        return ApprovalCase(
            approval=self.log(Approval(**(given | fields)), entry), withdrawal=withdrawal
        )

    def withdrawal(self, entry: int, approval: int, withdrawn_on: str) -> Logged[Withdrawal]:
        """Log the withdrawal of an approval."""
        record = Withdrawal(
            approval=approval, withdrawn_on=on(withdrawn_on), cause="given back by the operator"
        )
        return self.log(record, entry)

    def test(self, entry: int, **fields: Any) -> Logged[Test]:
        """Log an altimeter and static test of 10 June 2026 to 35,000 ft."""
        given: dict[str, Any] = {
            "test": "altimeter-static",
            "done_on": on("2026-06-10"),
            "passed": True,
            "done_by": "Invented bench",
            "licence": "LAE 40021",
        }
        if fields.get("test", "altimeter-static") == "altimeter-static":
            given["tested_altitude_ft"] = 35000
        return self.log(Test(**(given | fields)), entry)

    def readings(self, entry: int, test: int, **fields: Any) -> Logged[Readings]:
        """Log readings of a test: a scale error of 40 ft at 30,000 ft."""
        given: dict[str, Any] = {} if fields else {"scale_error": ((0, 0), (30_000, 40))}
        return self.log(Readings(test=test, **(given | fields)), entry)

    def monitoring(self, entry: int, **fields: Any) -> Logged[Monitoring]:
        """Log a height-monitoring result of 1 September 2026."""
        given: dict[str, Any] = {
            "measured_on": on("2026-09-01"),
            "method": "ground-station",
            "ase_ft": 40,
            "airframe_hours": 1450.0,
        }
        return self.log(Monitoring(**(given | fields)), entry)

    def flight(self, entry: int, day: str = "2027-03-12", **fields: Any) -> Logged[Flight]:
        """Log a flight of one day: off 00:30, in RVSM airspace 01:00 to 03:10, on 03:40 UTC."""
        given: dict[str, Any] = {
            "off_at": at(day, "00:30"),
            "on_at": at(day, "03:40"),
            "rvsm_from": at(day, "01:00"),
            "rvsm_to": at(day, "03:10"),
            "highest_level": 310,
            "pilot": "MKO",
            "airframe_hours": 1600.0,
        }
        return self.log(Flight(**(given | fields)), entry)

    def crosscheck(
        self, entry: int, day: str, time: str, phase: str = "hourly", **fields: Any
    ) -> Logged[CrossCheck]:
        """Log a cross-check: at FL310 in flight, on a field at 640 ft on the ground."""
        given: dict[str, Any] = {
            "primary_1_ft": 31000,
            "primary_2_ft": 30960,
            "standby_ft": 31100,
            "transponder_ft": 31000,
            "level": 310,
        }
        if phase in ("ground", "after-flight"):
            given = {
                "primary_1_ft": 650,
                "primary_2_ft": 630,
                "field_elevation_ft": 640,
                "qnh_hpa": 1015.0,
            }
        record = CrossCheck(taken_at=at(day, time), phase=phase, **(given | fields))
        return self.log(record, entry)

    def deviation(
        self, entry: int, *, closure: Logged[Closure] | None = None, **fields: Any
    ) -> DeviationCase:
        """Log an altitude deviation of 300 ft on 12 March 2027."""
        given: dict[str, Any] = {
            "occurred_at": at("2027-03-12", "02:00"),
            "description": "overshoot in climb",
            "aad_ft": 300,
        }
        return DeviationCase(
            deviation=self.log(Deviation(**(given | fields)), entry), closure=closure
        )

    def closure(self, entry: int, deviation: int, **fields: Any) -> Logged[Closure]:
        """Log the closure of a deviation on 13 March 2027."""
        given: dict[str, Any] = {
            "closed_on": on("2027-03-13"),
            "conclusion": "autopilot computer exchanged",
            "confirmed_by": "R. Tan",
        }
        return self.log(Closure(deviation=deviation, **(given | fields)), entry)

    def oxygen_fitted(self, entry: int = 62, **fields: Any) -> Logged[OxygenInstallation]:
        """Log the oxygen system of 1 May 2026: two crew and four passenger masks share it.

        Its flows are invented: in litres a minute 8 for the crew at 100 %, 5 in the normal
        position and 3 for a passenger, at every altitude from 5,000 to 41,000 ft.
        """
        given: dict[str, Any] = {
            "serves": ("crew", "passengers"),
            "fitted_on": on("2026-05-01"),
            "service_psi": 1850.0,
            "unusable_psi": 200.0,
            "water_litres": 11.5,
            "in_use_c": 10.0,
            "crew_masks": 2,
            "passenger_masks": 4,
            "crew_delivery": "demand",
            "crew_modes": ("normal", "100-percent"),
            "quick_donning": True,
            "donning_s": 5,
            "mask_can_be_worn": True,
            "flow_reference": "invented handbook, table 1",
            "crew_normal_flow": ((50, 5000), (410, 5000)),
            "crew_full_flow": ((50, 8000), (410, 8000)),
            "passenger_flow": ((50, 3000), (410, 3000)),
        }
        return self.log(OxygenInstallation(**(given | fields)), entry)

    def oxygen_reading(self, entry: int = 63, **fields: Any) -> Logged[OxygenReading]:
        """Log a reading of 14 March 2027, 01:30 UTC: 1,700 psi at 15 C, every seat checked."""
        every = ("valve", "pressure", "flow", "mask", "microphone")
        given: dict[str, Any] = {
            "checked_at": at("2027-03-14", "01:30"),
            "gauge_psi": 1700.0,
            "cylinder_c": 15.0,
            "pilot_seat": every,
            "copilot_seat": every,
            "passenger_seats": ("valve", "flow", "mask"),
        }
        return self.log(OxygenReading(**(given | fields)), entry)

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
