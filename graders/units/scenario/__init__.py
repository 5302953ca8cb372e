"""A whole case from birth on: played by hands so far, marked by no unit yet."""
