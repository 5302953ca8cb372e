"""A unit of one question, added to a copy of the tree as one room on each side: it is found there.

It is drawn, answered and marked. Giving out its page, grading it by course and reporting it are not
tried here.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

from tests.planted import ROOT

ROOMS = {
    "workbook/units/tiny/__init__.py": '''"""Unit 9: one question, made up for a test."""

from workbook.cases.unit import Unit
from workbook.units.tiny.case.questions import EXERCISE, questions

UNIT = Unit(EXERCISE, "Exercise 9: tiny", questions)
''',
    "workbook/units/tiny/case/__init__.py": '"""What is drawn for unit 9."""\n',
    "workbook/units/tiny/case/questions.py": """from workbook.cases.draw import Draw
from workbook.cases.question import Kind, Option, Question

EXERCISE = "9_tiny"


def questions(course, learner, book):
    draw = Draw(course, EXERCISE, learner, "tiny")
    options = (Option("yes", "Yes."), Option("no", "No."))
    return (Question("tiny", Kind.CHOICE, "Is it so?", options=tuple(draw.shuffled(options))),)
""",
    "graders/units/tiny/__init__.py": '''"""Unit 9: one question, made up for a test."""

from graders.marks.unit import Unit
from graders.units.tiny import beliefs, marks, plays

UNIT = Unit(marks, plays, beliefs)
''',
    "graders/units/tiny/marks.py": """from graders.marks.verdict import Finding, Verdict
from workbook.units.tiny.case.questions import EXERCISE

POINTS = {"tiny": 1.0}


def check(case, question, value, book):
    met = value == "yes"
    return Verdict(question, (Finding(question, met, "It is so.", float(met), 1.0),))


def model_answers(case, book):
    return {"tiny": "yes"}
""",
    "graders/units/tiny/plays.py": """PLAYS = {}


def play(answers, case, book, misconception): ...


def shows(case, misconception):
    return False
""",
    "graders/units/tiny/beliefs.py": """SHOWN, SPOKEN = {}, {}


def shared(asked, value, sign, book):
    return ()
""",
}
ASKED = """
import json
from graders.marking.exercise import mark_all, model_answers
from workbook.cases import case, exercises, title
from workbook.rules import rulebook

book = rulebook()
drawn = case("may", "9_tiny", "learner1", book)
answers = (model_answers(drawn, book), {"tiny": "no"}, {})
earned = [sum(v.earned for v in mark_all(drawn, each, book)) for each in answers]
print(json.dumps([list(exercises()), title("9_tiny"), earned]))
"""


def test_a_room_on_each_side_is_a_unit(tmp_path: Path) -> None:
    """Nothing else is told of it: no list, no table, no contract."""
    for name in ("workbook", "graders"):
        ignored = shutil.ignore_patterns("__pycache__", "labextension", "pictures")
        shutil.copytree(ROOT / name, tmp_path / name, ignore=ignored)
    for path, text in ROOMS.items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_text(text, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-c", ASKED], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    every, heading, earned = json.loads(done.stdout.splitlines()[-1])
    assert every[-1] == "9_tiny"
    assert heading == "Exercise 9: tiny"
    assert earned == [1.0, 0.0, 0.0]
