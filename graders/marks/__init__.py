"""What every unit's marks are made of: findings, checks, beliefs, and what a run shows."""
