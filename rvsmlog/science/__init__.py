"""Pure computation: no input or output, no clock, no store."""
