"""Unit 5: masks and tubes of the right size, and a mask laid on a face."""
