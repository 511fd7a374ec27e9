"""Published figures as data, each value with its source."""
