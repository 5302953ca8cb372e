"""The rate and counting exercise: thirteen questions drawn for one learner."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from workbook.cases import rhythms
from workbook.cases.draw import Draw
from workbook.cases.question import Kind, Later, Option, Question
from workbook.rules import Rule, RuleBook
from workbook.rules.book import PRACTICE
from workbook.units import plain

EXERCISE = "4_rate_counting"
TAPPED = ("tap-metronome", "tap-alone", "tap-distracted")
STRIPS = ("strip-rate", "strip-inflation", "strip-ie")
SPARE = 4  # intervals that a counting gives beyond those it is judged from
STEP = 5  # s; a counting lasts a multiple of this


@cache
def texts() -> Mapping[str, Any]:
    """Return the words and ratios the questions draw from."""
    path = Path(__file__).with_name("rate_counting.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))


def questions(course: str, learner: str, book: RuleBook) -> tuple[Question, ...]:
    """Return the thirteen questions of one learner, always in the same teaching order."""

    def draw(part: str) -> Draw:
        return Draw(course, EXERCISE, learner, part)

    return (
        _edition(draw("edition"), book),
        *_count(draw("count"), book),
        _cpr(draw("cpr"), book),
        *(_tap(id, draw(id), book) for id in TAPPED),
        *_strip(draw("strip"), book),
        _hear(draw("hear"), book),
        _trapped(draw("trapped"), book),
    )


# --- which rate, and what it makes of the count


def _edition(draw: Draw, book: RuleBook) -> Question:
    own, title, context = rhythms.rate_rule(book), book.edition.title, ""
    label = f"Which rate of inflations does {title} ask for?"
    if own.replaces is not None:
        label = f"Which rate of inflations does your site ask for ({book.protocol})?"
    elif own.id != "rate":
        label = "Which rate of inflations does the usual count of common practice give?"
        context = "" if _is_practice(book) else f"{title} states no rate here."
    offered = [Option(rhythms.rate_id(r), rhythms.rate_text(r)) for r in _rates_offered(book)]
    options = tuple(draw.shuffled(offered))
    return Question("count-edition", Kind.CHOICE, label, context, options=options)


def _is_practice(book: RuleBook) -> bool:
    return book.edition.id == PRACTICE


def _rates_offered(book: RuleBook) -> list[Rule]:
    return [rhythms.rate_rule(book), *rhythms.other_rates(book)]


def _count(draw: Draw, book: RuleBook) -> list[Question]:
    rate = draw.pick(rhythms.rates(book))
    context = f"You want {plain(rate, '1/min')}, {_whose(book)}. You count the beats aloud."
    help = "Work it out; two decimals are enough."
    facts = {"rate": rate}
    asked = {
        "count-beat": "How long is one beat of the usual count?",
        "count-inflation": "How long do you hold one inflation in the usual count?",
    }
    numbers = [
        Question(id, Kind.NUMBER, label, context, help, units=("s",), facts=facts)
        for id, label in asked.items()
    ]
    ratio = Question(
        "count-ie",
        Kind.CHOICE,
        "What is inflation time to release time (I:E) in the usual count?",
        context,
        options=_ratios(draw, usual_ratio(book)),
        facts=facts,
    )
    return [*numbers, ratio]


def _whose(book: RuleBook) -> str:
    """Say whose rate it is, without giving its band away."""
    own, title = rhythms.rate_rule(book), book.edition.title
    if own.replaces is not None:
        return f"a rate your site asks for ({book.protocol})"
    if own.id == "rate":
        return f"a rate this edition asks for ({title})"
    silent = "" if _is_practice(book) else f"; the edition ({title}) states none here"
    return f"a rate of common practice{silent}"


def usual_ratio(book: RuleBook) -> str:
    """Return inflation to release in the usual count, as a choice says it."""
    return f"{book['count.occlude-beats'].value:g}:{book['count.release-beats'].value:g}"


def _ratios(draw: Draw, *also: str) -> tuple[Option, ...]:
    each = dict.fromkeys((*texts()["ratios"], *also))
    return tuple(Option(ratio, ratio) for ratio in draw.shuffled(each))


def _cpr(draw: Draw, book: RuleBook) -> Question:
    facet, rate = draw.pick(texts()["facets"]), draw.pick(rhythms.rates(book))
    made, stated = rhythms.with_compressions(book)
    whose = book.edition.title if stated else "a published study; this edition states none"
    label = {
        "share": "How many of each happen in a minute?",
        "cycle": "How long is it from one inflation to the next?",
    }[facet]
    choices = rhythms.cpr_choices(facet, rate, book).values()
    return Question(
        "count-cpr",
        Kind.CHOICE,
        label,
        context=(
            "Three compressions are followed by one inflation, again and again. There are "
            f"{made.events:g} events a minute in all ({whose})."
        ),
        options=tuple(Option(id, text) for id, text in draw.shuffled(choices)),
        facts={"facet": facet, "rate": rate},
    )


# --- counting by hand


def _tap(id: str, draw: Draw, book: RuleBook) -> Question:
    rate = draw.pick(rhythms.rates(book))
    seconds = _durations(rate, book)
    half = len(seconds) // 2
    duration = draw.pick(seconds[half:] if id == "tap-distracted" else seconds[: half + 1])
    low, high = rhythms.rate_band(book)
    distraction = _distraction(draw, duration) if id == "tap-distracted" else {}
    label = {
        "tap-metronome": "Give inflations with the metronome.",
        "tap-alone": "Give inflations without a metronome: count for yourself.",
        "tap-distracted": "Give inflations while somebody asks you something: answer, and go on.",
    }[id]
    metronome = id == "tap-metronome"
    beats = rhythms.count_at(rate, book)
    return Question(
        id,
        Kind.TAPS,
        label,
        context=f"Give {plain(rate, '1/min')} for {duration} s. That is {_whose(book)}.",
        help="Hold for the inflation and let go for the release, as a thumb does on the aperture.",
        facts={
            "rate": rate, "low": low, "high": high, "duration": duration, "metronome": metronome,
            "distraction": distraction.get("id", ""),
        },
        shows={
            "rate": rate, "duration": duration, "metronome": metronome, "beat": beats.beat,
            "occlude_beats": beats.occlude_beats, "release_beats": beats.release_beats,
            "distraction": distraction,
        },
    )  # fmt: skip


def _durations(rate: float, book: RuleBook) -> list[int]:
    """Return how long a counting may last so that it can be judged with some beats to spare."""
    low, high = book["tap.duration"].band
    wanted = book["tap.intervals"].value + SPARE
    every = range(STEP * round(low / STEP), int(high) + 1, STEP)
    return [each for each in every if (each - 1) * rate / 60 >= wanted] or [int(high)]


def _distraction(draw: Draw, duration: int) -> dict[str, Any]:
    drawn = draw.pick(texts()["distraction"])
    options = draw.shuffled(drawn["options"].items())
    return {
        "id": drawn["id"],
        "asks": drawn["asks"],
        "options": [{"id": id, "text": text} for id, text in options],
        "at": round(duration / 3, 1),
    }


# --- reading a strip and a rhythm


def _strip(draw: Draw, book: RuleBook) -> list[Question]:
    facts = draw.pick(_strips(book))
    pip, peep = (draw.whole(*book[id].band) for id in ("pip.drawn", "peep.drawn"))
    facts = {**facts, "pip": float(pip), "peep": float(peep)}
    shows = Later(lambda: {"strip": rhythms.strip(facts, book)})
    context = "The strip shows the pressure at the gauge while a colleague gives inflations."
    rate, held, ratio = STRIPS
    return [
        Question(rate, Kind.NUMBER, "What is the rate of inflations?", context,
                 units=("1/min",), facts=facts, shows=shows),
        Question(held, Kind.NUMBER, "How long does one inflation last?", context,
                 units=("s",), facts=facts, shows=shows),
        Question(ratio, Kind.CHOICE, "What is inflation time to release time (I:E)?", context,
                 options=_ratios(draw), facts=facts, shows=shows),
    ]  # fmt: skip


def _strips(book: RuleBook) -> tuple[Mapping[str, Any], ...]:
    """Return the strips on which counting the ends gives clearly another rate."""
    rates, counts = (_whole(*book[id].band) for id in ("strip.rate", "strip.inflations"))
    return _strips_of(rates, counts, 1.5 * book["strip.rate.accept"].value)


def _whole(low: float, high: float) -> range:
    return range(math.ceil(low), math.floor(high) + 1)


@cache
def _strips_of(rates: range, counts: range, apart: float) -> tuple[Mapping[str, Any], ...]:
    every = (
        rhythms.strip_facts(float(rate), _parts(ratio), n)
        for rate in rates
        for n in counts
        for ratio in texts()["strip_ratios"]
    )
    return tuple(facts for facts in every if rate_with_ends(facts) - facts["rate"] > apart)


def _parts(ratio: str) -> tuple[float, float]:
    inflation, release = map(float, ratio.split(":"))
    return inflation, release


def rate_with_ends(facts: Mapping[str, Any]) -> float:
    """Return the rate that inflations over the length of the strip would give."""
    return 60 * float(facts["inflations"]) / float(facts["duration"])


def _hear(draw: Draw, book: RuleBook) -> Question:
    kind, rate = draw.pick(texts()["heard"]), draw.pick(rhythms.rates(book))
    made = rhythms.heard(kind, rate, book, texts()["heard_inflations"])
    low, high = rhythms.rate_band(book)
    options = tuple(Option(id, text) for id, text in draw.shuffled(texts()["hear"].items()))
    return Question(
        "hear",
        Kind.CHOICE,
        "A colleague gives these inflations. What do you say?",
        context=f"They aim at {_whose(book)}.",
        help="Play it as often as you like; the picture shows the same rhythm.",
        options=options,
        facts={"rhythm": made, "low": low, "high": high},
        shows={"rhythm": made},
    )


def _trapped(draw: Draw, book: RuleBook) -> Question:
    low, high = book["trapped.rate"].band
    tens = list(range(int(low), int(high) + 1, 10))
    third = len(tens) // 3
    drawn = [
        draw.pick(part)
        for part in (tens[: third - 1], tens[third : 2 * third], tens[2 * third + 1 :])
    ]
    pip, peep = (draw.whole(*book[id].band) for id in ("pip.drawn", "peep.drawn"))
    said = {"fast": plain(drawn[-1], "1/min"), "slow": plain(drawn[0], "1/min")}
    three = ", ".join(f"{rate:g}" for rate in draw.shuffled(drawn))
    return Question(
        "trapped",
        Kind.CHOICE,
        "At which of the three rates does most gas stay in the lung, and why?",
        context=(
            f"A soft lung gets PIP {plain(pip, 'cmH2O')} and PEEP {plain(peep, 'cmH2O')} in the "
            f"usual count at three rates: {three} a minute."
        ),
        options=tuple(
            Option(id, text.format(**said))
            for id, text in draw.shuffled(texts()["trapped"].items())
        ),
        facts={"rates": drawn, "pip": float(pip), "peep": float(peep)},
    )
