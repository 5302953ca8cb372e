"""Stock `nbgrader collect` on a course: it goes through the same checks as `tpiece collect`.

nbgrader itself only warns when a name and an account differ, follows links, stops at the first
folder it cannot copy, and lets any later folder replace what is there.
"""

from __future__ import annotations

from pathlib import Path

from nbgrader.exchange.default import ExchangeCollect

from graders.core.terminal import echo
from graders.course.coursefolder import CourseFolder
from graders.handed_in.exchange import collect_all


class CollectOwned(ExchangeCollect):  # type: ignore[misc]  # nbgrader has no types
    """Collects each learner's latest work that can be told to be that learner's."""

    def init_src(self) -> None:
        """Find nothing to copy as nbgrader does."""
        self.src_records: list[object] = []

    def copy_files(self) -> None:
        """Take work in."""
        folder = CourseFolder(Path(self.coursedir.root))
        for taken in collect_all(folder, [self.coursedir.assignment_id]):
            if not taken.usable or taken.beware:  # what nbgrader logs is caught and not shown
                echo(f"  {taken.says}", err=True)
