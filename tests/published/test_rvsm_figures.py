"""Levels, tolerances, limits, reports and monitoring in RVSM airspace.

Sources: 14 CFR 91 appendix G, 2026 text, sections 1, 2, 6 and 9: published. UK and EU
AMC to SPA.RVSM.105, SPA.RVSM.115 and NAT Doc 001 3.5.1: published. ICAO Annex 6 Part I 7.2.7, as a
regional monitoring agency quotes it, and AC 91-85B 4.3: second-hand. What is common
practice or derived says so in its row.
"""

from datetime import date

import pytest

from rvsmlog.errors import InputError
from rvsmlog.standards import rvsm
from rvsmlog.standards.source import Figure, Status

FIGURES = [
    # Appendix G section 1.
    (rvsm.RVSM_LOWEST_LEVEL, 290, "FL", Status.PUBLISHED),
    (rvsm.RVSM_HIGHEST_LEVEL, 410, "FL", Status.PUBLISHED),
    (rvsm.HIGHEST_LEVEL_BELOW_RVSM, 280, "FL", Status.DERIVED),
    # AMC to SPA.RVSM.105(c), (b); appendix E(c); NAT Doc 001 3.5.1(f) and (c).
    (rvsm.CROSSCHECK_TOLERANCE_FT, 200, "ft", Status.PUBLISHED),
    (rvsm.GROUND_CHECK_TOLERANCE_FT, 75, "ft", Status.PUBLISHED),
    # (b)(iii) names the known altitude and the agreement of the two, then 75 ft for these checks.
    (rvsm.GROUND_BETWEEN_TOLERANCE_FT, 75, "ft", Status.PUBLISHED),
    (rvsm.CORRESPONDENCE_TOLERANCE_FT, 125, "ft", Status.PUBLISHED),
    (rvsm.CROSSCHECK_INTERVAL_MINUTES, 60, "min", Status.PUBLISHED),
    (rvsm.OVERSHOOT_FT, 150, "ft", Status.PUBLISHED),
    # Common practice, no source.
    (rvsm.CROSSCHECK_GRACE_MINUTES, 15, "min", Status.PRACTICE),
    (rvsm.CROSSCHECK_MAX_AGE_DAYS, 90, "days", Status.PRACTICE),
    (rvsm.CROSSCHECKS_WANTED, 2, "", Status.PRACTICE),
    (rvsm.TRAINING_MONTHS, 24, "calendar months", Status.PRACTICE),
    (rvsm.APPROVAL_LAPSING_DAYS, 30, "days", Status.PRACTICE),
    # 14 CFR 91.215(b)(5): at and above 10,000 ft MSL (2021 text).
    (rvsm.TRANSPONDER_NEEDED_FT, 10_000, "ft", Status.PUBLISHED),
    # 14 CFR 91.225(b): below 18,000 ft MSL; (d), as AIM 3-2-6 states it: at and above 10,000 ft.
    (rvsm.ADS_B_OUT_NEEDED_FT, 10_000, "ft", Status.PUBLISHED),
    (rvsm.CLASS_A_FROM_FT, 18_000, "ft", Status.PUBLISHED),
    # Appendix G section 6; SPA.RVSM.115 has the same.
    (rvsm.LARGE_TVE_FT, 300, "ft", Status.PUBLISHED),
    (rvsm.LARGE_ASE_FT, 245, "ft", Status.PUBLISHED),
    (rvsm.LARGE_AAD_FT, 300, "ft", Status.PUBLISHED),
    # Appendix G section 2(c), (d), (g).
    (rvsm.TYPE_CERTIFICATE_SPLIT, date(1997, 4, 9), "", Status.PUBLISHED),
    (rvsm.ALTITUDE_ALERT_FT[False], 300, "ft", Status.PUBLISHED),
    (rvsm.ALTITUDE_ALERT_FT[True], 200, "ft", Status.PUBLISHED),
    (rvsm.ALTITUDE_SYSTEMS_REQUIRED, 2, "", Status.PUBLISHED),
    (rvsm.ACAS_VERSION, "7.0", "", Status.PUBLISHED),
    # A regional monitoring agency's own page: six months. Annex 6 Part I 7.2.7; AC 91-85B 4.3.
    (rvsm.MONITORING_FIRST_MONTHS, 6, "months", Status.PUBLISHED),
    (rvsm.MONITORING_LONG_TERM_MONTHS, 24, "months", Status.SECOND_HAND),
    (rvsm.MONITORING_LONG_TERM_HOURS, 1000, "flight hours", Status.SECOND_HAND),
    (rvsm.MONITORING_GROUP_AIRFRAMES, 2, "aeroplanes", Status.SECOND_HAND),
    (rvsm.MONITORING_ADSB_MONTHS, 24, "months", Status.SECOND_HAND),
]


