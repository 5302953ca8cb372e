"""The only part that imports nbgrader: its commands, its tables, its own autograding."""
