"""A log of RVSM evidence for one aeroplane or a fleet, and the go/no-go check that reads it."""

__version__ = "0.1.0"
