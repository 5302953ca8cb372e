"""Marking of a case from birth to stabilised: an expert's play, and what others do instead."""
