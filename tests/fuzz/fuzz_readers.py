"""Nonsense for the readers: ``python -m tests.fuzz.fuzz_readers -max_total_time=600``.

Needs the extra ``fuzz`` (atheris). Each input goes to the reader of answers files and, as JSON, to
the readers and markers of every timed or placed answer. Anything but the sentence a reader is
allowed to raise, or an input that takes longer than ten seconds (instrumented code is slow), ends
the run with that input.
"""

from __future__ import annotations

import json
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import atheris

with atheris.instrument_imports(include=["workbook", "graders"]):
    from graders.grading.fingerprint import fingerprint
    from graders.marking.exercise import mark
    from workbook.bench import HandsError, read_hands
    from workbook.cases import Kind, case, exercises
    from workbook.cases.question import spoken
    from workbook.core.answer_sheet import AnswerFileError, read_answers
    from workbook.physics import Record, RecordError
    from workbook.rules import rulebook

SLOWEST = 10.0  # s
TIMED = {Kind.BENCH, Kind.TAPS}
PLACE = Path(tempfile.mkdtemp(prefix="tpiece-fuzz-")) / "any.answers.jsonl"
BOOK = rulebook("aha-2020")
CASES = [case("fuzz", exercise, "ada", BOOK) for exercise in exercises()]
QUESTIONS = [(each, question) for each in CASES for question in each.questions]
SEEDS = [
    b'{"n":1,"format":"tpiece-answers/1","course":"c","exercise":"e","learner":"l","edition":"x"}\n',
    b'{"format":"tpiece-hands","version":1,"duration":9,"actions":[[1,"cap"],[2,"flow",16]]}',
    b'{"format":"tpiece-taps","version":1,"duration":20,"events":[[1,"press"],[1.4,"release"]]}',
    b'{"format":"tpiece-face","version":1,"mask":50,"x":1.5,"y":-2,"turn":10}',
    b'{"text":"12,5","unit":"cmH2O"}',
]


def one_input(data: bytes) -> None:
    """Give one input to every reader."""
    begun = time.monotonic()
    PLACE.write_bytes(data)
    try:
        read_answers(PLACE)
    except AnswerFileError as error:
        _is_said(error)
    try:
        value = json.loads(data)
    except (ValueError, RecursionError):
        return
    _read(value, len(data))
    if time.monotonic() - begun > SLOWEST:
        raise TimeoutError(f"{time.monotonic() - begun:.1f} s for {len(data)} bytes")


def _is_said(error: Exception) -> None:
    if not str(error):
        raise RuntimeError("A reader refused without a sentence.") from error


def _read(value: Any, chance: int) -> None:
    for read, refuses in ((read_hands, HandsError), (Record.from_data, RecordError)):
        try:
            read(value)
        except refuses as error:
            _is_said(error)
    fingerprint(value)
    # The timed ones every time, and one of the others in turn.
    turn = chance % len(QUESTIONS)
    for n, (drawn, question) in enumerate(QUESTIONS):
        if question.kind in TIMED or n == turn:
            verdict = mark(drawn, question.id, value, BOOK)
            assert 0 <= verdict.earned <= verdict.possible
            spoken(question, value)


def main() -> None:
    """Run until the time given on the command line is over."""
    corpus = PLACE.parent / "seeds"
    corpus.mkdir()
    for n, seed in enumerate(SEEDS):
        (corpus / str(n)).write_bytes(seed)
    atheris.Setup([*sys.argv, str(corpus)], one_input)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
