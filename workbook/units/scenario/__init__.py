"""Lesson 7: a case from birth to stabilised, and the note that is written of it."""
