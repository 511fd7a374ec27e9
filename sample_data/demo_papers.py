"""Papers that each invented aeroplane and the operator have alike: people, units, tests."""

from datetime import date

from sample_data.demo_book import DemoBook, Value
from sample_data.demo_fleet import OPERATOR, TYPE, Aeroplane

CONTROLLER = "M. Olquist"
ENGINEER = "P. Dravenholt"
LICENCE = "invented licence 40021"
_SHOP = "Brindlemoor bench"

# Function, position, part number and version of what each aeroplane has.
_UNITS: tuple[tuple[str, str | None, str, str | None], ...] = (
    ("altimeter", "1", "KA-520", None),
    ("altimeter", "2", "KA-520", None),
    ("air-data-computer", "1", "KD-81", "3.2"),
    ("air-data-computer", "2", "KD-81", "3.2"),
    ("static-source", "1", "VK71-340-1", None),
    ("static-source", "2", "VK71-340-2", None),
    ("altitude-alerter", None, "KF-12", None),
    ("altitude-control", None, "KP-7", None),
    ("transponder", "1", "KX-330", None),
    ("standby-altimeter", None, "KS-20", None),
    ("acas", None, "KT-9", "7.1"),
    ("ads-b-out", None, "KX-330", "TSO-C166b, 91.227"),
    ("static-heat", "1", "VK71-341", None),
    ("static-heat", "2", "VK71-341", None),
    ("pitot-heat", "1", "VK71-342", None),
    ("pitot-heat", "2", "VK71-342", None),
    ("oxygen-cylinder", None, "KO-22", None),
    ("oxygen-regulator", "pilot", "KO-5", None),
    ("oxygen-regulator", "co-pilot", "KO-5", None),
    ("oxygen-mask", "pilot", "KM-3", None),
    ("oxygen-mask", "co-pilot", "KM-3", None),
    ("oxygen-mask", "passenger", "KM-8", None),
    ("cabin-pressure-control", None, "KC-1", None),
    ("cabin-altitude-warning", None, "KC-2", None),
)


def operator(book: DemoBook) -> None:
    """Enter the operator, the pilots, and what is on record of their training."""
    book.add(
        "operator",
        name=OPERATOR,
        time_zone="UTC",
        region="US",
        designator="QXK",
        crosscheck_max_age_days=60,
        remarks="an invented operator: nothing here is real",
    )
    for code, name in (("IVO", "Ilse Vorrand"), ("TQU", "Tomas Quennard"), ("ABR", "Ansel Brith")):
        book.add("pilot", code=code, name=name, licence=f"invented {code}")
    _training(book, "IVO", date(2024, 3, 19), "initial", None)
    _training(book, "TQU", date(2025, 6, 24), "initial", None)
    _training(book, "IVO", date(2026, 2, 11), "recurrent", date(2027, 2, 28))
    _training(book, "TQU", date(2026, 6, 16), "recurrent", date(2027, 6, 30))
    # ABR is new: no RVSM training on record.


def _training(
    book: DemoBook, pilot: str, day: date, training: str, valid_until: date | None
) -> None:
    book.add(
        "knowledge",
        pilot=pilot,
        completed_on=day,
        training=training,
        valid_until=valid_until,
        given_by=CONTROLLER,
        reference=f"T-{day:%y%m}-{pilot}",
    )


def common_papers(book: DemoBook, aeroplane: Aeroplane) -> None:
    """Enter particulars, units, tests and approvals of one aeroplane."""
    _airframe(book, aeroplane)
    _equipment(book, aeroplane)
    _tests(book, aeroplane)
    _approvals(book, aeroplane)


def _airframe(book: DemoBook, aeroplane: Aeroplane) -> None:
    book.add(
        "airframe",
        aeroplane.registration,
        registration=aeroplane.registration,
        type_designator=TYPE,
        serial_number=aeroplane.serial_number,
        authority=aeroplane.authority,
        rvsm_basis="group",
        type_certificate="after-1997-04-09",
        highest_level=310,
        icao_address=aeroplane.icao_address,
        max_differential_psi=6.2,
        altimeter_resolution_ft=aeroplane.altimetry.resolution_ft,
        primary_tolerance=aeroplane.primary_tolerance,
        standby_tolerance="290:300,310:320",
        ground_tolerance_ft=60,
        altimeter_scale_limit=aeroplane.scale_limit,
    )


def _equipment(book: DemoBook, aeroplane: Aeroplane) -> None:
    """Fit the same units to each; the serial numbers are made from the airframe's."""
    for number, (function, position, part, version) in enumerate(_UNITS, start=1):
        unsaid = not aeroplane.complete and function == "acas"
        book.add(
            "equipment",
            aeroplane.registration,
            f"{function} {position or ''}".strip(),
            function=function,
            fitted_on=aeroplane.delivered,
            position=position,
            part_number=part,
            serial_number=f"{aeroplane.serial_number}-{number:02d}",
            version=None if unsaid else version,
            reference="delivery",
        )


def _tests(book: DemoBook, aeroplane: Aeroplane) -> None:
    """Enter the newest tests; where papers are missing, that of altimeter 2 is among them."""
    day, registration = aeroplane.tested, aeroplane.registration
    position = "all" if aeroplane.complete else "1"
    add_test(book, registration, "leak-check", day, leak_ft=60)
    add_test(
        book, registration, "altimeter-static", day, position=position, tested_altitude_ft=35000
    )
    if not aeroplane.complete:
        add_test(
            book,
            registration,
            "altimeter-static",
            day,
            position="standby",
            tested_altitude_ft=35000,
            key="standby",
        )
    add_test(book, registration, "transponder", day, position="1")
    add_test(
        book, registration, "correspondence", day, correspondence_ft=25, tested_altitude_ft=35000
    )


def add_test(
    book: DemoBook,
    registration: str,
    test: str,
    day: date,
    *,
    position: str = "all",
    tested_altitude_ft: int | None = None,
    correspondence_ft: int | None = None,
    leak_ft: int | None = None,
    unit_serial: str | None = None,
    key: str = "",
) -> None:
    """Enter a test that was passed."""
    book.add(
        "test",
        registration,
        key,
        test=test,
        done_on=day,
        passed="yes",
        position=position,
        tested_altitude_ft=tested_altitude_ft,
        correspondence_ft=correspondence_ft,
        leak_ft=leak_ft,
        unit_serial=unit_serial,
        done_by=_SHOP,
        licence=LICENCE,
        reference=f"W-{day:%y%m%d}",
    )


def _approvals(book: DemoBook, aeroplane: Aeroplane) -> None:
    """Enter the approval of RVSM, or the authority that stands in for it, and that of the list."""
    registration = aeroplane.registration
    shared: dict[str, Value] = {
        "registration": registration,
        "holder": OPERATOR,
        "issued_on": aeroplane.approved,
    }
    book.add(
        "approval",
        registration,
        approval="rvsm-ads-b" if aeroplane.on_ads_b else "rvsm",
        reference=None if aeroplane.on_ads_b else f"RVSM-{registration[3:]}-1",
        regions="US" if aeroplane.on_ads_b else "ALL",
        expires_on=aeroplane.approved_until,
        **shared,
    )
    book.add(
        "approval", registration, approval="mel", reference=f"MEL-{registration[3:]}-2", **shared
    )
