"""Results handed on by open standards: documented CSV, OneRoster 1.2 CSV, xAPI statements."""
