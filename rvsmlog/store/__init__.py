"""The store: logbooks of numbered entries that are only ever added to."""
