"""Lesson 4: rate and counting, by hand, on a strip and by ear."""
