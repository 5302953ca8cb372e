"""Coverage-guided fuzzing of whatever reads what a learner hands in."""
