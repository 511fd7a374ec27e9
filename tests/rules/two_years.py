"""What counts for 24 calendar months: both sides of its last day, by the calendar.

A calendar month runs to its end: a test of 10 March 2024 counts to 31 March 2026 (the FAA's
reading, from memory).
"""

#: Day done, day asked about, outcome.
TWO_YEARS = (
    ("2024-03-10", "2026-03-31", "met"),
    ("2024-03-10", "2026-04-01", "not met"),
    ("2024-02-29", "2026-02-28", "met"),
    ("2024-02-29", "2026-03-01", "not met"),
    ("2026-02-01", "2028-02-29", "met"),
    ("2026-02-01", "2028-03-01", "not met"),
    ("2024-12-31", "2026-12-31", "met"),
    ("2024-12-31", "2027-01-01", "not met"),
)
