"""What is written into logbooks: one entry or many, by whom, at what time, in what order."""
