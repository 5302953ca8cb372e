"""The rate and counting exercise: nine questions drawn for one learner."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from workbook.cases.draw import Draw
from workbook.cases.pace import rate_band, rate_rule, rates
from workbook.cases.question import Kind, Later, Option, Question
from workbook.core.language import _, data, number
from workbook.core.quantities import plain
from workbook.rules import RuleBook
from workbook.rules.edition import PRACTICE
from workbook.rules.signed import kept
from workbook.units.rate.case import rhythms

EXERCISE = "4_rate_counting"
TAPPED = ("tap-alone", "tap-distracted")
HEARD = ("hear-first", "hear-second")
SPARE = 4  # intervals that a counting gives beyond those it is judged from
STEP = 5  # s; a counting and a strip last a multiple of this
PACES = 4  # colleagues, of whom at least one is inside and at least one is not
CLEAR = 2  # 1/min; how far a colleague's pace lies from every end of a band
APART = 1.6  # times: two numbers of missing inflations that an eye tells apart


def texts() -> Mapping[str, Any]:
    """Return the words and patterns the questions draw from."""
    return data(Path(__file__).with_name("questions.toml"))


def questions(course: str, learner: str, book: RuleBook) -> tuple[Question, ...]:
    """Return the nine questions of one learner, always in the same teaching order."""

    def draw(part: str) -> Draw:
        return Draw(course, EXERCISE, learner, part)

    return (
        _paces(draw("paces"), book),
        _pair(draw("cpr"), book),
        *(_tap(id, draw(id), book) for id in TAPPED),
        _strip(draw("strip"), book),
        *_hear(draw("hear"), book),
        _stop(draw("stop"), book),
        _trapped(draw("trapped"), book),
    )


# --- which rate


def _paces(draw: Draw, book: RuleBook) -> Question:
    drawn = sorted(_drawn_paces(draw, book))
    context = _("Four colleagues, each at a steady pace. {by}").format(by=_by(book))
    return Question(
        "count-paces",
        Kind.CHOICES,
        _("Whose pace is right? Choose every one."),
        _after_firsts(book, context),
        options=tuple(Option(f"{pace:g}", f"{plain(pace, '1/min')}.") for pace in drawn),
        facts={"paces": drawn},
    )


def _drawn_paces(draw: Draw, book: RuleBook) -> list[int]:
    """Return some paces inside the band asked for, and others that another edition asks for."""
    inside, outside, tempting = _clear_paces(book)
    right = draw.some(inside, 1 + draw.below(PACES - 1))
    wrong = draw.some(tempting, 1)
    others = draw.shuffled([pace for pace in outside if pace not in wrong])
    return [*right, *wrong, *others][:PACES]


@kept
def _clear_paces(book: RuleBook) -> tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]:
    """Return paces clear of every band's ends: inside, outside, of these those asked elsewhere."""
    own = rate_band(book)
    bands = [own, *rhythms.other_bands(book)]
    reach = book["rhythm.off"].value ** 2
    every = range(math.ceil(own[0] / reach), math.floor(own[1] * reach) + 1)
    clear = [p for p in every if all(abs(p - end) >= CLEAR for band in bands for end in band)]
    inside = [pace for pace in clear if _within(pace, own)] or [round(sum(own) / 2)]
    outside = [pace for pace in clear if not _within(pace, own)]
    tempting = [pace for pace in outside if any(_within(pace, band) for band in bands)]
    return tuple(inside), tuple(outside), tuple(tempting)


def _within(pace: float, band: tuple[float, float]) -> bool:
    return band[0] <= pace <= band[1]


def _by(book: RuleBook) -> str:
    """Say by whose rate is judged, without giving its band away."""
    own, title = rate_rule(book), book.edition.title
    if own.from_site:
        return _("Go by your site's protocol ({protocol}).").format(protocol=book.protocol)
    if own.id == "rate":
        return _("Go by the {edition}.").format(edition=title)
    if book.edition.id == PRACTICE:
        return _("Go by common practice.")
    says = _("Go by common practice: we have read no rate of the {edition}.")
    return says.format(edition=title)


def _after_firsts(book: RuleBook, text: str) -> str:
    """Say that ordinary inflations are meant, where an edition begins with long ones."""
    after = _("The long first inflations are over.")
    return f"{text} {after}" if rhythms.firsts(book) else text


