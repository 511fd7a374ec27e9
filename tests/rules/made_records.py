"""Records of a healthy airframe, one short way to log each kind; all of it is invented."""

from datetime import UTC, date, datetime
from typing import Any, TypeVar

from rvsmlog.facts import (
    ApprovalCase,
    DefectCase,
    DeviationCase,
    EquipmentCase,
    Logged,
)
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

R = TypeVar("R", bound=Record)

AIRFRAME_BOOK = "VK71-1007"
OPERATOR_BOOK = "operator"
_OPERATOR_KINDS = (Operator, Pilot, Knowledge)


def at(day: str, time: str = "12:00") -> datetime:
    """Give an instant in UTC, for example ``at("2027-03-14", "02:30")``."""
    return datetime.fromisoformat(f"{day}T{time}").replace(tzinfo=UTC)


def on(day: str) -> date:
    """Give a calendar day."""
    return date.fromisoformat(day)


class MadeRecords:
    """Builds records as logged; keyword arguments change any field.

    Entry numbers are given by the test, so that it can name its evidence.
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
