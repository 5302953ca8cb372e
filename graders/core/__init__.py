"""What every part may use: what is said to a terminal, files written whole or not at all, locks."""