def _pair(draw: Draw, book: RuleBook) -> Question:
    how = draw.pick([how for how in texts()["pairs"] if rhythms.pair_rates(how, book)])
    rate = draw.pick(rhythms.pair_rates(how, book))
    given, taken = rhythms.pairs(rate, book)[how]
    by = (
        _("Go by the {edition}.") if rhythms.with_compressions(book)[1]
        else _("Go by the published study: we have read no figures of the {edition}.")
    )  # fmt: skip
    return Question(
        "count-cpr",
        Kind.CHOICE,
        _("What do you say to these two?"),
        context=_(
            "One gives compressions, one inflations. In a minute you count {compressions} "
            "compressions and {inflations} inflations. {by}"
        ).format(
            compressions=number(given),
            inflations=number(taken),
            by=by.format(edition=book.edition.title),
        ),
        options=_mixed(draw, texts()["pair"]),
        facts={"compressions": given, "inflations": taken, "rate": rate},
    )


def _mixed(draw: Draw, offered: Mapping[str, str]) -> tuple[Option, ...]:
    return tuple(Option(id, text) for id, text in draw.shuffled(offered.items()))


# --- counting by hand


def _tap(id: str, draw: Draw, book: RuleBook) -> Question:
    rate, distracted = draw.pick(rates(book)), id == "tap-distracted"
    begins = None if distracted else rhythms.firsts(book)
    seconds = durations(rate, book, begins)
    half = len(seconds) // 2
    duration = draw.pick(seconds[half:] if distracted else seconds[: half + 1])
    low, high = rate_band(book)
    distraction = _distraction(draw, duration) if distracted else {}
    label = (
        _("Give inflations while somebody asks you something: answer, and go on.") if distracted
        else _("Begin as for a baby who does not breathe, and go on.") if begins
        else _("Give inflations without a metronome: count for yourself.")
    )  # fmt: skip
    beats = rhythms.count_at(rate, book)
    return Question(
        id,
        Kind.TAPS,
        label,
        context=_said(book, duration, distracted=distracted, begins=begins),
        facts={
            "rate": rate, "low": low, "high": high, "duration": duration,
            "distraction": distraction.get("id", ""), "begins": begins is not None,
        },
        shows={
            "rate": rate, "duration": duration, "occlude_beats": beats.occlude_beats,
            "release_beats": beats.release_beats, "distraction": distraction,
        },
    )  # fmt: skip


def _said(book: RuleBook, duration: int, *, distracted: bool, begins: rhythms.Firsts | None) -> str:
    says = _("Keep the right rate for {duration} s. {by}")
    if begins:
        first = _("First the long inflations: as many and as long as is asked for.")
        then = _("Then go over to the ordinary count. All of it takes {duration} s. {by}")
        says = f"{first} {then}"
    said = says.format(duration=duration, by=_by(book))
    return _after_firsts(book, said) if distracted else said


def durations(rate: float, book: RuleBook, begins: rhythms.Firsts | None) -> list[int]:
    """Return how long a counting may last so that it can be judged with some beats to spare."""
    low, high = book["tap.duration"].band
    wanted = book["tap.intervals"].value + SPARE
    room = begins.count * (begins.high + rhythms.count_at(rate, book).release) if begins else 0.0
    every = range(STEP * round(low / STEP), int(high) + 1, STEP)
    return [each for each in every if (each - 1 - room) * rate / 60 >= wanted] or [int(high)]


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


def _strip(draw: Draw, book: RuleBook) -> Question:
    low, high = book["strip.seconds"].band
    seconds = draw.pick(range(STEP * round(low / STEP), int(high) + 1, STEP))
    rate = draw.whole(*book["strip.rate"].band)
    parts = draw.pick(texts()["strip_parts"])
    pip, peep = (draw.whole(*book[id].band) for id in ("pip.drawn", "peep.drawn"))
    facts = {
        **rhythms.strip_facts(rate, tuple(parts), seconds), "pip": float(pip), "peep": float(peep),
    }  # fmt: skip
    return Question(
        "strip-rate",
        Kind.NUMBER,
        _("About how many inflations a minute are these?"),
        _("The strip shows the pressure at the gauge for {seconds} s.").format(seconds=seconds),
        _("One inflation more or less on the strip counts as right."),
        units=("1/min",),
        facts=facts,
        shows=Later(lambda: {"strip": rhythms.strip(facts, book)}),
    )


