"""Which wrong beliefs a learner's answers make likely: signs in, names out."""

from graders.beliefs.naming import likely, named

__all__ = ["likely", "named"]
