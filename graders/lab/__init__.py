"""The skills lab: its brief, its plan, its checklist, and the record of what was seen."""