@pytest.mark.parametrize(("figure", "value", "unit", "status"), FIGURES)
def test_figure(figure: Figure[object], value: object, unit: str, status: Status) -> None:
    """Each figure has its published value, its unit and an honest status."""
    assert figure.value == value
    assert figure.unit == unit
    assert figure.source.status is status


def test_every_figure_of_the_module_is_checked_here() -> None:
    """No figure enters the module without a row above."""
    stated = [value for value in vars(rvsm).values() if isinstance(value, Figure)]
    listed = [row[0] for row in FIGURES]
    missing = [figure for figure in stated if not any(figure is row for row in listed)]
    assert not missing, "each wants a row in FIGURES, with the value that its source prints"
    assert len(listed) == len(stated) + len(rvsm.ALTITUDE_ALERT_FT)


@pytest.mark.parametrize(
    ("applied", "after"),
    [(date(1997, 4, 8), False), (date(1997, 4, 9), False), (date(1997, 4, 10), True)],
)
def test_both_sides_of_the_type_certificate_day(applied: date, after: bool) -> None:
    """Section 2(d), (e): an application of 9 April 1997 has the earlier limits."""
    assert rvsm.tc_after_split(applied) is after


@pytest.mark.parametrize(
    ("basis", "after", "envelope", "limits", "section"),
    [
        # Section 2(d): basic 80 and 200, full 120 and 245.
        ("group", False, "basic", (80, 200), "appendix-g-2d"),
        ("group", False, "full", (120, 245), "appendix-g-2d"),
        # Section 2(e): 80 and 200 in the full envelope, of which the basic one is a part.
        ("group", True, "full", (80, 200), "appendix-g-2e"),
        ("group", True, "basic", (80, 200), "appendix-g-2e"),
    ],
)
def test_group_limits(
    basis: str, after: bool, envelope: str, limits: tuple[int, int], section: str
) -> None:
    """A group has a limit on its mean and one on the mean with three standard deviations."""
    limit = rvsm.ase_limit(basis, tc_after_split=after, envelope=envelope)
    assert (limit.mean_ft, limit.spread_ft) == limits
    assert limit.source.key == section
    # Common practice: one aeroplane is held against the wider of the two.
    assert limit.individual_ft == limits[1]
    assert "common practice" in limit.note


@pytest.mark.parametrize("after", [False, True])
@pytest.mark.parametrize(
    ("basis", "envelope", "feet", "section"),
    [
        ("non-group", "basic", 160, "appendix-g-2f"),
        ("non-group", "full", 200, "appendix-g-2f"),
        ("ads-b", "basic", 200, "appendix-g-9b"),
        ("ads-b", "full", 200, "appendix-g-9b"),
    ],
)
def test_single_limits(basis: str, envelope: str, feet: int, section: str, after: bool) -> None:
    """Sections 2(f) and 9(b): one limit for each aeroplane, whatever its type certificate."""
    limit = rvsm.ase_limit(basis, tc_after_split=after, envelope=envelope)
    assert limit.individual_ft == feet
    assert (limit.mean_ft, limit.spread_ft) == (None, None)
    assert limit.source.key == section


def test_the_full_envelope_is_the_default() -> None:
    """Without a word on the envelope the full one is meant."""
    full = rvsm.ase_limit("group", tc_after_split=False, envelope="full")
    assert rvsm.ase_limit("group", tc_after_split=False) == full


def test_an_error_may_break_a_limit_and_not_be_reportable() -> None:
    """210 ft breaks section 9(b) although section 6 asks for no report below 245 ft."""
    limit = rvsm.ase_limit("ads-b", tc_after_split=True)
    assert limit.individual_ft < 210 < rvsm.LARGE_ASE_FT.value


@pytest.mark.parametrize(
    ("basis", "envelope"), [("", "full"), ("nongroup", "full"), ("group", "outer")]
)
def test_an_unknown_basis_or_envelope_is_refused(basis: str, envelope: str) -> None:
    """An unknown basis is answered with the known ones, not with some limit."""
    with pytest.raises(InputError, match="no limit") as caught:
        rvsm.ase_limit(basis, tc_after_split=True, envelope=envelope)
    assert "non-group" in caught.value.hint
