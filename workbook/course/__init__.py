"""A course: its settings, its pages, what was handed in, and what came back of it."""
