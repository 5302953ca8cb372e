"""The one thing the workbook adds to nbgrader's own autograding: it names the learner."""

from __future__ import annotations

import os
from typing import Any

from nbgrader.preprocessors import NbGraderPreprocessor

from workbook.core.whose import LEARNER


class NameLearner(NbGraderPreprocessor):  # type: ignore[misc]
    """Sets whose case is drawn: the learner of the submission's folder, whatever a file says."""

    def preprocess(self, nb: Any, resources: Any) -> tuple[Any, Any]:
        """Put the learner's id where the kernel that is about to start finds it."""
        os.environ[LEARNER] = resources["nbgrader"]["student"]
        return nb, resources
