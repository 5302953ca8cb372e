"""Unit 3: pressure targets, what gauge and chest say, and raising PIP at the bench."""