def _hear(draw: Draw, book: RuleBook) -> list[Question]:
    kinds = draw.some(texts()["heard"], len(HEARD))
    labels = (
        _("A colleague gives these inflations. What do you say?"),
        _("Another colleague gives these. What do you say?"),
    )
    context = _after_firsts(book, _by(book))
    help = _("Play it, or read the picture: a mark stands at every second.")
    return [
        Question(
            id, Kind.CHOICE, label, context, help,
            options=_mixed(draw, texts()["hear"]), facts={"rhythm": made}, shows={"rhythm": made},
        )
        for id, label, kind in zip(HEARD, labels, kinds, strict=True)
        for made in (played(draw, kind, book),)
    ]  # fmt: skip


def played(draw: Draw, kind: str, book: RuleBook) -> list[list[float]]:
    """Return a rhythm of one kind, at a pace and with a stop of its own."""
    low, high = book["rhythm.stop"].band
    rate, steps = draw.pick(rates(book)), draw.shuffled(texts()["steps"])
    return rhythms.heard(kind, rate, book, steps, draw.whole(low, high))


def _stop(draw: Draw, book: RuleBook) -> Question:
    made = played(draw, "stops", book)
    offered = _counts(draw, rhythms.missing(made))
    return Question(
        "stop",
        Kind.CHOICE,
        _("About how many inflations does this stop cost the baby?"),
        _("A colleague gives inflations, looks up at an alarm, and goes on."),
        options=tuple(Option(str(each), _about(each)) for each in offered),
        facts={"rhythm": made},
        shows={"rhythm": made},
    )


def _counts(draw: Draw, missing: int) -> list[int]:
    """Return numbers of inflations in rising order, the missing ones in a drawn place."""
    fewer = sorted({max(1, round(missing / APART**n)) for n in range(1, PACES)} - {missing})
    place = draw.below(len(fewer) + 1)
    offered = [*fewer[len(fewer) - place :], missing]
    while len(offered) < PACES:
        offered.append(max(offered[-1] + 1, round(offered[-1] * APART)))
    return offered


def _about(count: int) -> str:
    return _("About {count}.").format(count=number(count))


# --- gas that stays


def _trapped(draw: Draw, book: RuleBook) -> Question:
    hands = draw.shuffled(_hands(draw, book))
    options = [Option(f"hand-{n}", _hand_text(hand, book)) for n, hand in enumerate(hands, start=1)]
    same = Option("same", texts()["trapped"]["same"])
    return Question(
        "trapped",
        Kind.CHOICE,
        _("Which hand leaves most gas in the lung?"),
        context=_("Three colleagues inflate three lungs, all with the same PIP and PEEP."),
        options=tuple(draw.shuffled([*options, same])),
        facts={"hands": [[hand.lung, hand.rate, hand.share] for hand in hands]},
    )


def _hands(draw: Draw, book: RuleBook) -> Sequence[rhythms.Hand]:
    """Return three hands: the rate, the hold and the lung take turns to decide."""
    low, high = book["trapped.rate"].band
    fifth = round((high - low) / 5)
    slow, middle, fast = (
        float(draw.whole(start, start + fifth // 2))
        for start in (low, low + fifth, high - fifth // 2)
    )
    rates = {"slow": slow, "middle": middle, "fast": fast}
    short, long = holds(book)
    shares = {"short": short, "long": long}
    trio = draw.pick(texts()["trios"])
    return [rhythms.Hand(lung, rates[rate], shares[hold]) for lung, rate, hold in trio]


def holds(book: RuleBook) -> tuple[float, float]:
    """Return the share of a cycle held in the usual count, and in the count turned round."""
    on, off = (book[f"count.{part}-beats"].value for part in ("occlude", "release"))
    return on / (on + off), off / (on + off)


def _hand_text(hand: rhythms.Hand, book: RuleBook) -> str:
    parts = texts()["trapped"]
    hold = parts["short" if hand.share == holds(book)[0] else "long"]
    return str(parts[hand.lung]).format(rate=plain(hand.rate, "1/min"), hold=hold)
