"""The exercise on mask and tube: ten questions to lay, hold, choose and confirm, drawn for one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

from workbook.cases.draw import Draw
from workbook.cases.question import Kind, Option, Question
from workbook.core.language import data, number
from workbook.core.quantities import convert, plain
from workbook.rules import RuleBook
from workbook.rules.files import file
from workbook.units.sizing.case import faces as on_face
from workbook.units.sizing.case import tubes
from workbook.units.sizing.case.babies import Baby, babies

EXERCISE = "5_interface_sizing"


def texts() -> Mapping[str, Any]:
    """Return the words the questions draw from."""
    return data(Path(__file__).with_name("questions.toml"))


def questions(course: str, learner: str, book: RuleBook) -> tuple[Question, ...]:
    """Return the ten questions of one learner, always in the same teaching order."""
    made: dict[str, Callable[[Draw], on_face.Asked]] = {
        "mask-place": on_face.place,
        "mask-between": on_face.between,
        "seal-check": lambda draw: on_face.seal_check(draw, book),
        "mask-hold": lambda draw: _situation("mask-hold", draw, book),
        "interface-next": lambda draw: _next(draw, book),
        "tube-weight": _tube_weight,
        "depth": _depth,
        "depth-small": _small,
        "confirm": lambda draw: _situation("confirm", draw, book),
        "suction": lambda draw: _situation("suction", draw, book),
    }
    drawn = []
    for id, make in made.items():
        draw = Draw(course, EXERCISE, learner, id)
        drawn.append(_question(id, draw, make(draw)))
    return tuple(drawn)


def _question(id: str, draw: Draw, asked: on_face.Asked) -> Question:
    """Return a question whose words stand in the table of its id."""
    table, said = texts()[id], asked.said
    context = asked.context or table.get("context", "")
    options = _pairs(id, asked) or table.get("options", {})
    return Question(
        id,
        asked.kind,
        table["label"].format_map(said),
        context.format_map(said),
        table.get("help", "").format_map(said),
        tuple(Option(key, text.format_map(said)) for key, text in draw.shuffled(options.items())),
        asked.units,
        asked.facts,
        asked.shows,
    )


def _situation(id: str, draw: Draw, book: RuleBook) -> on_face.Asked:
    """Return one of the situations that a question tells apart."""
    situations = texts()[id]["situations"]
    name = draw.pick(sorted(situations))
    seconds = book["suction.brief"].text
    return on_face.Asked({"seconds": seconds}, {"situation": name}, context=situations[name])


# --- which interface now


def _next(draw: Draw, book: RuleBook) -> on_face.Asked:
    """Return a baby at the mask, and who is there: what to do follows from both."""
    situations = texts()["interface-next"]["situations"]
    name = draw.pick(sorted(situations))
    baby = draw.pick(for_airway(book, old=name == "alone", any_age=name == "works"))
    said = {**baby.said, "whom": for_whom(book)}
    told = " ".join((texts()["interface-next"]["context"], situations[name]))
    return on_face.Asked(said, {**baby.facts, "situation": name}, context=told)


def states_airway(book: RuleBook) -> bool:
    """Say whether an edition states when a laryngeal mask is meant, and from which gestation."""
    needed = ("supraglottic", "supraglottic.from")
    return all(id in book and all(r.stated for r in book.all(id)) for id in needed)


def airway_source(book: RuleBook) -> str:
    """Return who says for which baby a laryngeal mask is meant: the edition, or a review."""
    if states_airway(book):
        return book.edition.title
    return str(file("sizes")["laryngeal-mask.gestation"].citation.source)


def for_whom(book: RuleBook) -> str:
    """Return in a sentence which babies may have a laryngeal mask, and who says so."""
    by, rules = texts()["interface-next"]["by"], file("sizes")
    if not states_airway(book):
        of = {name: rules[f"laryngeal-mask.{name}"].value for name in ("gestation", "weight")}
        told = {
            "weeks": plain(of["gestation"], "week"),
            "weight": plain(convert(of["weight"], "g", "kg"), "kg"),
        }
        return str(by["review"]).format(edition=book.edition.named, **told)
    told = {"weeks": plain(book["supraglottic.from"].value, "week")}
    id = "supraglottic.weight"
    if not (id in book and book[id].stated):
        return str(by["weeks"]).format(edition=book.edition.named, **told)
    told["weight"] = plain(convert(book[id].value, book[id].unit or "g", "kg"), "kg")
    return str(by["weight"]).format(edition=book.edition.named, **told)


def for_airway(book: RuleBook, *, old: bool, any_age: bool = False) -> list[Baby]:
    """Return babies old and heavy enough for a laryngeal mask by every rule, or by none."""
    rules = file("sizes")
    ages = [rules["laryngeal-mask.gestation"].value]
    grams = [rules[f"laryngeal-mask.{id}"].value for id in ("weight", "weight-later")]
    if states_airway(book):
        ages.append(book["supraglottic.from"].value)
    if "supraglottic.weight" in book and book["supraglottic.weight"].stated:
        weight = book["supraglottic.weight"]
        grams.append(convert(weight.value, weight.unit or "g", "g"))
    if any_age:
        return list(babies())
    if old:
        return [b for b in babies() if b.weeks >= max(ages) and b.grams > max(grams)]
    return [b for b in babies() if b.weeks < min(ages) and b.grams < min(grams)]


# --- tube and depth


def pair_id(*values: float) -> str:
    """Return the id of an option that pairs values."""
    return "/".join(f"{value:g}" for value in values)


def plain_tube(size: float) -> str:
    """Return a tube's size as it is printed on it."""
    return f"{number(size, '.1f')} mm"


