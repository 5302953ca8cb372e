"""The lessons of each unit: one room each, with what it draws, shows and practises."""
