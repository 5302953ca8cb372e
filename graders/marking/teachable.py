"""Whether a site's protocol can be taught: its numbers fit together, and every unit can be drawn.

Each unit is drawn for a hundred invented learners; a part of them also answer rightly, and every
right answer must earn its points. What fails is told with the rule that makes it impossible:
the one without which it would not fail.
"""

from __future__ import annotations

import signal
import threading
import traceback
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from graders.marking.exercise import mark_all, model_answers
from workbook.cases import case, exercises, title
from workbook.rules import Rule, RuleBook
from workbook.rules.files import shipped
from workbook.rules.site.protocol import Protocol, overlay

LEARNERS = 100
ANSWERED = 5  # of them; playing a set-up by hand takes half a second
LONGEST = 5.0  # s for one draw
ENDLESS = "the drawing does not end"
LOW = 50.0  # percent; a pass mark below is asked about
CASES = "cases"  # the folder of what draws
# (lower, higher, what it would mean): in one baby the first must not reach above the second.
_ORDER = (
    ("peep.start", "pip.start", "PEEP would not lie below PIP"),
    ("peep.drawn", "pip.drawn", "PEEP would not lie below PIP"),
    ("pip.start", "relief.limit", "the relief would open below the PIP to begin with"),
    ("pip.drawn", "relief.limit", "the relief would lie below every PIP that is asked about"),
    ("peep.start", "relief.limit", "the relief would open below PEEP"),
)


@dataclass(frozen=True, slots=True)
class Impossible:
    """One question that cannot be asked: where, which rules make it so, and why."""

    where: str
    rules: tuple[str, ...]
    why: str

    @property
    def says(self) -> str:
        """Return it in a sentence."""
        named = " and ".join(self.rules) or "the protocol as a whole"
        return f"{named}: {self.why} ({self.where})."


def impossible(
    protocol: Protocol,
    learners: int = LEARNERS,
    answered: int = ANSWERED,
    step: Callable[[], object] = lambda: None,
) -> tuple[Impossible, ...]:
    """Return what a protocol makes impossible, each once; ``step`` is called after each draw."""
    edition = shipped(protocol.edition)
    book = overlay(edition, protocol)
    found = list(_contradictions(book, protocol))
    for unit in exercises():
        seen: set[str] = set()
        for n in range(learners):
            failed = None
            if unit not in seen:
                failed = _failure(unit, f"check-{n:03d}", book, marked=n < answered)
            step()
            if failed is None or failed.where in seen:
                continue
            seen.add(failed.where)
            marked = n < answered
            if ENDLESS in failed.why:
                seen.add(unit)  # the others would take as long
            if _failure(unit, f"check-{n:03d}", edition, marked=marked) is not None:
                continue  # the edition's own, not the site's doing
            rules = _culprits(unit, f"check-{n:03d}", edition, protocol, marked=marked)
            found.append(replace(failed, rules=rules))
    return tuple(found)


def doubts(book: RuleBook) -> Iterator[str]:
    """Yield a sentence for each number that can be taught but is more likely a slip."""
    if "pass-mark" in book and book["pass-mark"].stated and book["pass-mark"].value < LOW:
        yield (
            f"a pass mark of {book['pass-mark'].value:g} % lets nearly everybody pass: is it meant?"
        )


def _contradictions(book: RuleBook, protocol: Protocol) -> Iterator[Impossible]:
    """Yield each pair of rules of which one is the site's and that exclude each other in a baby."""
    ours = {rule.id for rule in protocol.rules}
    for low, high, why in _ORDER:
        if not {low, high} & ours:
            continue
        for one, other in _together(book, low, high):
            over = one.band[0] > other.band[1]
            if over or (low.startswith("peep") and one.band[1] >= other.band[0]):
                said = f"{why}: {one.text}, {other.text}"
                yield Impossible(other.population.says, (low, high), said)
                break


def _together(book: RuleBook, one: str, other: str) -> Iterator[tuple[Rule, Rule]]:
    stated = [rule for rule in book if rule.stated and rule.id in (one, other)]
    for a in stated:
        for b in stated:
            if a.id == one and b.id == other and a.population.overlaps(b.population):
                yield a, b


def _failure(unit: str, learner: str, book: RuleBook, *, marked: bool) -> Impossible | None:
    """Return what cannot be drawn, or cannot be answered rightly, of one learner's unit."""
    try:
        with _within(LONGEST):
            drawn = case("check", unit, learner, book)
    except Exception as error:  # noqa: BLE001  # whatever it is, this unit cannot be given out
        why = f" ({ENDLESS})" if isinstance(error, TimeoutError) else ""
        return Impossible(_place(error, unit), (), f"no such question can be drawn{why}")
    if not marked:
        return None
    try:
        verdicts = mark_all(drawn, model_answers(drawn, book), book)
    except Exception as error:  # noqa: BLE001
        return Impossible(_place(error, unit), (), "no right answer can be worked out")
    for verdict in verdicts:
        if verdict.earned < verdict.possible:
            where = f"{title(unit)}: {drawn[verdict.question].label}"
            return Impossible(where, (), "not even the right answer earns its points")
    return None


@contextmanager
def _within(seconds: float) -> Iterator[None]:
    """Stop what does not end, where the system can; a draw takes a hundredth of the time."""
    if not hasattr(signal, "setitimer") or threading.current_thread() != threading.main_thread():
        yield
        return

    def stop(_signal: int, _frame: object) -> None:
        raise TimeoutError

    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def _place(error: Exception, unit: str) -> str:
    """Return which question was being drawn, as far as where it failed tells."""
    steps = [
        frame
        for frame in traceback.extract_tb(error.__traceback__)
        if Path(frame.filename).parent.name == CASES and Path(frame.filename).stem != "draw"
    ]
    words = [
        Path(frame.filename).stem if frame.name.strip("_<>") in _GENERAL else frame.name
        for frame in steps
        if frame.name != "case"
    ]
    named = words[-1].strip("_").replace("_", " ") if words else "its questions"
    return f"{title(unit)}: {named}"


_GENERAL = {"questions", "numbers", "lambda", "genexpr", "listcomp", "draw", "question", "pick"}


def _culprits(
    unit: str, learner: str, edition: RuleBook, protocol: Protocol, *, marked: bool
) -> tuple[str, ...]:
    """Return the site's rules without which it would not fail; those that fail alone, else."""

    def fails(rules: Sequence[Rule]) -> bool:
        book = overlay(edition, replace(protocol, rules=tuple(rules)))
        return _failure(unit, learner, book, marked=marked) is not None

    ids = dict.fromkeys(rule.id for rule in protocol.rules)
    without = [id for id in ids if not fails([r for r in protocol.rules if r.id != id])]
    if without:
        return tuple(without)
    return tuple(id for id in ids if fails([r for r in protocol.rules if r.id == id]))
