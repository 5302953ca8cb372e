"""Unit 1: the set-up order, a set-up at the bench, and a colleague's to look over."""
