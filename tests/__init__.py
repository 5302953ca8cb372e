"""The tests; `python3 -m tests` sets up what they need and runs them all."""
