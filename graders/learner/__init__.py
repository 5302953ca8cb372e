"""One learner: where they stand, what comes next, and what they are told."""
