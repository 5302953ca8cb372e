"""From a submission to its verdicts: one, a whole course, by processes or a cluster."""
