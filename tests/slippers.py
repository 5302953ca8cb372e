"""Learners who hold no belief and slip: by inattention, by a misreading, or by a guess.

None of this was made from how the answers are marked. Each question slips by itself, at a stated
rate: nobody has measured such rates here, so several are tried.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from random import Random
from typing import Any

from graders.marking.exercise import model_answers
from workbook.bench import DIALS, Hands, Touch, read_hands
from workbook.cases import Case, Kind, Question, case
from workbook.face.fit import answer as laid
from workbook.face.fit import read_fit
from workbook.face.mask import Mask, offered
from workbook.rules import RuleBook, rulebook
from workbook.scenario import LINES, seconds

Answers = dict[str, Any]
RATES = (0.05, 0.10, 0.20)  # of the questions that slip
KEYS = "0123456789"
OTHERS = 6  # learners of whom one's question is read instead of the own


def slipped(
    drawn: Case, right: Mapping[str, Any], book: RuleBook, shape: str, rate: float, chance: Random
) -> Answers:
    """Return the answers that slip in a case; some of them may be right all the same."""
    return {
        asked.id: SHAPES[shape](drawn, asked, right[asked.id], book, chance)
        for asked in drawn.questions
        if chance.random() < rate
    }


# --- inattention: the answer was known, the eye or the finger missed


def glance(drawn: Case, asked: Question, right: Any, book: RuleBook, chance: Random) -> Any:
    """Take the wrong thing of what lies near."""
    return _GLANCE[asked.kind](asked, right, chance)


def _another(asked: Question, right: Any, chance: Random) -> Any:
    return chance.choice([option.id for option in asked.options if option.id != right])


def _box(asked: Question, right: Any, chance: Random) -> Any:
    box = chance.choice(asked.options).id
    return [id for id in right if id != box] if box in right else [*right, box]


def _card(asked: Question, right: Any, chance: Random) -> Any:
    cards = list(right)
    card = cards.pop(chance.randrange(len(cards)))
    cards.insert(chance.randrange(len(cards) + 1), card)
    return cards


def _typo(asked: Question, right: Any, chance: Random) -> Any:
    text, at = str(right["text"]), chance.randrange(len(str(right["text"])))
    made = chance.choice((
        text[:at] + text[at + 1 :],
        text[:at] + chance.choice(KEYS) + text[at + 1 :],
        text[:at] + text[at] + text[at:],
        f"{float(text) + chance.choice((-10, -5, -2, -1, 1, 2, 5, 10)):g}",
    ))  # fmt: skip
    return {**right, "text": made or "0"}


def _hands(asked: Question, right: Any, chance: Random) -> Any:
    """Leave a touch out, make two the other way round, or turn a control not far enough."""
    hands = read_hands(right)
    touches, way = list(hands.touches), chance.randrange(3)
    if way == 0:
        touches.pop(chance.randrange(len(touches)))
    elif way == 1:
        at = chance.randrange(len(touches) - 1)
        one, other = touches[at], touches[at + 1]
        touches[at : at + 2] = [
            Touch(one.time, other.kind, other.position),
            Touch(other.time, one.kind, one.position),
        ]
    else:
        turns = [n for n, touch in enumerate(touches) if touch.position is not None]
        at = chance.choice(turns)
        touch = touches[at]
        moved = (touch.position or 0) + chance.choice((-1, 1)) * chance.randint(2, 25)
        top = DIALS[touch.kind].clicks
        touches[at] = Touch(touch.time, touch.kind, min(max(moved, 0), top))
    return Hands(hands.duration, tuple(touches)).to_data()


def _thumb(asked: Question, right: Any, chance: Random) -> Any:
    """Lose the count for a while: a stop, a press left out, or some seconds at another pace."""
    events = [list(row) for row in right["events"]]
    at, way = 2 * chance.randrange(len(events) // 2), chance.randrange(3)
    if way == 0:
        wait = chance.uniform(0.5, 4)
        events = events[:at] + [[row[0] + wait, row[1]] for row in events[at:]]
    elif way == 1:
        del events[at : at + 2]
    else:
        pace, begun = chance.uniform(0.7, 1.4), events[at][0]
        events = events[:at] + [[begun + (row[0] - begun) / pace, row[1]] for row in events[at:]]
    ends = float(right["duration"])
    return {**right, "events": [row for row in events if row[0] < ends]}


def _lay(asked: Question, right: Any, chance: Random) -> Any:
    """Let the mask slide, or turn, or take the next size."""
    mask, way = read_fit(right), chance.randrange(3)
    if way == 0:
        return laid(
            Mask(mask.diameter, mask.x + chance.gauss(0, 6), mask.y + chance.gauss(0, 6), mask.turn)
        )
    if way == 1:
        return laid(Mask(mask.diameter, mask.x, mask.y, mask.turn + chance.gauss(0, 25)))
    return laid(Mask(chance.choice(offered()), mask.x, mask.y, mask.turn))


def _moves(asked: Question, right: Any, chance: Random) -> Any:
    """Leave a move out, or say another name or turn a control elsewhere."""
    rows, way = [list(row) for row in right["moves"]], chance.randrange(3)
    if way == 0:
        del rows[chance.randrange(len(rows))]
    elif way == 1:
        for row in rows:
            if row[1] == "name":
                row[2] = chance.choice(asked.shows["faults"])["id"]
    else:
        at = chance.randrange(len(rows) - 1)
        dial = chance.choice(("flow", "pip", "relief", "peep"))
        begun = asked.shows["bench"]["positions"][dial]
        to = min(max(begun + chance.choice((-6, -2, 2, 6)), 0), DIALS[dial].clicks)
        rows.insert(at + 1, [rows[at + 1][0], dial, to])
    return {**right, "moves": rows}


def _acts(asked: Question, right: Any, chance: Random) -> Any:
    """Leave one act out, turn the dial elsewhere, or say another line than was meant."""
    rows, way = [list(row) for row in right["acts"]], chance.randrange(3)
    held, pressed = ("occlude", "release"), ("compress", "compress-stop")
    alone = [n for n, row in enumerate(rows) if row[1] not in (*held, *pressed)]
    at = chance.choice(alone)
    if way == 1 and (turned := [n for n in alone if rows[n][1] == "oxygen"]):
        rows[chance.choice(turned)][2] = chance.choice((21, 30, 40, 60))
    elif way == 2 and (said := [n for n in alone if rows[n][1] == "say"]):
        rows[chance.choice(said)][2] = chance.choice(list(LINES))
    else:
        del rows[at]
    return {**right, "acts": rows}


def _entry(asked: Question, right: Any, chance: Random) -> Any:
    """Write another number, or leave an entry out."""
    made = dict(right)
    id = chance.choice([each for each in made if each not in ("format", "version")])
    if isinstance(made[id], float) and chance.random() < 0.7:
        made[id] = max(0.0, made[id] + chance.choice((-20, -10, 10, 20)))
    else:
        del made[id]
    return made


_GLANCE: Mapping[Kind, Callable[[Question, Any, Random], Any]] = {
    Kind.CHOICE: _another, Kind.CHOICES: _box, Kind.SEQUENCE: _card, Kind.NUMBER: _typo,
    Kind.BENCH: _hands, Kind.TAPS: _thumb, Kind.FACE: _lay,
    Kind.TRIAL: _moves, Kind.CASE: _acts, Kind.NOTE: _entry,
}  # fmt: skip


# --- a misreading: the right answer to what was not asked


def misread(drawn: Case, asked: Question, right: Any, book: RuleBook, chance: Random) -> Any:
    """Answer what another learner was asked; where that cannot be said here, glance.

    Nobody looks after a live baby as if it were another one: there, too, a hand slips.
    """
    if asked.kind is Kind.CASE:
        return glance(drawn, asked, right, book, chance)
    name = f"misread {chance.randrange(OTHERS)}"
    other = case(drawn.course, drawn.exercise, name, book)
    said = model_answers(other, book)[asked.id]
    known = {option.id for option in asked.options}
    wants = said if isinstance(said, list) else [said]
    if asked.options and not known.issuperset(wants):
        return glance(drawn, asked, right, book, chance)
    return said


# --- a guess: what is asked is not known


def guess(drawn: Case, asked: Question, right: Any, book: RuleBook, chance: Random) -> Any:
    """Answer anything; it may be right."""
    return _GUESS[asked.kind](asked, right, chance)


def _any(asked: Question, right: Any, chance: Random) -> Any:
    return chance.choice(asked.options).id


def _boxes(asked: Question, right: Any, chance: Random) -> Any:
    return [option.id for option in asked.options if chance.random() < 0.5]


def _shuffled(asked: Question, right: Any, chance: Random) -> Any:
    return chance.sample([option.id for option in asked.options], len(asked.options))


def _told(asked: Question, right: Any, chance: Random) -> Any:
    numbers = [v for v in asked.facts.values() if isinstance(v, int | float)]
    value = chance.choice([*numbers, float(chance.randint(0, 60))])
    return {**right, "text": f"{value:g}"}


def _controls(asked: Question, right: Any, chance: Random) -> Any:
    time, touches = 1.0, list[Touch]()
    for _n in range(chance.randint(4, 12)):
        kind = chance.choice((*DIALS, "occlude", "release", "cap", "connect"))
        dial = DIALS.get(kind)
        touches.append(Touch(time, kind, chance.randint(0, dial.clicks) if dial else None))
        time += chance.uniform(0.5, 2)
    return Hands(time, tuple(touches)).to_data()


def _rhythm(asked: Question, right: Any, chance: Random) -> Any:
    period, share, time = 60 / chance.uniform(20, 110), chance.uniform(0.2, 0.7), 0.6
    ends, events = float(right["duration"]), list[list[Any]]()
    while time < ends - period:
        events += [[round(time, 3), "press"], [round(time + share * period, 3), "release"]]
        time += period
    return {**right, "events": events}


def _anywhere(asked: Question, right: Any, chance: Random) -> Any:
    mask, off = read_fit(right), chance.uniform
    return laid(
        Mask(chance.choice(offered()), mask.x + off(-12, 12), mask.y + off(-12, 12), off(-90, 90))
    )


def _tried(asked: Question, right: Any, chance: Random) -> Any:
    """Do anything for a while, and name anything."""
    moves = [move for move in asked.shows["moves"] if move["does"] in ("look", "part", "care")]
    now, rows = 800.0, [[400, "bag"]] if chance.random() < 0.5 else []
    now += 2500 * len(rows)
    for move in chance.sample(moves, chance.randint(1, 4)):
        rows.append([round(now), move["id"]])
        now += 1000 * move["seconds"] + 300
    rows.append([round(now), "name", chance.choice(asked.shows["faults"])["id"]])
    return {**right, "moves": rows, "duration": round(now) + 500}


def _born(asked: Question, right: Any, chance: Random) -> Any:
    """Do what comes to mind with a baby: a mask, some inflations, this and that.

    Nothing is done twice running, and a baby who breathes is seen to breathe.
    """
    takes, act = seconds(rulebook()), ""
    now, rows = 2.0, list[list[Any]]()
    breathes = all(row[1] != "occlude" for row in right["acts"])
    free = ("dry", "rub", "reposition", "suction", "connect", "mask-adjust", "bag", "call",
            "listen", "oximeter", "laryngeal-mask")  # fmt: skip
    free = tuple(each for each in free if not breathes or each not in ("bag", "laryngeal-mask"))
    while now < float(right["duration"]) / 1000 - 60:
        act = chance.choice([each for each in free if each != act])
        rows.append([round(1000 * now), act])
        now += takes[act] + chance.uniform(0.5, 4)
        for _n in range(0 if breathes else chance.randint(0, 15)):
            rows += [[round(1000 * now), "occlude"], [round(1000 * now) + 500, "release"]]
            now += chance.uniform(1.0, 2.0)
    return {**right, "acts": rows}


def _made_up(asked: Question, right: Any, chance: Random) -> Any:
    """Write what a note usually says."""
    made = {**right, "begun": chance.randint(10, 90), "moved": chance.randint(20, 150),
            "pip": chance.choice((20, 25, 30)), "peep": 5, "oxygen": chance.choice((21, 30, 100)),
            "interface": "mask", "heart-1": 80, "heart-5": 140}  # fmt: skip
    return {id: float(v) if isinstance(v, int) and id != "version" else v for id, v in made.items()}


_GUESS: Mapping[Kind, Callable[[Question, Any, Random], Any]] = {
    Kind.CHOICE: _any, Kind.CHOICES: _boxes, Kind.SEQUENCE: _shuffled, Kind.NUMBER: _told,
    Kind.BENCH: _controls, Kind.TAPS: _rhythm, Kind.FACE: _anywhere,
    Kind.TRIAL: _tried, Kind.CASE: _born, Kind.NOTE: _made_up,
}  # fmt: skip

SHAPES: Mapping[str, Callable[[Case, Question, Any, RuleBook, Random], Any]] = {
    "glance": glance, "misread": misread, "guess": guess,
}  # fmt: skip
