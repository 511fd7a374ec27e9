"""What each authority asks.

Sources: 14 CFR 91.411, 91.413, 91.213, 91 appendix G section 6 and 9, 2026 text: published.
UK and EU SPA.RVSM.115, ORO.MLR.105(f), NCO.IDE.A.105: published. Australian and New Zealand test
intervals, the FAA's extension policy: from memory. New Zealand CAR 91.313: published.
"""

import pytest

from rvsmlog.errors import InputError
from rvsmlog.standards.authorities import AUTHORITIES, authority
from rvsmlog.standards.cruising_levels import Split
from rvsmlog.standards.source import Status

EUROPE = ["eu-cat", "eu-nco", "uk-cat", "uk-nco"]
STATES = ["us-91", "us-135"]
SOUTH = ["au-91", "nz-91"]


def test_the_codes() -> None:
    """Each overlay stands under its own code, and in a list above."""
    astray = set(AUTHORITIES) ^ {*EUROPE, *STATES, *SOUTH}
    assert not astray, "it belongs in a list above, or in a new one that the tests below take in"
    assert all(code == overlay.code for code, overlay in AUTHORITIES.items())


@pytest.mark.parametrize(
    ("codes", "static_key", "transponder_key", "status"),
    [
        (STATES, "91-411-a1", "91-413", Status.PUBLISHED),
        (EUROPE, "practice", "practice", Status.PRACTICE),
        (["au-91"], "casa-periodic-tests", "casa-periodic-tests", Status.MEMORY),
        (["nz-91"], "nz-91-605", "nz-91-605", Status.MEMORY),
    ],
)
def test_intervals_of_periodic_tests(
    codes: list[str], static_key: str, transponder_key: str, status: Status
) -> None:
    """24 calendar months, published in the United States only; elsewhere the source says less."""
    for code in codes:
        overlay = authority(code)
        assert overlay.static_test_months.value == 24
        assert overlay.transponder_test_months.value == 24
        assert overlay.static_test_months.source.key == static_key
        assert overlay.transponder_test_months.source.key == transponder_key
        assert overlay.static_test_months.source.status is status


@pytest.mark.parametrize("code", sorted(set(AUTHORITIES) - set(STATES)))
def test_a_figure_that_stands_in_has_a_note(code: str) -> None:
    """Where 24 months are not the authority's own published figure, the note says so."""
    assert authority(code).static_test_months.note
    assert authority(code).transponder_test_months.note


@pytest.mark.parametrize("code", sorted(AUTHORITIES))
def test_altimeter_tolerances(code: str) -> None:
    """200 ft between the primaries and 75 ft on the ground serve everywhere."""
    overlay = authority(code)
    assert overlay.crosscheck_tolerance_ft.value == 200
    assert overlay.ground_check_tolerance_ft.value == 75


@pytest.mark.parametrize("code", sorted(AUTHORITIES))
def test_between_the_primaries_on_the_ground(code: str) -> None:
    """75 ft for both checks in Europe's text; the United States leave it to the manual (memory)."""
    figure = authority(code).ground_between_ft
    if code in STATES:
        assert figure is None
        return
    assert figure is not None
    known = Status.PUBLISHED if code in EUROPE else Status.PRACTICE
    assert (figure.value, figure.unit, figure.source.status) == (75, "ft", known)


def test_ground_check_status() -> None:
    """75 ft is published in Europe; the United States' circular was not read."""
    assert authority("eu-nco").ground_check_tolerance_ft.source.status is Status.PUBLISHED
    assert authority("us-91").ground_check_tolerance_ft.source.status is Status.MEMORY


def test_report_limits() -> None:
    """SPA.RVSM.115 has 72 hours; appendix G section 6 states no limit, nor was one found south."""
    for code in EUROPE:
        figure = authority(code).report_hours
        assert figure is not None
        assert (figure.value, figure.unit, figure.source.key) == (72, "h", "spa-rvsm-115")
    assert all(authority(code).report_hours is None for code in STATES + SOUTH)


def test_only_the_united_states_have_the_adsb_route() -> None:
    """Appendix G section 9 needs no document at home; everywhere else an approval is needed."""
    allowed = {code for code, overlay in AUTHORITIES.items() if overlay.adsb_route_allowed}
    assert allowed == set(STATES)
    assert authority("us-91").adsb_route_source.key == "appendix-g-9"


@pytest.mark.parametrize("code", sorted(AUTHORITIES))
def test_a_deferral_needs_a_list(code: str) -> None:
    """91.213 excepts no turbine aeroplane; NCO.IDE.A.105 wants the list for required items."""
    assert authority(code).mel_required_for_deferral is True


@pytest.mark.parametrize(
    ("code", "key", "status"),
    [
        ("us-91", "91-213", Status.PUBLISHED),
        ("us-135", "135-179", Status.MEMORY),
        ("eu-cat", "oro-mlr-105", Status.PUBLISHED),
        ("uk-nco", "nco-ide-a-105", Status.PUBLISHED),
        ("nz-91", "nz-91-mel", Status.MEMORY),
    ],
)
def test_where_the_list_is_asked_for(code: str, key: str, status: Status) -> None:
    """The demand for a list is cited with an honest status."""
    place = authority(code).mel_source
    assert (place.key, place.status) == (key, status)


@pytest.mark.parametrize(
    ("code", "status"),
    [
        ("us-91", Status.MEMORY),
        ("us-135", Status.MEMORY),
        ("eu-cat", Status.PUBLISHED),
        ("uk-nco", Status.PUBLISHED),
        ("au-91", Status.MEMORY),
        ("nz-91", Status.MEMORY),
    ],
)
def test_extension_policies_are_cited_honestly(code: str, status: Status) -> None:
    """Only the UK and EU rule on extensions was read, and each policy has its conditions."""
    policy = authority(code).extension_policy
    assert policy.source.status is status
    assert policy.times == (1 if policy.categories else 0)
    assert policy.note


def test_recurrent_knowledge() -> None:
    """Appendix G asks Part 91 pilots for knowledge; Part 135, the UK and the EU for recurrence."""
    recurrent = {code for code, overlay in AUTHORITIES.items() if overlay.knowledge_recurrent}
    assert recurrent == {"us-135", *EUROPE}


def test_track_splits() -> None:
    """New Zealand gives the odd levels to tracks 270 to 089, the others to 000 to 179."""
    assert authority("nz-91").track_split is Split.NORTHERLY
    others = {overlay.track_split for code, overlay in AUTHORITIES.items() if code != "nz-91"}
    assert others == {Split.EASTERLY}


def test_states() -> None:
    """The part of the code before the dash is the state."""
    assert {authority(code).state for code in EUROPE} == {"eu", "uk"}
    assert {authority(code).state for code in STATES + SOUTH} == {"us", "au", "nz"}


def test_oxygen_rules() -> None:
    """Each overlay names the oxygen rule of its own code."""
    others = [code for code, overlay in AUTHORITIES.items() if overlay.oxygen_rule != code]
    assert not others, "each wants a rule of its own code in OXYGEN_RULES (standards/oxygen.py)"


@pytest.mark.parametrize("code", ["", "us", "us91", "fr-cat"])
def test_an_unknown_authority_is_refused(code: str) -> None:
    """An unknown code is answered with all known ones."""
    with pytest.raises(InputError, match="no authority") as caught:
        authority(code)
    assert all(known in caught.value.hint for known in AUTHORITIES)


def test_a_code_is_read_in_either_case() -> None:
    """A code is read with spaces and in capitals."""
    assert authority(" NZ-91 ").code == "nz-91"
