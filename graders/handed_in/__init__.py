"""The ways in for handed-in work, and the one set of checks behind them."""
