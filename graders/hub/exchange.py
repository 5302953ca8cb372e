"""Where the settings of courses laid out earlier look for what stands in ``graders.nbgrader``."""

from graders.nbgrader.collect import CollectOwned

__all__ = ["CollectOwned"]
