"""The five invented aeroplanes: what each is, how it is flown, and how its altimeters read."""

from dataclasses import dataclass
from datetime import date

from sample_data.demo_flights import Flying
from sample_data.demo_readings import Altimetry, Drift

OPERATOR = "Korrigarth Air"
TYPE = "VK71"

#: The day on which altimeter 2 of QX-ALD was exchanged.
EXCHANGED_ON = date(2026, 5, 12)
#: The day from which QX-CYR flies with a deferral that keeps it at FL280.
DEFERRED_ON = date(2026, 10, 26)


@dataclass(frozen=True, slots=True, kw_only=True)
class Aeroplane:
    """One aeroplane.

    Parameters
    ----------
    registration, serial_number, icao_address, authority : str
        Its particulars.
    delivered : date
        When its equipment was fitted.
    tested : date
        The newest test of its altimeters and static system.
    approved, approved_until : date
        First and last day of its approvals.
    flying : Flying
        How it is flown.
    altimetry : Altimetry
        How its altimeters read.
    primary_tolerance : str or None
        Its manual's own table.
    scale_limit : str or None
        The limit of its RVSM data for the scale error of an altimeter, where it is on record.
    on_ads_b : bool
        Whether it flies on ADS-B Out and monitoring, without a specific approval.
    complete : bool
        Whether all its papers are on record.
    """

    registration: str
    serial_number: str
    icao_address: str
    authority: str
    delivered: date
    tested: date
    flying: Flying
    altimetry: Altimetry
    approved: date = date(2024, 4, 15)
    approved_until: date | None = None
    primary_tolerance: str | None = None
    scale_limit: str | None = None
    on_ads_b: bool = False
    complete: bool = True


FLEET = (
    # GO at FL310. Its altimeter 2 wandered in the winter and was exchanged in May.
    Aeroplane(
        registration="QX-ALD",
        serial_number="1012",
        icao_address="F0A10C",
        authority="us-91",
        delivered=date(2019, 3, 14),
        tested=date(2025, 6, 17),
        primary_tolerance="250:180,350:200",
        flying=Flying(hours=2210.4, pilots=("IVO", "IVO", "TQU")),
        altimetry=Altimetry(
            offset_1_ft=5.0,
            offset_2_ft=-12.0,
            standby_ft=95.0,
            drift=Drift(start=date(2025, 12, 20), end=EXCHANGED_ON, size_ft=-70.0),
            exchanged=EXCHANGED_ON,
            gnss_kind="ellipsoid",
            static_error_ft=35.0,
        ),
    ),
    # Altimeter 2 drifts from June on; the last flight is beyond the manual's own tolerance. On the
    # bench it passes Table I all the same, and is far beyond the limit of the RVSM data.
    Aeroplane(
        registration="QX-BRE",
        serial_number="1019",
        icao_address="F0A113",
        authority="us-91",
        delivered=date(2020, 8, 5),
        tested=date(2026, 2, 10),
        primary_tolerance="250:180,350:200",
        scale_limit="290:60,350:75",
        flying=Flying(hours=1784.9, pilots=("TQU",), last=date(2026, 11, 18)),
        altimetry=Altimetry(
            offset_1_ft=-8.0,
            offset_2_ft=6.0,
            standby_ft=80.0,
            noise_ft=11.0,
            resolution_ft=10,
            drift=Drift(start=date(2026, 4, 6), end=date(2026, 11, 20), size_ft=158.0),
        ),
    ),
    # A deferral has run out, and the approval is about to.
    Aeroplane(
        registration="QX-CYR",
        serial_number="1023",
        icao_address="F0A117",
        authority="eu-nco",
        delivered=date(2021, 5, 27),
        tested=date(2025, 9, 3),
        approved=date(2024, 12, 9),
        approved_until=date(2026, 12, 8),
        flying=Flying(
            hours=1395.0,
            pilots=("IVO", "TQU"),
            last=date(2026, 11, 13),
            level_from={DEFERRED_ON: 280},
        ),
        altimetry=Altimetry(
            offset_1_ft=0.0, offset_2_ft=22.0, standby_ft=110.0, noise_ft=14.0, resolution_ft=10
        ),
    ),
    # Taken over in March; half of its papers did not come with it.
    Aeroplane(
        registration="QX-DAN",
        serial_number="1008",
        icao_address="F0A108",
        authority="us-91",
        delivered=date(2018, 10, 2),
        tested=date(2026, 2, 20),
        approved=date(2026, 3, 2),
        complete=False,
        flying=Flying(hours=3022.6, pilots=("TQU", "IVO"), first=date(2026, 3, 9)),
        altimetry=Altimetry(offset_1_ft=12.0, offset_2_ft=-18.0, standby_ft=130.0, noise_ft=14.0),
    ),
    # Flies on ADS-B Out and monitoring, without a specific approval: in the United States only.
    Aeroplane(
        registration="QX-ESK",
        serial_number="1031",
        icao_address="F0A11F",
        authority="us-91",
        delivered=date(2023, 11, 9),
        tested=date(2025, 11, 6),
        on_ads_b=True,
        flying=Flying(hours=640.2, pilots=("IVO",)),
        altimetry=Altimetry(
            offset_1_ft=-4.0,
            offset_2_ft=8.0,
            standby_ft=70.0,
            misread=0.006,
            gnss_kind="mean-sea-level",
            static_error_ft=-60.0,
        ),
    ),
)
