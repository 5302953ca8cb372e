"""What the sizing lesson draws for one learner: words to fill in, and what is shown of them.

Babies, faces, tubes and catheters are drawn as in the exercise, from the published tables; the
gauge and the filling of a lung come from the model.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from itertools import product
from typing import Any

from workbook import cards
from workbook.bench import DIALS
from workbook.bench.baby import healthy
from workbook.bench.story import reading
from workbook.cases import Draw
from workbook.cases import interface_tubes as tubes
from workbook.cases.babies import Baby, babies, faces, one_mask, published_masks
from workbook.cases.interface_faces import place, tried
from workbook.cases.setup_bench import set_for
from workbook.curves import Line, Panel, curves_picture
from workbook.facemask import Face, covers
from workbook.language import _, number
from workbook.physics import Action, Trace, simulate
from workbook.physics import coefficients as c
from workbook.rules import RuleBook, editions, rulebook
from workbook.rules.files import file
from workbook.rules.sizes import mask
from workbook.studies import FULL, GAUGE, GRID, VOLUME, set_up
from workbook.units import plain

Numbers = Mapping[str, float]
Table = Mapping[str, Any]
MILLI = 1000  # ms in a second
LEAK = 2  # the leak's control in the lesson: a moderate leak, which more flow can hide


@dataclass(frozen=True, slots=True)
class Drawn:
    """One drawn situation: ``words`` for its texts, the ``answer`` as a number where one is typed.

    ``shown`` is what its control shows; ``parts`` makes what is shown once it was looked at.
    """

    words: Mapping[str, str]
    answer: float | None = None
    facts: Mapping[str, Any] = field(default_factory=dict)
    shown: Mapping[str, Any] = field(default_factory=dict)
    parts: Callable[[Table], list[cards.Shown]] = lambda _: []


def table(title: str, columns: Sequence[str], rows: Sequence[Sequence[str]], sources: list[str]
          ) -> cards.Shown:  # fmt: skip
    """Return rows as a table whose words say every row."""
    made = cards.rows_table(title, columns, rows, sources)
    told = ["; ".join(f"{k}: {v}" for k, v in zip(columns, row, strict=True)) for row in rows]
    return replace(made, text="\n".join([title, *told, *sources]))


# --- masks and the gauge


def stands(numbers: Numbers) -> dict[str, int]:
    """Return where the bench's controls stand once it was set up at the lesson's numbers."""
    return set_for({name: numbers[name] for name in ("flow", "relief", "pip", "peep")})


def on_face(draw: Draw, _numbers: Numbers, book: RuleBook) -> Drawn:
    """Return a face on which one mask fits, to lay it on."""
    asked = place(draw)
    return Drawn(asked.said, facts=asked.facts, shown=asked.shows)


def between(draw: Draw, numbers: Numbers, book: RuleBook) -> Drawn:
    """Return two babies of one weight, whose faces take different masks of the two published."""
    baby = draw.pick(_of_two_sizes())
    by_face, masks = _by_face(baby), published_masks(baby)
    lengths = [draw.pick(by_face[size]) for size in masks]
    words = {**baby.said, **dict(zip(("small", "large"), _mm(masks), strict=True))}
    words |= dict(zip(("short", "long"), _mm(lengths), strict=True))
    peep = stands(numbers)

    def parts(t: Table) -> list[cards.Shown]:
        rows = [_laid(length, size, peep, t["lies"]) for length, size in product(lengths, masks)]
        named = mask(f"{baby.grams} g", f"{baby.weeks} week")
        cited = dict.fromkeys(f"{rule.text}: {rule.citation}" for rule in named)
        return [table(t["picture"], t["columns"], rows, [*t["assumed"], *cited])]

    return Drawn(words, facts={**baby.facts, "lengths": lengths}, parts=parts)


@cache
def _of_two_sizes() -> tuple[Baby, ...]:
    """Return the babies for whom the face decides between two published masks."""
    return tuple(baby for baby in babies() if len(_by_face(baby)) > 1)


def _by_face(baby: Baby) -> dict[float, list[float]]:
    """Return the lengths of face that take one of the published masks, by mask."""
    found: dict[float, list[float]] = {}
    for length in faces(baby.weeks):
        size = one_mask(replace(baby, length=length))
        if size in published_masks(baby):
            found.setdefault(size or 0.0, []).append(length)
    return found


def _mm(sizes: Sequence[float]) -> list[str]:
    return [plain(size, "mm") for size in sizes]


def _laid(length: float, size: float, at: Mapping[str, int], lies: Mapping[str, str]) -> list[str]:
    fit = covers(Face(length), tried(length, size))
    how = "fits" if fit.fits else "large" if fit.covers else "open"
    return [*_mm((length, size)), lies[how], cards.shown(fit.gauge(at))]


def seal(draw: Draw, numbers: Numbers, book: RuleBook) -> Drawn:
    """Return a leak at the mask, the flow that hides it, and what the gauge shows once it seals."""
    at = stands(numbers)
    flows = range(at["flow"], DIALS["flow"].clicks + 1)
    hides = next(f for f in flows if _needle({**at, "leak": LEAK, "flow": f}) >= numbers["peep"])
    turns: list[dict[str, int]] = [{}, {"leak": LEAK}, {"leak": LEAK, "flow": hides}]
    turns.append({"flow": hides})
    read = [(_needle({**at, **turn}, held=True), _needle({**at, **turn})) for turn in turns]
    low = read[1][1]
    figure = {"kind": "gauge", "value": low, "top": c.GAUGE_TOP.value, "hide_value": True}
    words = {"low": cards.shown(low), "jump": cards.shown(read[-1][1]),
             "more_flow": plain(DIALS["flow"].value(hides) or 0.0, "L/min")}  # fmt: skip

    def parts(t: Table) -> list[cards.Shown]:
        told = zip(t["done"], read, strict=True)
        return [cards.readings_table(t["picture"], [cards.Reading(s, s, *r) for s, r in told])]

    return Drawn(words, facts={"jump": read[-1][1]}, shown={"figure": figure}, parts=parts)


def _needle(at: Mapping[str, int], *, held: bool = False) -> float:
    return reading(tuple(at[name] for name in DIALS), held=held, leaky=True)


# --- tubes


def estimated(draw: Draw, _numbers: Numbers, book: RuleBook) -> Drawn:
    """Return a weight at which many first tubes were too large."""
    grams = draw.pick(tubes.often_downsized())
    size = tubes.by_weight(grams) or 0.0
    sizes = {"size": size, "smaller": tubes.beside(size, -1), "larger": tubes.beside(size, 1)}
    often = file("sizes").find("tube.downsized", weight=grams)
    words = {name: f"{number(each, '.1f')} mm" for name, each in sizes.items()}
    words |= {"weight": plain(grams / 1000, "kg"), "share": often.text}
    return Drawn({**words, "whom": _(often.population.says)}, facts={"grams": grams, **sizes})


def effect(draw: Draw, numbers: Numbers, book: RuleBook) -> Drawn:
    """Return a tube one size too small beside the right one, and how the lung fills by each."""
    narrow = [each for each in tubes.off_by_one() if each["facet"] == "small"]
    facts = draw.pick([each for each in narrow if each["other"] == min(tubes.made())])
    sizes = (facts["size"], facts["other"])
    flow = file("sizes")["flow.tube"].value
    ratio = tubes.drop(facts["other"], flow) / tubes.drop(facts["size"], flow)
    traces = [_filled(facts["grams"], size, numbers) for size in sizes]
    times = dict(zip(("time", "time_other"), map(_time, traces), strict=True))
    words = {**tubes.effect(facts), "ratio": number(ratio, ".1f")}
    larger = tubes.beside(facts["size"], 1)
    words |= {"larger": f"{number(larger, '.1f')} mm", "drop_larger": plain(
        round(tubes.drop(larger, flow), 1), "cmH2O")}  # fmt: skip
    words |= {name: f"{number(time, '.2f')} s" for name, time in times.items()}

    def parts(t: Table) -> list[cards.Shown]:
        panels = [
            Panel(axis, [_line(f"{number(size, '.1f')} mm", trace, channel)
                         for size, trace in zip(sizes, traces, strict=True)])
            for axis, channel in ((_(GAUGE), "manometer"), (_(VOLUME), "volume"))
        ]  # fmt: skip
        picture = curves_picture(t["picture"], _("time in milliseconds"), panels)
        return [cards.Shown(picture._repr_mimebundle_()["text/html"], picture.text)]

    return Drawn(words, facts={**facts, "ratio": ratio, **times}, parts=parts)


def _filled(grams: float, size: float, numbers: Numbers) -> Trace:
    lung = healthy(grams / 1000, size)
    return simulate(set_up(numbers), lung, [Action(0.0, "occlude")], 2 * numbers["beat"])


def _time(trace: Trace) -> float:
    """Return when (s) the lung has taken up the share of one time constant."""
    goal = trace.volume[0] + FULL * (trace.volume[-1] - trace.volume[0])
    return next(t for t, v in zip(trace.time, trace.volume, strict=True) if v >= goal)


def _line(name: str, trace: Trace, channel: str) -> Line:
    """Return a channel of a trace, thinned to the grid of the pictures."""
    ys, kept = getattr(trace, channel), [0]
    for n, t in enumerate(trace.time):
        if t - trace.time[kept[-1]] >= GRID / 2:
            kept.append(n)
    return Line(name, [MILLI * trace.time[n] for n in kept], [ys[n] for n in kept])


def two_rules(draw: Draw, _numbers: Numbers, book: RuleBook) -> Drawn:
    """Return a gestation at which two rules give different tubes."""
    week = draw.pick(tubes.weeks_that_differ())
    band, tenth = tubes.by_gestation(week)
    part = week / file("sizes")["tube.tenth.share"].value
    words = {"weeks": plain(week, "week"), "band": f"{number(band, '.1f')} mm",
             "tenth": f"{number(tenth, '.1f')} mm"}  # fmt: skip
    return Drawn({**words, "part": number(part, ".1f")}, facts={"band": band, "tenth": tenth})


def growth(draw: Draw, _numbers: Numbers, book: RuleBook) -> Drawn:
    """Return a baby whose weight and gestation give different tubes and depths."""
    baby = draw.pick(tubes.growth_restricted())
    own, old = tubes.laid_out(baby)
    words = {
        **baby.said,
        "own_tube": f"{number(own[0], '.1f')} mm",
        "own_depth": plain(own[1], "cm"),
    }
    words |= {"old_tube": f"{number(old[0], '.1f')} mm", "old_depth": plain(old[1], "cm")}
    return Drawn(words, facts=baby.facts)


def small(draw: Draw, _numbers: Numbers, book: RuleBook) -> Drawn:
    """Return a very small baby and two depths for it."""
    grams = draw.pick(tubes.small_weights())
    depths = tubes.small_depths(grams)
    words = {name: plain(depth, "cm") for name, depth in depths.items()}
    return Drawn({**words, "weight": plain(grams / 1000, "kg")}, facts={"grams": grams, **depths})


# --- catheters


def french(draw: Draw, _numbers: Numbers, book: RuleBook) -> Drawn:
    """Return a catheter whose width is asked."""
    size = draw.pick(tubes.catheters())
    wide = tubes.millimetres(size)
    words = {
        "french": plain(size, "Fr"),
        "number": number(size),
        "wide": f"{number(wide, '.2f')} mm",
    }
    return Drawn(words, wide, {"french": size})


def fills(draw: Draw, _numbers: Numbers, book: RuleBook) -> Drawn:
    """Return a catheter in a tube for which it matters whether diameter or area is meant."""
    shares = [(size, bore, tubes.fills(size, bore)) for size, bore in tubes.passing()]
    turns = [each for each in shares if each[2].within("diameter") != each[2].within("area")]
    size, bore, share = draw.pick(turns)
    words = {"french": plain(size, "Fr"), "tube": f"{number(bore, '.1f')} mm", "told": share.text}
    words |= {by: plain(round(share.share(by)), "percent") for by in ("diameter", "area")}
    facts = {"diameter": share.diameter, "area": share.area}
    return Drawn({**words, "rest": plain(100 - round(share.diameter), "percent")}, facts=facts)


# --- the supraglottic airway, by edition


def airway(draw: Draw, _numbers: Numbers, book: RuleBook) -> Drawn:
    """Return what each edition says of the supraglottic airway, the course's own first."""
    stated = {id: b for id, b in ((id, rulebook(id)) for id in editions()) if _says(b)}
    own = book["supraglottic"].text if _says(book) else ""
    words = {"edition": book.edition.title, "own": own.rstrip("."), "named": f"{len(stated)}"}

    def parts(t: Table) -> list[cards.Shown]:
        rows = [
            [b.edition.title, b["supraglottic"].text, b["supraglottic.from"].text,
             b["supraglottic"].citation.says] for b in stated.values()
        ]  # fmt: skip
        cited = [str(b["supraglottic"].citation) for b in stated.values()]
        line = t["stated" if own else "unstated"]
        return [cards.note(line), table(t["picture"], t["columns"], rows, cited)]

    return Drawn(words, facts={"stated": list(stated)}, parts=parts)


def _says(book: RuleBook) -> bool:
    needed = ("supraglottic", "supraglottic.from")
    return all(id in book and all(rule.stated for rule in book.all(id)) for id in needed)


DRAWS: Mapping[str, Callable[[Draw, Numbers, RuleBook], Drawn]] = {
    "face": on_face,
    "between": between,
    "seal": seal,
    "estimated": estimated,
    "effect": effect,
    "rules": two_rules,
    "growth": growth,
    "small": small,
    "french": french,
    "fills": fills,
    "airway": airway,
}
