"""The watch: what could have harmed a baby, from the first to the last moment of a run.

Every task at the bench, at the tapping button and with a mask on a face is judged by this one set
of hazards over the whole replayed run, never by where it ended. ``care`` says what the baby met,
``limits`` what it may meet, ``hazards`` finds what was too much, too long or missing, ``findings``
puts it into words. Each limit and each time allowed is a rule; times allowed are assumptions until
a source is found.
"""

from graders.watch.care import Care, of_run, of_taps, of_trial
from graders.watch.findings import findings, worth
from graders.watch.hazards import hazards
from graders.watch.limits import Bounds, Hazard, bounds

__all__ = [
    "Bounds",
    "Care",
    "Hazard",
    "bounds",
    "findings",
    "hazards",
    "of_run",
    "of_taps",
    "of_trial",
    "worth",
]
