"""Lesson 6: trials of fault finding."""