def _pairs(id: str, asked: on_face.Asked) -> dict[str, str]:
    """Return options that pair each tube with each blade, so that no part gives the other away."""
    if id != "tube-weight":
        return {}
    weeks, grams = asked.facts["weeks"], asked.facts["grams"]
    sizes = (tubes.by_weight(grams) or 0.0, tubes.by_gestation(weeks))
    option = texts()[id]["option"]
    return {
        pair_id(size, blade): option.format(tube=plain_tube(size), blade=number(blade))
        for size in sizes
        for blade in tubes.blades()
    }


def _tube_weight(draw: Draw) -> on_face.Asked:
    """Return a baby small or large for its weeks: weight and weeks give different tubes."""
    baby = draw.pick(tubes.off_their_weeks(draw.pick((tubes.LIGHT, tubes.HEAVY))))
    return on_face.Asked(baby.said, baby.facts)


def _depth(draw: Draw) -> on_face.Asked:
    """Return a weight, or a length to the tragus, from which a depth is worked out."""
    rules = file("sizes")
    if draw.below(2):
        ntl = draw.whole(*(10 * end for end in rules["ntl.drawn"].band)) / 10
        said, facts, name = {"ntl": plain(ntl, "cm")}, {"ntl": ntl}, "ntl"
    else:
        grams = draw.pick(_heavy_enough())
        said, facts, name = {"weight": plain(grams / 1000, "kg")}, {"grams": grams}, "plus"
    context = texts()["depth"]["situations"][name]
    return on_face.Asked(said, facts, context=context, kind=Kind.NUMBER, units=("cm", "mm"))


def _heavy_enough() -> list[int]:
    caution = file("sizes")["depth.weight-plus.caution"]
    grams: Iterable[int] = (baby.grams for baby in babies())
    return sorted({each for each in grams if not caution.holds(each)})


def _small(draw: Draw) -> on_face.Asked:
    """Return a very small baby and a tube held within the rules, or beyond all of them."""
    grams = draw.pick(tubes.small_weights())
    where = draw.pick(("within", "deep", "shallow"))
    held = draw.pick(tubes.held(grams)[where])
    said = {"held": plain(held, "cm"), "table": plain(tubes.by_table(grams), "cm")}
    said["weight"] = plain(grams / 1000, "kg")
    return on_face.Asked(said, {"grams": grams, "held": held})
