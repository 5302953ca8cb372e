"""The marked page of one submission: the released notebook with verdicts as its outputs.

nbgrader's form grader and feedback read it where autograding would have left one. It is made
from the released page, never from the learner's copy.
"""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path
from textwrap import fill
from typing import Any

from graders.core.jsonfile import write_json
from graders.marking.graded import Graded
from graders.marks.little_trace import traces
from graders.marks.verdict import WIDTH, Verdict
from workbook.core.language import _, speaking


def write_marked(released: Path, graded: Graded, target: Path) -> None:
    """Write the marked page in the course's language, whole or not at all."""
    page = _released(released, released.stat().st_mtime_ns)
    with speaking(graded.language):
        write_json(target, marked(page, graded.for_learner()))


@lru_cache(maxsize=32)
def _released(path: Path, changed: int) -> dict[str, Any]:
    page: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return page


def marked(page: dict[str, Any], graded: Graded) -> dict[str, Any]:
    """Return a released page with each answer and its verdict as outputs."""
    verdicts = {verdict.question: verdict for verdict in graded.verdicts}
    return {**page, "cells": [_cell(cell, graded, verdicts) for cell in page["cells"]]}


def _cell(cell: dict[str, Any], graded: Graded, verdicts: dict[str, Verdict]) -> dict[str, Any]:
    told = cell["metadata"].get("nbgrader", {})
    id = told.get("grade_id", "")
    asked = id.removeprefix("ask-")
    if asked != id and asked in verdicts:
        said = _("Your answer: {answer}").format(answer=graded.said.get(asked, _("no answer")))
        return {**cell, "outputs": [_stream(f"{_wrapped(said)}\n")]}
    if told.get("grade") and id in verdicts:
        return {**cell, "outputs": _outputs(verdicts[id]), "execution_count": 1}
    return cell


@lru_cache(maxsize=4096)  # most of a class answers in the same words
def _wrapped(said: str) -> str:
    return fill(said, WIDTH, subsequent_indent="  ")


def _outputs(verdict: Verdict) -> list[dict[str, Any]]:
    drawn = traces(verdict)
    data = {"text/html": drawn, "text/plain": _("The needle, drawn.")}
    picture = [{"output_type": "display_data", "metadata": {}, "data": data}] if drawn else []
    score = {
        "output_type": "execute_result",
        "metadata": {},
        "data": {"text/plain": repr(float(verdict.earned))},
        "execution_count": 1,
    }
    return [_stream(f"{verdict.told}\n"), *picture, score]


def _stream(text: str) -> dict[str, Any]:
    return {"output_type": "stream", "name": "stdout", "text": text}
