"""A group: many verdicts as one picture."""
