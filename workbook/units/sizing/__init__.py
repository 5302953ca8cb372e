"""Lesson 5: masks and tubes of the right size."""
