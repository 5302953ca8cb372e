"""A case from birth to look at again: what was seen and done, alone or beside an expert's.

A learner's own course holds what the team could see; what nobody could see comes with the expert's
and the moments, after the learner has said what to do otherwise.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from workbook.core.language import N_, _, fixed
from workbook.core.quantities import plain
from workbook.rules import RuleBook
from workbook.scenario import Case, Played, Replay, replay, seconds
from workbook.scenario.acts import ACTS, HELPER, LINES, NEW_AIRWAYS
from workbook.scenario.changes import Ordered, ordered
from workbook.scenario.expert import expert
from workbook.scenario.looks import COUNTED, looks
from workbook.scenario.moments import Moment, clock, moments
from workbook.scenario.replay import PERCENT, Inflation

EVERY = 2  # s between two points of a line
GAP = 5.0  # s without an inflation that end a run of them
BY_HAND = ("occlude", "release")  # told as inflations
FACES: Mapping[str, str] = {
    "": N_("nothing"),
    "t-piece": N_("T-piece, mask"),
    "bag": N_("bag"),
    "laryngeal-mask": N_("T-piece, laryngeal mask"),
    "tube": N_("T-piece, tube"),
}
CHESTS: Mapping[str, str] = {
    "moves": N_("the chest moves"),
    "little": N_("the chest moves a little"),
    "still": N_("the chest is still"),
}
# Every fixed word of the picture, so that a page can be in another language.
WORDS = {
    "lang": "en",
    "decimal": ".",
    "courseOwn": N_("Your course"),
    "courseExpert": N_("An expert's"),
    "courseHeart": N_("Heart rate, a minute"),
    "courseSaturation": N_("Saturation, %"),
    "courseInflations": N_("Inflations, cmH₂O"),
    "courseOxygen": N_("Oxygen dial, %"),
    "courseFace": N_("On the face"),
    "courseActs": N_("Hands and helper"),
    "coursePair": N_("{what}: you, then an expert"),
    "courseTime": N_("minutes after birth"),
    "courseCounted": N_("counted"),
    "courseTrue": N_("the baby's own"),
    "courseBand": N_("aimed for by {edition}"),
    "courseChestMoves": N_("chest moves"),
    "courseChestLittle": N_("a little"),
    "courseChestStill": N_("still"),
    "courseCursor": N_("Second to look at"),
    "courseAt": N_("{time} after birth"),
    "courseRowHeart": N_("Heart rate shown"),
    "courseRowTrue": N_("Heart rate of the baby"),
    "courseRowSaturation": N_("Saturation shown"),
    "courseRowOxygen": N_("Oxygen dial"),
    "courseRowFace": N_("On the face"),
    "courseRowInflations": N_("Inflations"),
    "courseRowDoing": N_("Just done"),
    "courseNothing": N_("nothing shown"),
    "courseNone": N_("none"),
    "courseWords": N_("Both courses in words"),
    "courseWordsOwn": N_("Your course in words"),
    "courseGo": N_("Go to {time}"),
    "courseSays": N_("{who}, in {end} minutes: lines of heart rate and saturation, inflations with "
                     "their chest, oxygen, what was on the face, and what was done. Below it "
                     "stands each second in words."),
    "courseModel": N_("A teaching model of a baby, no forecast. Local protocol and licensed "
                      "practice come first."),
}  # fmt: skip


def told(made: Replay, book: RuleBook, *, whole: bool = True) -> dict[str, Any]:
    """Return a course for a page: times in s, rates in 1/min, percent, cmH2O.

    Without ``whole`` it holds what the team could see, and no more.
    """
    seen, acts = looks(made, book), ordered(made.played, seconds(book))
    end = made.played.duration
    course: dict[str, Any] = {
        "end": end,
        "shown": _lines((one.time, one.rate) for one in seen.rates if one.by != COUNTED),
        "counts": [[one.time, round(one.rate)] for one in seen.rates if one.by == COUNTED],
        "saturation": _lines(seen.saturations.items()),
        "inflations": runs(made),
        "oxygen": [[0.0, made.case.oxygen],
                   *([one.ends, one.done.what] for one in acts if one.done.act == "oxygen")],
        "face": _faces(acts, end),
        "acts": [_bar(one, end) for one in acts if one.done.act not in BY_HAND],
        "story": [[time, says] for time, says in story(made, book)],
    }  # fmt: skip
    if whole:
        times = range(0, int(end) + 1, EVERY)
        course["heart"] = [[t, round(made.course.heart(t))] for t in times]
        course["true"] = [[t, round(PERCENT * made.course.saturation(t))] for t in times]
    return course


def words() -> dict[str, str]:
    """Return the fixed words of the picture, in the language of the page."""
    return fixed(WORDS)


def own(made: Replay, book: RuleBook) -> dict[str, Any]:
    """Return a learner's course as it stands before anything is told of it."""
    return {**_around(made, book), "own": told(made, book, whole=False)}


