"""The rate and counting exercise: thirteen questions drawn for one learner."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from workbook.cases import rhythms
from workbook.cases.draw import Draw
from workbook.cases.question import Kind, Later, Option, Question
from workbook.language import _, data, number
from workbook.rules import Rule, RuleBook
from workbook.rules.book import PRACTICE
from workbook.units import plain

EXERCISE = "4_rate_counting"
TAPPED = ("tap-metronome", "tap-alone", "tap-distracted")
STRIPS = ("strip-rate", "strip-inflation", "strip-ie")
SPARE = 4  # intervals that a counting gives beyond those it is judged from
STEP = 5  # s; a counting lasts a multiple of this


def texts() -> Mapping[str, Any]:
    """Return the words and ratios the questions draw from."""
    return data(Path(__file__).with_name("rate_counting.toml"))


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
    label = _("Which rate of inflations does {edition} ask for?").format(edition=title)
    if own.replaces is not None:
        label = _("Which rate of inflations does your site ask for ({protocol})?")
        label = label.format(protocol=book.protocol)
    elif own.id != "rate":
        label = _("Which rate of inflations does the usual count of common practice give?")
        silent = _("{edition} states no rate here.").format(edition=title)
        context = "" if _is_practice(book) else silent
    offered = [Option(rhythms.rate_id(r), rhythms.rate_text(r)) for r in _rates_offered(book)]
    options = tuple(draw.shuffled(offered))
    return Question("count-edition", Kind.CHOICE, label, context, options=options)


def _is_practice(book: RuleBook) -> bool:
    return book.edition.id == PRACTICE


def _rates_offered(book: RuleBook) -> list[Rule]:
    return [rhythms.rate_rule(book), *rhythms.other_rates(book)]


def _count(draw: Draw, book: RuleBook) -> list[Question]:
    rate = draw.pick(rhythms.rates(book))
    context = _("You want {rate}, {whose}. You count the beats aloud.").format(
        rate=plain(rate, "1/min"), whose=_whose(book)
    )
    help = _("Work it out; two decimals are enough.")
    facts = {"rate": rate}
    asked = {
        "count-beat": _("How long is one beat of the usual count?"),
        "count-inflation": _("How long do you hold one inflation in the usual count?"),
    }
    numbers = [
        Question(id, Kind.NUMBER, label, context, help, units=("s",), facts=facts)
        for id, label in asked.items()
    ]
    ratio = Question(
        "count-ie",
        Kind.CHOICE,
        _("What is inflation time to release time (I:E) in the usual count?"),
        context,
        options=_ratios(draw, usual_ratio(book)),
        facts=facts,
    )
    return [*numbers, ratio]


def _whose(book: RuleBook) -> str:
    """Say whose rate it is, without giving its band away."""
    own, title = rhythms.rate_rule(book), book.edition.title
    if own.replaces is not None:
        return _("a rate your site asks for ({protocol})").format(protocol=book.protocol)
    if own.id == "rate":
        return _("a rate this edition asks for ({edition})").format(edition=title)
    if _is_practice(book):
        return _("a rate of common practice")
    silent = _("a rate of common practice; the edition ({edition}) states none here")
    return silent.format(edition=title)


def usual_ratio(book: RuleBook) -> str:
    """Return inflation to release in the usual count, as a choice says it."""
    return f"{book['count.occlude-beats'].value:g}:{book['count.release-beats'].value:g}"


def _ratios(draw: Draw, *also: str) -> tuple[Option, ...]:
    each = dict.fromkeys((*texts()["ratios"], *also))
    return tuple(Option(ratio, ratio) for ratio in draw.shuffled(each))


def _cpr(draw: Draw, book: RuleBook) -> Question:
    facet, rate = draw.pick(texts()["facets"]), draw.pick(rhythms.rates(book))
    made, stated = rhythms.with_compressions(book)
    study = _("a published study; this edition states none")
    whose = book.edition.title if stated else study
    label = {
        "share": _("How many of each happen in a minute?"),
        "cycle": _("How long is it from one inflation to the next?"),
    }[facet]
    choices = rhythms.cpr_choices(facet, rate, book).values()
    return Question(
        "count-cpr",
        Kind.CHOICE,
        label,
        context=_(
            "Three compressions are followed by one inflation, again and again. There are "
            "{events} events a minute in all ({whose})."
        ).format(events=number(made.events), whose=whose),
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
        "tap-metronome": _("Give inflations with the metronome."),
        "tap-alone": _("Give inflations without a metronome: count for yourself."),
        "tap-distracted": _(
            "Give inflations while somebody asks you something: answer, and go on."
        ),
    }[id]
    metronome = id == "tap-metronome"
    beats = rhythms.count_at(rate, book)
    return Question(
        id,
        Kind.TAPS,
        label,
        context=_("Give {rate} for {duration} s. That is {whose}.").format(
            rate=plain(rate, "1/min"), duration=duration, whose=_whose(book)
        ),
        help=_(
            "Hold for the inflation and let go for the release, as a thumb does on the aperture."
        ),
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
    context = _("The strip shows the pressure at the gauge while a colleague gives inflations.")
    rate, held, ratio = STRIPS
    return [
        Question(rate, Kind.NUMBER, _("What is the rate of inflations?"), context,
                 units=("1/min",), facts=facts, shows=shows),
        Question(held, Kind.NUMBER, _("How long does one inflation last?"), context,
                 units=("s",), facts=facts, shows=shows),
        Question(ratio, Kind.CHOICE, _("What is inflation time to release time (I:E)?"), context,
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
        _("A colleague gives these inflations. What do you say?"),
        context=_("They aim at {whose}.").format(whose=_whose(book)),
        help=_("Play it as often as you like; the picture shows the same rhythm."),
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
    three = ", ".join(number(rate) for rate in draw.shuffled(drawn))
    return Question(
        "trapped",
        Kind.CHOICE,
        _("At which of the three rates does most gas stay in the lung, and why?"),
        context=_(
            "A soft lung gets PIP {pip} and PEEP {peep} in the usual count at three rates: "
            "{three} a minute."
        ).format(pip=plain(pip, "cmH2O"), peep=plain(peep, "cmH2O"), three=three),
        options=tuple(
            Option(id, text.format(**said))
            for id, text in draw.shuffled(texts()["trapped"].items())
        ),
        facts={"rates": drawn, "pip": float(pip), "peep": float(peep)},
    )
