"""What comes in from files: CSV rows by the thousand, recorded flight data, the demo."""
