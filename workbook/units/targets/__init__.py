"""Lesson 3: what to set for a baby, what gauge and chest say, raising PIP."""
