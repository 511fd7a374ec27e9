"""The catalogue of rules: one literal tuple, in the order in which a reader wants the findings."""

from rvsmlog.rules.ads_b import ads_b_route_not_applicable
from rvsmlog.rules.ads_b_out import ads_b_out_missing
from rvsmlog.rules.altimetry import altimeters_disagree, ground_check_out_of_limit
from rvsmlog.rules.altimetry_systems import (
    altimetry_system_inoperative,
    altimetry_system_missing,
)
from rvsmlog.rules.approvals import rvsm_approval_lapsing, rvsm_approval_missing
from rvsmlog.rules.base import Rule
from rvsmlog.rules.bench import altimeter_beyond_rvsm_limit, appendix_e_not_followed
from rvsmlog.rules.cabin import cabin_altitude_too_high, cabin_altitude_warning_inoperative
from rvsmlog.rules.crew import pilot_knowledge_missing
from rvsmlog.rules.crosschecks import (
    altimeters_not_compared_since_work,
    crosschecks_missing,
    crosschecks_too_old,
)
from rvsmlog.rules.deferral_list import deferral_without_mel
from rvsmlog.rules.deferrals import (
    defect_open,
    deferral_caps_level,
    deferral_not_reviewed,
    deferral_overdue,
)
from rvsmlog.rules.deviations import deviation_open
from rvsmlog.rules.drift import altimeters_drifting
from rvsmlog.rules.equipment import (
    altitude_alerter_inoperative,
    altitude_control_inoperative,
    transponder_inoperative,
)
from rvsmlog.rules.flight_data import flight_data_missing, level_below_hold
from rvsmlog.rules.height_error import height_error_unconfirmed
from rvsmlog.rules.hourly_checks import hourly_checks_missed
from rvsmlog.rules.level import level_above_certificated
from rvsmlog.rules.listed_equipment import (
    acas_version_too_old,
    heat_inoperative,
    standby_altimeter_inoperative,
)
from rvsmlog.rules.monitoring import height_monitoring_beyond_limits
from rvsmlog.rules.monitoring_due import height_monitoring_overdue
from rvsmlog.rules.oxygen import (
    oxygen_masks_too_few,
    oxygen_too_little,
)
from rvsmlog.rules.oxygen_contaminated import contaminated_air_oxygen_short
from rvsmlog.rules.oxygen_masks import (
    quick_donning_mask_missing,
    useful_consciousness_short,
    worn_mask_missing,
)
from rvsmlog.rules.oxygen_record import (
    oxygen_equipment_inoperative,
    oxygen_not_on_record,
    oxygen_reading_too_old,
    oxygen_seats_not_checked,
)
from rvsmlog.rules.reporting_due import altitude_reporting_test_overdue
from rvsmlog.rules.static_error import static_error_suspected
from rvsmlog.rules.testers import tester_not_on_record
from rvsmlog.rules.tests_due import static_test_overdue, tested_too_low
from rvsmlog.rules.transponder import transponder_test_overdue
from rvsmlog.rules.unit_places import altimetry_unit_unclear
from rvsmlog.rules.witnesses import standby_disagrees, transponder_altitude_disagrees
from rvsmlog.rules.work_untested import altimetry_work_untested, static_system_opened

#: Edition of the rules; raised with every change of what a rule finds.
RULEBOOK = "2026-11 edition 7"

RULES: tuple[Rule, ...] = (
    level_above_certificated,
    defect_open,
    deferral_overdue,
    deferral_without_mel,
    deferral_caps_level,
    deferral_not_reviewed,
    rvsm_approval_missing,
    rvsm_approval_lapsing,
    ads_b_route_not_applicable,
    pilot_knowledge_missing,
    height_monitoring_overdue,
    height_monitoring_beyond_limits,
    deviation_open,
    height_error_unconfirmed,
    static_error_suspected,
    static_test_overdue,
    altitude_reporting_test_overdue,
    tested_too_low,
    tester_not_on_record,
    altimeter_beyond_rvsm_limit,
    appendix_e_not_followed,
    static_system_opened,
    altimetry_work_untested,
    transponder_test_overdue,
    altimetry_system_missing,
    altimetry_unit_unclear,
    altimetry_system_inoperative,
    altitude_control_inoperative,
    altitude_alerter_inoperative,
    transponder_inoperative,
    ads_b_out_missing,
    standby_altimeter_inoperative,
    heat_inoperative,
    acas_version_too_old,
    altimeters_disagree,
    altimeters_drifting,
    ground_check_out_of_limit,
    standby_disagrees,
    transponder_altitude_disagrees,
    crosschecks_missing,
    crosschecks_too_old,
    altimeters_not_compared_since_work,
    hourly_checks_missed,
    cabin_altitude_too_high,
    cabin_altitude_warning_inoperative,
    level_below_hold,
    oxygen_not_on_record,
    oxygen_reading_too_old,
    oxygen_equipment_inoperative,
    oxygen_masks_too_few,
    oxygen_too_little,
    contaminated_air_oxygen_short,
    quick_donning_mask_missing,
    worn_mask_missing,
    useful_consciousness_short,
    oxygen_seats_not_checked,
    flight_data_missing,
)

#: The rules of the oxygen on board: what they limit says nothing about the fitness for RVSM.
OXYGEN_RULES = frozenset(
    each.name
    for each in (
        oxygen_not_on_record,
        oxygen_reading_too_old,
        oxygen_equipment_inoperative,
        oxygen_masks_too_few,
        oxygen_too_little,
        contaminated_air_oxygen_short,
        quick_donning_mask_missing,
        worn_mask_missing,
        useful_consciousness_short,
        oxygen_seats_not_checked,
    )
)
