"""Lesson 2: the bench."""
