"""Facts to what a person asked: one module for each question; no store, no screen, no clock."""
