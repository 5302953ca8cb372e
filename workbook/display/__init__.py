"""How rules and model show themselves in a lesson: cards, curves, pictures, moving sentences."""
