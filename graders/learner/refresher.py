"""A short refresher: what a learner got wrong, unsafe acts first, with fresh cases to do it on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from hashlib import sha256

from graders.learner.next_step import was_shown
from graders.marking.graded import Graded
from graders.marks.misconceptions import misconceptions
from workbook.rules import RuleBook

LONGEST_ID = 40  # letters of a course id


@dataclass(frozen=True, slots=True)
class Item:
    """One question to do again: why, and what to read before."""

    unit: str
    question: str
    why: str
    read: str = ""


@dataclass(frozen=True, slots=True)
class Refresher:
    """A learner's refresher. ``course`` is the id of a course that draws every case anew."""

    learner: str
    course: str
    items: tuple[Item, ...]

    @property
    def units(self) -> tuple[str, ...]:
        """Return the units it needs, in teaching order."""
        return tuple(sorted({item.unit for item in self.items}))


def refresher(
    learner: str, latest: Iterable[Graded], book: RuleBook, *, course: str, on: date
) -> Refresher:
    """Return a refresher from a learner's latest work, the same for the same day.

    What was unsafe comes first, then what showed a misconception, then what cost points. Where
    nothing was wrong, one question of each unit is drawn, so that nobody goes without.
    """
    works = sorted(latest, key=lambda one: one.unit)
    most = round(book["retest.questions"].band[1])
    drawn = f"{course}, {learner}, {on}"
    found = sorted(_wrong(works), key=lambda pair: (pair[0], _lot(drawn, pair[1])))
    items = [item for _, item in found] or list(_kept_fresh(works, drawn))
    name = f"{course[: LONGEST_ID - 9]}-r{on:%Y-%m}"
    return Refresher(learner, name, tuple(items[:most]))


def _wrong(works: Iterable[Graded]) -> Iterator[tuple[tuple[int, float], Item]]:
    """Yield each question that was not all right, with how soon it should come."""
    known = misconceptions()
    for one in works:
        for verdict in one.verdicts:
            lost = verdict.possible - verdict.earned
            acts = [f for f in verdict.unsafe if was_shown(f)]
            beliefs = [known[id] for id in verdict.misconceptions if id in known]
            missed = next((f.says for f in verdict.findings if not f.met), "")
            if not missed and lost <= 0:
                continue
            rank = 0 if acts else 1 if beliefs else 2
            why = acts[0].says if acts else beliefs[0].true if beliefs else missed
            read = beliefs[0].where if beliefs else ""
            yield (rank, -round(lost, 6)), Item(one.unit, verdict.question, why, read)


def _kept_fresh(works: Iterable[Graded], drawn: str) -> Iterator[Item]:
    for one in works:
        items = [
            Item(one.unit, v.question, "Right last time; see that it still is.")
            for v in one.verdicts
        ]
        yield from sorted(items, key=lambda item: _lot(drawn, item))[:1]


def _lot(drawn: str, item: Item) -> str:
    return sha256(f"{drawn}, {item.unit}, {item.question}".encode()).hexdigest()
