"""A mask laid on a newborn's face: its fit to scale, and what hands did, read with suspicion."""
