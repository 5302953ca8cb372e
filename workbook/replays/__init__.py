"""Many records of the bench replayed at once: the model's own laws and method, side by side.

Every record keeps its own time and its own step; each round of arithmetic takes one step of all
of them. Only elementwise arithmetic is used that every processor rounds alike, so a record's
numbers do not depend on which others stand beside it.
"""

from workbook.replays.many import Many, replay_many

__all__ = ["Many", "replay_many"]
