"""Unit 4: rate and counting, with inflations that a hand taps."""
