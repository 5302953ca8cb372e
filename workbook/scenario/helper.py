"""What the helper answers: each line said is repeated, so that it is known to have been heard.

Now and then the helper mishears, as people do. Which line that befalls is drawn with the case, so a
record needs no word of it and replays. A line that was misheard is put right by saying it again.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from workbook.core.language import N_, _
from workbook.scenario.acts import ACTS
from workbook.scenario.case import Case
from workbook.scenario.record import Done

EVERY = 5  # lines from one that is misheard to the next
FIRST = 3  # the first that is misheard is one of so many
TENS = range(30, 100, 10)  # of these, thirty sounds like thirteen

HEARD: Mapping[str, str] = {
    "chest-still": N_("The chest does not move, I see it too."),
    "chest-moves": N_("The chest moves, I see it too."),
    "heart-please": N_("Heart rate. Tell me when to count."),
    "oxygen-is": N_("The oxygen dial stands at {dial} percent."),
    "gas-fails": N_("The gas fails. The bag is here."),
}
MISHEARD: Mapping[str, str] = {
    "chest-still": N_("The chest moves, you say. Good."),
    "chest-moves": N_("The chest does not move, you say?"),
    "heart-please": N_("Head? It lies straight."),
    "oxygen-is": N_("The oximeter? It is here beside me."),
    "gas-fails": N_("The mask? I hold it ready."),
}
ANSWERED: Mapping[str, str] = {
    "call": N_("Help is called."),
    "listen": N_("I listen and tap the beats."),
    "oximeter": N_("I put the oximeter on the right hand."),
    "leads": N_("I put the leads on."),
    "compress": N_("I compress: three, and one for you."),
    "compress-stop": N_("I stop compressions."),
}


@dataclass(frozen=True, slots=True)
class Answer:
    """What the helper says to an act at a time (s), and whether it was heard right."""

    time: float
    act: str
    says: str
    right: bool = True


def answers(case: Case, done: Sequence[Done]) -> list[Answer]:
    """Return what the helper says to all that was done, in order; the same on every machine."""
    found, said, dial = list[Answer](), 0, case.oxygen
    for one in done:
        if one.act == "oxygen":
            dial = one.what
        if ACTS[one.act].says in ("line", "rate"):
            wrong = misheard(case, said)
            said += 1
            says, right = _to(one, dial, wrong=wrong)
            found.append(Answer(one.time, one.act, says, right))
        elif one.act in ANSWERED:
            found.append(Answer(one.time, one.act, _(ANSWERED[one.act])))
    return found


def left_misheard(case: Case, done: Sequence[Done], within: float) -> Answer | None:
    """Return the first answer that was wrong and not put right within some time (s).

    It is put right by the same line, or a heart rate once more, that the helper hears right.
    """
    told = [one for one in answers(case, done) if ACTS[one.act].says in ("line", "rate")]
    lines = [one for one in done if ACTS[one.act].says in ("line", "rate")]
    for n, wrong in enumerate(told):
        again = (
            each.right and each.time - wrong.time <= within
            for line, each in zip(lines[n + 1 :], told[n + 1 :], strict=True)
            if line.act == wrong.act and (wrong.act == "heart-rate" or line.what == lines[n].what)
        )
        if not wrong.right and not any(again):
            return wrong
    return None


def misheard(case: Case, n: int) -> bool:
    """Say whether the n-th line that is said, from 0, is misheard."""
    digest = hashlib.sha256(f"{case.id}/{case.hidden.phase}".encode()).digest()
    return n >= 1 and (n - 1 - digest[0] % FIRST) % EVERY == 0


def _to(one: Done, dial: float, *, wrong: bool) -> tuple[str, bool]:
    if one.act == "say":
        says = _((MISHEARD if wrong else HEARD)[one.what]).format(dial=round(dial))
        return says, not wrong
    rate = one.what
    tens = rate % 100
    if wrong and tens in TENS:
        return _("{rate}, I write it down.").format(rate=rate - tens + tens // 10 + 10), False
    return _("{rate}, I write it down.").format(rate=rate), True
