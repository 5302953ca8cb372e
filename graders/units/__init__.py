"""The units: one room each, with its marks, its key, its beliefs and how they are played."""
