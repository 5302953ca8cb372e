"""What the sizing lesson draws for one learner: words to fill in, and what is shown of them.

Babies, faces and tubes are drawn as in the exercise, from the published tables; the gauge comes
from the model.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Any

from workbook.bench import DIALS
from workbook.bench.story import reading
from workbook.cases import Draw
from workbook.cases.dials import set_for
from workbook.core.language import _, number
from workbook.core.quantities import plain
from workbook.display import cards
from workbook.face.mask import Face, covers
from workbook.physics import coefficients as c
from workbook.rules import RuleBook, editions, rulebook
from workbook.rules.files import file
from workbook.rules.signed import kept
from workbook.rules.sizes import mask
from workbook.units.sizing.case import tubes
from workbook.units.sizing.case.babies import Baby, babies, faces, one_mask, trolley_masks
from workbook.units.sizing.case.faces import place, tried, two_masks
from workbook.units.sizing.case.questions import for_airway, for_whom, states_airway

Numbers = Mapping[str, float]
Table = Mapping[str, Any]
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
    """Return two babies of one weight, whose faces take different masks of the two nearest."""
    baby = draw.pick(_of_two_sizes())
    by_face, masks = _by_face(baby), trolley_masks(baby)
    lengths = [draw.pick(by_face[size]) for size in masks]
    words = {**baby.said, **two_masks(baby)}
    words |= dict(zip(("short", "long"), _mm(lengths), strict=True))
    peep = stands(numbers)

    def parts(t: Table) -> list[cards.Shown]:
        rows = [_laid(length, size, peep, t["lies"]) for length, size in product(lengths, masks)]
        named = mask(f"{baby.grams} g", f"{baby.weeks} week")
        cited = dict.fromkeys(f"{rule.text}: {rule.citation}" for rule in named)
        return [table(t["picture"], t["columns"], rows, [*t["assumed"], *cited])]

    return Drawn(words, facts={**baby.facts, "lengths": lengths}, parts=parts)


@kept
def _of_two_sizes() -> tuple[Baby, ...]:
    """Return the babies for whom the face decides between two masks."""
    return tuple(baby for baby in babies() if len(_by_face(baby)) > 1)


def _by_face(baby: Baby) -> dict[float, list[float]]:
    """Return the lengths of face that take one of the masks nearest to those published, by mask."""
    found: dict[float, list[float]] = {}
    for length in faces(baby.weeks):
        size = one_mask(replace(baby, length=length))
        if size in trolley_masks(baby):
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


# --- which interface


def fails(draw: Draw, _numbers: Numbers, book: RuleBook) -> Drawn:
    """Return a baby for whom the mask fails, and whether a laryngeal mask is meant for it."""
    old = draw.below(2) == 0
    baby = draw.pick(for_airway(book, old=old))
    stated = {id: b for id, b in ((id, rulebook(id)) for id in editions()) if states_airway(b)}
    words = {**baby.said, "whom": for_whom(book), "right": "laryngeal" if old else "two"}

    def parts(t: Table) -> list[cards.Shown]:
        rows = [_row(b) for b in stated.values()]
        cited = [str(b["supraglottic"].citation) for b in stated.values()]
        return [cards.folded(t["picture"], table(t["picture"], t["columns"], rows, cited))]

    return Drawn(words, facts={**baby.facts, "stated": list(stated)}, parts=parts)


def _row(book: RuleBook) -> list[str]:
    says, least = book["supraglottic"], book["supraglottic.from"]
    return [book.edition.named, says.text, least.text, says.citation.says]


# --- tubes


def growth(draw: Draw, _numbers: Numbers, book: RuleBook) -> Drawn:
    """Return a baby small for its weeks: weight and gestation give different tubes."""
    baby = draw.pick([b for b in tubes.off_their_weeks(tubes.LIGHT) if _has_smaller(b)])
    own, old = tubes.by_weight(baby.grams) or 0.0, tubes.by_gestation(baby.weeks)
    sizes = {"own": own, "old": old, "smaller": tubes.smaller(own)}
    words = {name: f"{number(size, '.1f')} mm" for name, size in sizes.items()}
    return Drawn({**baby.said, **words}, facts={**baby.facts, **sizes})


def _has_smaller(baby: Baby) -> bool:
    size = tubes.by_weight(baby.grams) or 0.0
    return tubes.smaller(size) < size


def small(draw: Draw, _numbers: Numbers, book: RuleBook) -> Drawn:
    """Return a very small baby and two depths for it."""
    grams = draw.pick(tubes.small_weights())
    depths = tubes.depths(grams)
    words = {name: plain(depth, "cm") for name, depth in depths.items()}
    words["far"] = plain(tubes.held(grams)["deep"][0], "cm")
    tried = ("depth.weight-plus.hit-small", "depth.table-weight.hit-small")
    by_plus, by_table = (file("sizes").all(id)[0] for id in tried)
    words |= {"hit_plus_small": by_plus.text, "hit_table_small": by_table.text}
    words["light"] = _(by_plus.population.says)
    return Drawn({**words, "weight": plain(grams / 1000, "kg")}, facts={"grams": grams, **depths})


DRAWS: Mapping[str, Callable[[Draw, Numbers, RuleBook], Drawn]] = {
    "face": on_face,
    "between": between,
    "seal": seal,
    "fails": fails,
    "growth": growth,
    "small": small,
}
