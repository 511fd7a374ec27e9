"""What is read from logbooks: entries, facts for the rules, what screens and pages ask."""