def compared(made: Replay, book: RuleBook, found: Sequence[Moment] | None = None) -> dict[str, Any]:
    """Return a learner's course beside an expert's of the same baby, with moments to look at.

    ``found`` are the moments, of whoever looked; by itself, what the two courses show.
    """
    theirs = expert_of(made.case, book)
    marked = moments(made, theirs, book) if found is None else found
    return {
        **_around(made, book), "own": told(made, book), "expert": told(theirs, book),
        "moments": [{"at": round(one.at, 1), "says": one.says} for one in marked],
    }  # fmt: skip


def expert_of(case: Case, book: RuleBook) -> Replay:
    """Return an expert's course of a case, worked out anew."""
    play: Played = expert(case, book)
    return replay(case, play, book)


def _around(made: Replay, book: RuleBook) -> dict[str, Any]:
    """Return what holds for both: the edition and its band of saturation, by time (s)."""
    limit, demands = book["scenario.limit"].value, made.demands
    changes = [t for t in range(int(limit) + 1) if demands.target(t) != demands.target(t - 1)]
    bands = []
    for start, until in zip(changes, [*changes[1:], limit], strict=True):
        band = demands.target(start)
        if band is not None:
            bands.append([start, until, band[0], min(band[1], PERCENT)])
    return {"edition": demands.edition, "band": bands, "limit": limit, "words": words()}


def _lines(points: Iterable[tuple[float, float]]) -> list[list[list[float]]]:
    """Return points as lines that break where nothing was shown for more than a second or two."""
    found: list[list[list[float]]] = []
    for time, value in points:
        if not found or time - found[-1][-1][0] > EVERY:
            found.append([])
        found[-1].append([round(time, 1), round(value)])
    return [_thin(line) for line in found]


def _thin(line: list[list[float]]) -> list[list[float]]:
    return [*line[:-1:EVERY], line[-1]]


def runs(made: Replay) -> list[dict[str, Any]]:
    """Return runs of inflations that did the same, and spells with the bag, in order."""
    found: list[list[Inflation]] = []
    for one in made.inflations:
        if found and _alike(found[-1][-1], one):
            found[-1].append(one)
        else:
            found.append([one])
    rows: list[dict[str, Any]] = [
        {"from": run[0].start, "to": run[-1].end, "count": len(run), "chest": run[0].chest,
         "pressure": round(max(one.top for one in run)), "says": _(CHESTS[run[0].chest])}
        for run in found
    ]  # fmt: skip
    rows += [
        {"from": start, "to": end, "count": 0, "chest": "moves", "pressure": 0,
         "says": _("with the bag, the chest moves")}
        for start, end in made.bagged
    ]  # fmt: skip
    return sorted(rows, key=lambda row: float(row["from"]))


def _alike(one: Inflation, other: Inflation) -> bool:
    near = other.start - one.end <= GAP
    return near and one.chest == other.chest and round(one.top) == round(other.top)


def _faces(acts: Sequence[Ordered], end: float) -> list[list[Any]]:
    """Return what was on the face from when to when (s)."""
    found: list[list[Any]] = [[0.0, end, ""]]
    airway = "t-piece"
    for one in acts:
        if one.done.act in NEW_AIRWAYS:
            airway = one.done.act
        now = {"connect": airway, "t-piece": airway, "bag": "bag", "open": ""}.get(
            one.done.act, airway if one.done.act in NEW_AIRWAYS else found[-1][2]
        )
        if now != found[-1][2] and one.ends <= end:
            found[-1][1] = one.ends
            found.append([one.ends, end, now])
    return [[start, until, _(FACES[face]), face] for start, until, face in found]


def _bar(one: Ordered, end: float) -> dict[str, Any]:
    helper = ACTS[one.done.act].by == HELPER
    until = min(max(one.ends, one.begins), end)
    return {"from": one.begins, "to": until, "says": in_words(one), "helper": helper}


def in_words(one: Ordered) -> str:
    """Return an act in words, with what it was said with."""
    act, what = one.done.act, one.done.what
    text = _(ACTS[act].text)
    if act == "say":
        return f"“{_(LINES[what])}”"
    if act == "oxygen":
        return f"{text}: {plain(what, 'percent')}"
    if act == "heart-rate":
        return f"{text}: {plain(what, '1/min')}"
    return text


def story(made: Replay, book: RuleBook) -> list[tuple[float, str]]:
    """Return what was done and how the chest moved, in words, in the order of time (s)."""
    acts = ordered(made.played, seconds(book))
    rows = [(one.begins, in_words(one)) for one in acts if one.done.act not in BY_HAND]
    for run in runs(made):
        if run["count"]:
            says = _("Inflations until {until}: {count}; {chest}").format(
                until=clock(run["to"]), count=run["count"], chest=run["says"]
            )
            rows.append((run["from"], says))
        else:
            rows.append((run["from"], _("The bag until {until}").format(until=clock(run["to"]))))
    return sorted(rows, key=lambda row: row[0])


__all__ = ["compared", "expert_of", "own", "story", "told", "words"]
