"""The kinds of entry a logbook takes, each a frozen record with its fields declared once."""
