"""How long a drawn trial of 90 s takes to replay and to mark, in every edition.

Run ``python -m tests.benchmarks.bench_trial_replays [TRIALS]`` (300 unless given, at least 200).
Grading replays a trial by ``workbook.trial.replay.Replay``: spans between two moves, each settled
in closed form, as `graders.units.faults.marks.check` asks it; no stepper runs. Each trial is done
twice, to its last second: by an expert who goes on ventilating, and by somebody busy who touches
something all the time. What is timed comes right after the draw, as in grading, in processor time:

- replayed: the record is read, and all worked out that the marks ask of a replay;
- marked: read, replayed once more, judged and put into words.

It prints the median, the 95th percentile and the longest of each, and ends with 1 when the 95th
percentile of a replay is 5 ms or more.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable, Iterator
from statistics import quantiles
from typing import Any

from graders.units.faults import marks
from graders.units.faults.expert import LOOKS, Hand, begin, test
from workbook.bench import DIALS
from workbook.cases import Case, Question, case
from workbook.rules import RuleBook, editions, rulebook
from workbook.trial import NAMED, Scene, read_trial
from workbook.trial.moves import DIALLED, MOVES, may
from workbook.trial.replay import Replay
from workbook.units.faults.case.questions import EXERCISE, TRIALS, seconds

MOST, LEAST, DRAWN = 5.0, 200, 300  # ms; trials
BEAT = 0.7  # s from one inflation's end to the next one
TOLD = ("seen", "met", "ventilated", "inflations", "gap", "high", "stuck", "safe_at", "mended",
        "read_again")  # fmt: skip
Plays = Callable[[Hand, float], None]


def expert(hand: Hand, end: float) -> None:
    """Do all that is right, then ventilate to the end."""
    begin(hand)
    test(hand, hand.asked.facts["fault"])
    hand.say(hand.asked.facts["fault"])
    hand.finish()
    while hand.time < end:
        hand.cover()
        hand.time += BEAT


def busy(hand: Hand, end: float) -> None:
    """Inflate, look, turn, change and name without a pause, by chance."""
    chance = random.Random(hand.asked.facts["fault"])  # noqa: S311
    moves = [id for id in MOVES if may(id, hand.asked.facts["setting"])]
    others = [id for id in moves if MOVES[id].does not in ("hold", "say", "mend")]
    while hand.time < end:
        hand.cover(LOOKS / 2)
        move = chance.choice(others)
        turned = chance.randint(0, DIALS[move].clicks) if move in DIALLED else None
        hand.do(move, turned)
    hand.say(chance.choice(sorted(NAMED)))


PLAYS: dict[str, Plays] = {"expert": expert, "busy learner": busy}


def record(asked: Question, book: RuleBook, play: Plays) -> dict[str, Any]:
    """Return a trial as long as a trial may last."""
    hand, end = Hand(asked, book), book["trial.limit"].band[1]
    play(hand, end - max(seconds(book).values()) - 2)
    return {**hand.trial.to_data(), "duration": round(1000 * end)}


def drawn(count: int) -> Iterator[tuple[Case, Question, RuleBook]]:
    """Yield at least so many drawn trials, as many of each edition."""
    books = [rulebook(id) for id in editions()]
    learners = -(-count // (len(books) * len(TRIALS)))
    for n in range(learners):
        for book in books:
            made = case("replays", EXERCISE, f"learner{n}", book)
            yield from ((made, asked, book) for asked in made.questions)


def replayed(asked: Question, value: Any, book: RuleBook) -> None:
    """Read a trial, and work out all that the marks ask of its replay."""
    takes, most = seconds(book), book["trial.limit"].band[1]
    trial = read_trial(value, asked.facts["setting"], takes, most)
    replay = Replay(Scene.of(asked.facts), trial, takes, marks.limits_of(asked.facts, book))
    for each in TOLD:
        getattr(replay, each)


def taken(do: Callable[..., object], *given: Any) -> float:
    """Return the processor time that something takes (ms)."""
    begun = time.process_time()
    do(*given)
    return 1000 * (time.process_time() - begun)


def times(count: int) -> tuple[int, int, dict[str, list[float]]]:
    """Return how many trials there were, the most moves in one, and what each took (ms)."""
    found: dict[str, list[float]] = {
        f"{who}, {what}": [] for who in PLAYS for what in ("replayed", "marked")
    }
    tried, most = 0, 0
    for made, asked, book in drawn(count):
        tried += 1
        for who, play in PLAYS.items():
            value = record(asked, book, play)
            most = max(most, len(value["moves"]))
            found[f"{who}, replayed"].append(taken(replayed, asked, value, book))
            found[f"{who}, marked"].append(taken(marks.check, made, asked.id, value, book))
    return tried, most, found


def main() -> int:
    """Print a line for each; return 1 when a replay takes too long."""
    tried, most, found = times(max(LEAST, *map(int, sys.argv[1:] or [DRAWN])))
    print(f"{tried} drawn trials of 90 s in {len(editions())} editions, up to {most} moves")
    late = False
    for name, each in found.items():
        cuts = quantiles(each, n=20)
        late = late or (name.endswith("replayed") and cuts[-1] >= MOST)
        print(f"{name:24} p50 {cuts[9]:5.2f} ms  p95 {cuts[-1]:5.2f} ms  most {max(each):5.2f} ms")
    return 1 if late else 0


if __name__ == "__main__":
    sys.exit(main())
