"""How a lab's minutes and people are shared out: whole minutes, balanced groups, no chance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from workbook.core.errors import PlainError
from workbook.rules import RuleBook

SETTINGS = ("minutes", "stations", "group")


class LabError(PlainError, ValueError):
    """A lab that cannot be planned or read back; the message has a sentence for each mistake."""


@dataclass(frozen=True, slots=True)
class Lab:
    """What the person who runs the lab has: minutes a session, devices, learners at a device."""

    minutes: int
    stations: int
    group: int


@dataclass(frozen=True, slots=True)
class Times:
    """How the minutes of one session are spent; together they are all its minutes.

    ``topics`` has the minutes of each topic that gets time, in the order of the weights.
    ``practice`` is what remains for whole set-ups by hand where there is no topic.
    """

    check: int
    topics: tuple[int, ...]
    practice: int
    debrief: int

    @property
    def total(self) -> int:
        """Return the minutes of the session."""
        return self.check + sum(self.topics) + self.practice + self.debrief


def lab_of(
    book: RuleBook,
    *,
    minutes: int | None = None,
    stations: int | None = None,
    group: int | None = None,
) -> Lab:
    """Return a lab as asked for; what is not said is the rules' usual.

    Raises LabError naming every number outside what the rules allow.
    """
    asked = dict(zip(SETTINGS, (minutes, stations, group), strict=True))
    problems = []
    for name, value in asked.items():
        rule = book[f"lab.{name}"]
        if value is None:
            asked[name] = round(rule.value)
        elif not rule.holds(value):
            problems.append(f"{name} {value} cannot be planned with; choose {rule.text}.")
    if problems:
        raise LabError(" ".join(problems))
    return Lab(*(value or 0 for value in asked.values()))


def times(minutes: int, weights: Sequence[float], book: RuleBook) -> Times:
    """Share out the minutes of a session.

    Set-up check and debrief have a fixed share. Of the rest each topic first gets the least a
    topic may have, as far as it lasts; what is left goes by weight, whole minutes, the largest
    remainder first. ``weights`` come in the order of the topics.
    """
    check, debrief = (round(minutes * book[id].value / 100) for id in ("lab.check", "lab.debrief"))
    rest = minutes - check - debrief
    least = round(book["lab.topic"].value)
    most = round(book["lab.topics"].value)
    kept = [max(0.0, weight) for weight in weights[: min(most, rest // least)]]
    if not kept:
        return Times(check, (), rest, debrief)
    more = shared(rest - least * len(kept), kept)
    return Times(check, tuple(least + extra for extra in more), 0, debrief)


def shared(total: int, weights: Sequence[float]) -> list[int]:
    """Return whole numbers in proportion to weights that sum to ``total``; equal where all are 0.

    What rounding down leaves goes to the largest remainders, the earlier first.
    """
    every = sum(weights)
    exact = [total * (w / every if every else 1 / len(weights)) for w in weights]
    found = [int(x) for x in exact]
    by_rest = sorted(range(len(found)), key=lambda n: (-round(exact[n] - found[n], 9), n))
    for n in by_rest[: total - sum(found)]:
        found[n] += 1
    return found


def sizes(people: int, wanted: int) -> list[int]:
    """Return the sizes of balanced groups, no two apart by more than one, the larger first.

    As few groups as keep to the wanted size; nobody works alone where there is somebody else,
    so that a group may then be one larger than wanted.
    """
    if not people:
        return []
    count = max(1, min(-(-people // wanted), people // 2))
    size, over = divmod(people, count)
    return [size + 1] * over + [size] * (count - over)
