"""Own run and an expert's of the same case: both needles are replays, each moment is the run's."""

from __future__ import annotations

import pytest

from graders.units.targets.raise_plays import expert, run_with
from tests.test_raise_practice import FOUND, LEARNERS, SAYS, asked, lines
from workbook.bench import Bench, read_hands
from workbook.display.compared import compared
from workbook.rules import editions, rulebook
from workbook.units.targets.expert import raising
from workbook.units.targets.raise_practice import PARTS, on_raise


@pytest.mark.parametrize("edition", list(editions()))
def test_the_expert_beside_a_learner_is_the_one_the_marking_knows(edition):
    """The lesson's expert does what the grader's own expert does, touch by touch."""
    for learner in LEARNERS[:2]:
        question, book = asked(learner, edition), rulebook(edition)
        mine, known = raising(question, book), read_hands(expert(question, book))
        assert [(t.kind, t.position) for t in mine.touches] == [
            (t.kind, t.position) for t in known.touches
        ]
        assert [t.time for t in mine.touches] == pytest.approx([t.time for t in known.touches])
        assert {*lines(question, mine.to_data(), edition).values()} == {"right"}


@pytest.mark.parametrize("mistake", [m for m in FOUND if m not in ("count-slow", "count-fast")])
def test_the_moment_of_a_finding_lies_in_the_run_and_an_expert_has_none(mistake):
    """What was found can be looked at, at a second of the learner's own run."""
    book, (part, found) = rulebook("aha-2020"), FOUND[mistake]
    drawn = ((q, run_with(q, mistake, book)) for q in map(asked, LEARNERS))
    question, run = next(each for each in drawn if lines(*each)[part] == found)
    told = on_raise(run, question, book, SAYS)
    line = told["lines"][list(PARTS).index(part)]
    if found == "never":  # what was never done has no moment
        assert "at" not in line
        return
    assert 0 <= line["at"] <= run["duration"]
    assert {"at": line["at"], "says": line["says"]} in told["compare"]["moments"]
    assert on_raise(expert(question, book), question, book, SAYS)["compare"]["moments"] == []


def test_a_long_hold_is_marked_where_it_begins():
    """The moment is the touch that began it."""
    question, book = asked(LEARNERS[0]), rulebook("aha-2020")
    run = run_with(question, "held-long", book)
    line = on_raise(run, question, book, SAYS)["lines"][0]
    begun = [row[0] for row in run["actions"] if row[1] == "occlude"]
    ended = [row[0] for row in run["actions"] if row[1] == "release"]
    longest = max(zip(begun, ended, strict=True), key=lambda pair: pair[1] - pair[0])
    assert line["at"] == pytest.approx(longest[0], abs=0.01)


def test_both_needles_are_what_a_replay_shows():
    """Time goes to the end of each run, and pressures are the model's."""
    question, book = asked(LEARNERS[0]), rulebook("aha-2020")
    bench = Bench.from_data(question.facts["bench"])
    own, best = read_hands(run_with(question, "held-long", book)), raising(question, book)
    made = compared(bench, own, best, [])
    for run, hands in ((made["own"], own), (made["expert"], best)):
        trace = bench.record(hands).replay()
        assert run["time"][-1] == pytest.approx(hands.duration, abs=0.3)
        assert run["pressure"] == pytest.approx(trace.at(run["time"], "manometer"), abs=1.5)
        assert len(run["time"]) <= 901
