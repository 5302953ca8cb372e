"""Whole exercises: answers marked, answers played, and whether a protocol can be asked of."""
