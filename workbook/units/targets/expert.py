"""The run of somebody who knows, for the page to lay beside a learner's own."""

from __future__ import annotations

from workbook.bench import Bench, Hands, Touch
from workbook.cases import Question
from workbook.cases.inflation import SHARE
from workbook.cases.starting import step
from workbook.rules import RuleBook
from workbook.units.targets.case.raise_pip import enough, moves_from, pip_at

BEGIN = 1.0  # s before the first inflation, and after the last
LOOKS = 2  # inflations given beyond those that are asked for
BELOW_TOP = 1.0  # of a cmH2O that the expert keeps below the limit


def raising(asked: Question, book: RuleBook) -> Hands:
    """Return the run of somebody who raises PIP step by step while the count goes on."""
    facts, bench = asked.facts, Bench.from_data(asked.facts["bench"])
    moves = moves_from(bench, facts, book["volume.window"].band[0])
    period = 60 / facts["rate"]
    held, time, pip, at = period * SHARE, BEGIN, facts["pip"], bench.positions["pip"]
    touches: list[Touch] = []
    while True:
        for _ in range(enough(book) + LOOKS):
            touches += [Touch(time, "occlude"), Touch(time + held, "release")]
            time += period
        if at >= moves or pip >= facts["top"] - BELOW_TOP:
            return Hands(time + BEGIN, tuple(touches))
        pip = min(pip + step(book).band[0], facts["top"] - BELOW_TOP)
        at = pip_at(bench.positions, pip)
        touches.append(Touch(time - (period - held) / 2, "pip", at))
