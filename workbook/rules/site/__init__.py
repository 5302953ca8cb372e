"""A site's own rules: its protocol laid over an edition, and what its people signed."""
