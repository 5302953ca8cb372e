"""What a team sees at a second of a case: nothing that a team would not have."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from workbook.physics.baby import (
    LEADS,
    OXIMETER,
    Monitor,
    breathing,
    by_leads,
    by_oximeter,
    heard,
    tone,
)
from workbook.rules import RuleBook
from workbook.scenario.acts import seconds
from workbook.scenario.changes import Ordered, ordered
from workbook.scenario.replay import Replay

NOT_ON, SEARCHING = "not on", "searching"


def seen(made: Replay, time: float, book: RuleBook) -> dict[str, Any]:
    """Return what is seen and heard at a time (s): of heart and saturation only by what is on.

    ``beats`` are when heart beats were heard (s) in the count that is under way or just over: the
    learner counts them. A monitor is not on, searching, or shows.
    """
    course, nature = made.course, made.case.hidden.nature
    state, acts = course.at(time), ordered(made.played, seconds(book))
    oximeter = _of(made, acts, OXIMETER, made.case.hidden.oximeter, time)
    leads = _of(made, acts, LEADS, made.case.hidden.leads, time)
    return {
        "clock": round(time, 1),
        "breathing": breathing(nature, state, _peep(made, time)),
        "tone": tone(state),
        "chest": _chest(made, time, book),
        "beats": _beats(made, acts, time, book),
        "oximeter": oximeter if isinstance(oximeter, str) else by_oximeter(course, time),
        "leads": leads if isinstance(leads, str) else by_leads(course, time),
    }


def _of(
    made: Replay, acts: Sequence[Ordered], kind: str, monitor: Monitor, time: float
) -> str | None:
    """Return why a monitor shows nothing; None where it shows."""
    put = [one for one in acts if one.done.act == kind]
    if not put or time < put[0].ends:
        return NOT_ON
    pressed = any(start <= time < end for start, end in _pressed(made)) and kind == LEADS
    shows = monitor.shows(put[0].ends, time) and not pressed
    return None if shows else SEARCHING


def _pressed(made: Replay) -> list[tuple[float, float]]:
    """Return when the chest was compressed (s): leads show nothing then."""
    found, begun = list[tuple[float, float]](), None
    for one in made.played.done:
        if one.act == "compress" and begun is None:
            begun = one.time
        elif one.act == "compress-stop" and begun is not None:
            found.append((begun, one.time))
            begun = None
    return found if begun is None else [*found, (begun, made.played.duration)]


def _chest(made: Replay, time: float, book: RuleBook) -> str:
    """Return how the chest moved just now; nothing where nobody inflates."""
    if any(start <= time <= end for start, end in made.bagged):
        return "moves"
    if _in_use(made, time) == "bag":
        return "still"
    lasts = book["scenario.chest.seen"].value
    last = [one for one in made.inflations if one.end <= time < one.end + lasts]
    return last[-1].chest if last else ""


def _in_use(made: Replay, time: float) -> str:
    """Return what ventilates, or would, at a time: the bag or the T-piece; nothing off the face."""
    now = ""
    for one in made.played.done:
        if one.time > time:
            break
        if one.act in ("connect", "t-piece"):
            now = "t-piece"
        elif one.act in ("open", "bag"):
            now = "" if one.act == "open" else "bag"
    return now


def _peep(made: Replay, time: float) -> float:
    """Return the PEEP (cmH2O) that reaches the baby: what the T-piece was set to, on the face."""
    return made.rest if _in_use(made, time) == "t-piece" else 0.0


def _beats(made: Replay, acts: Sequence[Ordered], time: float, book: RuleBook) -> list[float]:
    window = book["scenario.time.listen"].value
    listens = [one for one in acts if one.done.act == "listen" and one.begins <= time]
    if not listens or time >= listens[-1].begins + 2 * window:
        return []
    start = listens[-1].begins
    beats = heard(made.course, start, window, made.case.hidden.phase)
    return [beat for beat in beats if beat <= time]
