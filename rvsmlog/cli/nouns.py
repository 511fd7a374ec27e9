"""The nouns whose commands record and list entries: what each records, with a real example."""

from collections.abc import Mapping
from types import MappingProxyType

from rvsmlog.cli.recording import Recording
from rvsmlog.records.airframe import Airframe, Equipment, Removal, Swap, Work
from rvsmlog.records.base import RecordKind
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
from rvsmlog.records.people import OperatorClock, Person, Refusal
from rvsmlog.records.readings import Readings
from rvsmlog.records.routes import RouteProfile

_REG = "QX-ALD"


def _recording(
    name: str, kind: RecordKind, help_text: str, example: str, *, now_field: str = ""
) -> Recording:
    return Recording(
        name=name, kind=kind, help=help_text, example=f"rvsmlog {example}", now_field=now_field
    )


NOUNS: Mapping[str, tuple[Recording, ...]] = MappingProxyType(
    {
        "operator": (
            _recording(
                "set",
                Operator.kind,
                "Enter the operator's particulars; a later entry takes the place of all of them.",
                'operator set --name "Korrigarth Air" --time-zone UTC --region NAM',
            ),
            _recording(
                "allow",
                Person.kind,
                "Enter who may record, and as what; from the first on, nobody else may.",
                'operator allow --name "Ilse Vorrand" --may crew,controller',
            ),
        ),
        "airframe": (
            _recording(
                "add",
                Airframe.kind,
                "Enter an airframe's particulars; a later entry takes the place of all of them.",
                "airframe add --registration QX-FEN --type-designator VK71 --serial-number 1034 "
                "--authority us-91 --rvsm-basis group --type-certificate after-1997-04-09 "
                "--highest-level 310",
            ),
        ),
        "equipment": (
            _recording(
                "fit",
                Equipment.kind,
                "Enter a unit fitted.",
                f"equipment fit {_REG} --function transponder --position 2 "
                "--serial-number 1012-25 --fitted-on 2026-11-21",
            ),
            _recording(
                "remove",
                Removal.kind,
                "Enter that a unit was removed.",
                f'equipment remove {_REG} 27 --removed-on 2026-11-21 --cause "bench test"',
            ),
            _recording(
                "swap",
                Swap.kind,
                "Enter that two units changed places, as a step of finding a fault.",
                f"equipment swap {_REG} 4 --other 5 --swapped-at 2026-11-21T15:00Z "
                '--cause "does the split follow the altimeter?"',
            ),
            _recording(
                "work",
                Work.kind,
                "Enter maintenance work that touched the altimetry system.",
                f"equipment work {_REG} --work static-system-opened --done-on 2026-11-21 "
                '--description "drain fitting replaced"',
            ),
        ),
        "defect": (
            _recording(
                "report",
                Defect.kind,
                "Report a defect.",
                f"defect report {_REG} --found-at 2026-11-21T10:00Z --function altitude-alerter "
                '--description "no aural alert"',
            ),
            _recording(
                "fault",
                AltimetryFault.kind,
                "Report an altimetry fault, with what helps to find its cause.",
                f"defect fault {_REG} --found-at 2026-11-21T10:00Z "
                '--description "split at FL300" --level 300 --primary-1-ft 30000 '
                "--primary-2-ft 30240 --standby-ft 30020",
            ),
            _recording(
                "defer",
                Deferral.kind,
                "Defer a defect under the minimum equipment list.",
                f"defect defer {_REG} 37 --category C --mel-reference 22-10-3 "
                "--deferred-on 2026-08-18 --highest-level 280",
            ),
            _recording(
                "extend",
                Extension.kind,
                "Extend a deferral, where the authority's rules allow it.",
                "defect extend QX-CYR 34 --days 10 --granted-on 2026-11-05 "
                '--granted-by "the authority"',
            ),
            _recording(
                "rectify",
                Rectification.kind,
                "Enter the work that closes a defect, and its release.",
                'defect rectify QX-CYR 33 --done-at 2026-11-21T16:00Z --work-done "unit replaced" '
                '--released-by "P. Dravenholt" --licence "AMT 123" --reference WO-77',
            ),
            _recording(
                "review",
                Review.kind,
                "Enter the maintenance controller's review of any entry.",
                'defect review QX-CYR 34 --conclusion "heater came in" --accepted no',
                now_field="reviewed_at",
            ),
        ),
        "approval": (
            _recording(
                "add",
                Approval.kind,
                "Enter an RVSM approval, an MEL approval, or the ADS-B based authority.",
                f'approval add {_REG} --approval rvsm --registration {_REG} --holder "Korrigarth '
                'Air" --issued-on 2026-11-21 --regions NAM,NAT',
            ),
            _recording(
                "withdraw",
                Withdrawal.kind,
                "Enter that an approval was withdrawn.",
                f'approval withdraw {_REG} 34 --withdrawn-on 2026-11-21 --cause "aircraft sold"',
            ),
        ),
        "test": (
            _recording(
                "add",
                Test.kind,
                "Enter an altimeter/static, transponder, leak or correspondence test.",
                f"test add {_REG} --test altimeter-static --done-on 2026-11-21 --passed yes "
                "--tested-altitude-ft 35000",
            ),
            _recording(
                "readings",
                Readings.kind,
                "Enter the readings of a test by point.",
                f"test readings {_REG} 33 --scale-error 0:+5,10000:-20,30000:-60 "
                "--after-effect-ft 10 --case-leak-ft 30",
            ),
        ),
        "monitoring": (
            _recording(
                "add",
                Monitoring.kind,
                "Enter a height monitoring result.",
                f"monitoring add {_REG} --measured-on 2026-11-21 --method ads-b --ase-ft -35 "
                "--airframe-hours 2616.2",
            ),
        ),
        "crew": (
            _recording(
                "add",
                Pilot.kind,
                "Enter a pilot.",
                'crew add --code MKO --name "M. Kovo"',
            ),
            _recording(
                "train",
                Knowledge.kind,
                "Enter RVSM training that a pilot completed.",
                "crew train --pilot ABR --completed-on 2026-11-20 --training initial",
            ),
        ),
        "flight": (
            _recording(
                "log",
                Flight.kind,
                "Log a flight.",
                f"flight log {_REG} --off-at 2026-11-21T09:00Z --on-at 2026-11-21T12:10Z "
                "--pilot IVO --highest-level 310 --rvsm-from 2026-11-21T09:25Z "
                "--rvsm-to 2026-11-21T11:45Z --airframe-hours 2619.4",
            ),
        ),
        "crosscheck": (
            _recording(
                "log",
                CrossCheck.kind,
                "Log one comparison of the altimeters.",
                f"crosscheck log {_REG} --taken-at 2026-11-21T10:00Z --phase hourly "
                "--primary-1-ft 31000 --primary-2-ft 31040 --level 310",
            ),
        ),
        "oxygen": (
            _recording(
                "fit",
                OxygenInstallation.kind,
                "Enter an oxygen system as it is now, with its handbook's flows.",
                f"oxygen fit {_REG} --serves crew,passengers --fitted-on 2026-11-21 "
                "--service-psi 1850 --unusable-psi 200 --water-litres 11.5 --crew-masks 2 "
                "--passenger-masks 4 --crew-delivery demand --crew-modes normal,100-percent "
                "--quick-donning yes --donning-s 5",
            ),
            _recording(
                "reading",
                OxygenReading.kind,
                "Enter the oxygen gauge and the masks as found before a flight.",
                f"oxygen reading {_REG} --checked-at 2026-11-24T07:40Z --gauge-psi 1650 "
                "--cylinder-c 3 --pilot-seat valve,pressure,flow,mask,microphone",
                now_field="checked_at",
            ),
        ),
        "route": (
            _recording(
                "set",
                RouteProfile.kind,
                "Enter a flight's data under a name; a later entry takes the place of all of them.",
                "route set --name COAST-EAST --region PAC --track 265 --crew 1 --passengers 3 "
                "--hold-level 140 --hold-minutes 45 --contaminated-minutes 20",
            ),
        ),
        "deviation": (
            _recording(
                "report",
                Deviation.kind,
                "Enter an altitude deviation or a reported height-keeping error.",
                f"deviation report {_REG} --occurred-at 2026-11-21T10:00Z --aad-ft 320 "
                '--description "overshoot in turbulence" --cause turbulence',
            ),
            _recording(
                "close",
                Closure.kind,
                "Close a deviation, or a monitoring result beyond limits: cause, measures, check.",
                'deviation close QX-ESK 33 --closed-on 2026-07-20 --conclusion "skin at the static '
                'ports found smooth" --confirmed-by "M. Olquist"',
            ),
        ),
    }
)
#: What a noun's list shows beside what its commands record.
ALSO_LISTED: Mapping[str, tuple[RecordKind, ...]] = MappingProxyType(
    {"operator": (Refusal.kind, OperatorClock.kind)}
)
#: The entry of the demo store that a noun's examples show and strike out.
EXAMPLE_ENTRY: Mapping[str, str] = MappingProxyType(
    {
        "crosscheck": f"{_REG} 1064",
        "flight": f"{_REG} 191",
        "airframe": f"{_REG} 1",
        "equipment": f"{_REG} 27",
        "defect": f"{_REG} 37",
        "approval": f"{_REG} 34",
        "test": f"{_REG} 33",
        "monitoring": f"{_REG} 36",
        "crew": "3",
        "oxygen": f"{_REG} 1065",
        "route": "9",
        "deviation": f"{_REG} 39",
        "operator": "1",
    }
)
#: What the examples of an import read: one file for each noun, named by its first kind.
EXAMPLE_FILES = "sample_data/sheets"
