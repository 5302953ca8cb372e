"""The sizing exercise: sixteen questions on mask, tube and catheter, drawn for one learner."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from workbook.cases import interface_faces as on_face
from workbook.cases import interface_tubes as tubes
from workbook.cases.babies import Baby, babies
from workbook.cases.draw import Draw
from workbook.cases.question import Kind, Option, Question
from workbook.language import _, data, number
from workbook.rules import Basis, Rule, RuleBook, editions, rulebook
from workbook.rules.files import file
from workbook.rules.sizes import Lumen
from workbook.units import plain

EXERCISE = "5_interface_sizing"
TENS = 10  # a vacuum is set in steps of this


def texts() -> Mapping[str, Any]:
    """Return the words the questions draw from."""
    return data(Path(__file__).with_name("interface_sizing.toml"))


def questions(course: str, learner: str, book: RuleBook) -> tuple[Question, ...]:
    """Return the sixteen questions of one learner, always in the same teaching order."""

    def draw(part: str) -> Draw:
        return Draw(course, EXERCISE, learner, part)

    made = {
        "mask-place": on_face.place(draw("mask-place")),
        "mask-between": on_face.between(draw("mask-between"), book),
        "seal-check": on_face.seal_check(draw("seal-check"), book),
        "wrong-trolley": on_face.trolley(draw("wrong-trolley")),
    }
    return (
        *(_question(id, draw(id), asked) for id, asked in made.items()),
        _tube_weight(draw("tube-weight")),
        _tube_rules(draw("tube-rules")),
        _question("tube-estimated", draw("tube-estimated-order"), _estimated(draw("estimated"))),
        _growth(draw("growth-restricted")),
        _effect(draw("tube-effect")),
        *_depths(draw("depth")),
        _question("depth-small", draw("depth-small-order"), _small(draw("depth-small"))),
        _french(draw("catheter-mm")),
        _fills(draw("catheter-fills")),
        _suction(draw("suction"), book),
        _supraglottic(draw("supraglottic"), book),
    )


def _question(
    id: str, draw: Draw, asked: on_face.Asked, table: Mapping[str, Any] | None = None
) -> Question:
    """Return a question whose words stand in the table of its id."""
    table = texts()[id] if table is None else table
    said = asked.said
    context = asked.context or table.get("context", "")
    return Question(
        id,
        asked.kind,
        table["label"].format_map(said),
        context.format_map(said),
        table.get("help", ""),
        tuple(
            Option(key, text.format_map(said))
            for key, text in draw.shuffled(table.get("options", {}).items())
        ),
        asked.units,
        asked.facts,
        asked.shows,
    )


def _paired(
    id: str, draw: Draw, asked: on_face.Asked, pairs: Mapping[str, Mapping[str, str]]
) -> Question:
    """Return a question whose options are pairs of values, worded alike."""
    options = {key: texts()[id]["option"].format_map(said) for key, said in pairs.items()}
    return _question(id, draw, asked, {**texts()[id], "options": options})


# --- tubes


def _tube_weight(draw: Draw) -> Question:
    baby = draw.pick([b for b in babies() if tubes.by_weight(b.grams)])
    size, blade = tubes.by_weight(baby.grams) or 0.0, tubes.blade_of(baby.weeks)
    others = sorted((t for t in tubes.made() if t != size), key=lambda t: (abs(t - size), t))
    wrong_blade = next(b for b in tubes.blades() if b != blade)
    pairs = [(size, blade), *((other, blade) for other in others[:2]), (size, wrong_blade)]
    worded = {pair_id(t, b): {"tube": plain_tube(t), "blade": number(b)} for t, b in pairs}
    return _paired("tube-weight", draw, on_face.Asked(baby.said, baby.facts), worded)


def pair_id(*values: float) -> str:
    """Return the id of an option that pairs values."""
    return "/".join(f"{value:g}" for value in values)


def plain_tube(size: float) -> str:
    """Return a tube's size as it is printed on it."""
    return f"{number(size, '.1f')} mm"


def _tube_rules(draw: Draw) -> Question:
    week = draw.pick(tubes.weeks_that_differ())
    band, tenth = tubes.by_gestation(week)
    pairs = ((band, tenth), (tenth, band), (band, band), (tenth, tenth))
    worded = {
        pair_id(*pair): {"band": plain_tube(pair[0]), "tenth": plain_tube(pair[1])}
        for pair in pairs
    }
    asked = on_face.Asked({"weeks": plain(week, "week")}, {"weeks": week})
    return _paired("tube-rules", draw, asked, worded)


def _estimated(draw: Draw) -> on_face.Asked:
    grams = draw.pick(tubes.often_downsized())
    size = tubes.by_weight(grams) or 0.0
    said = {name: plain_tube(tubes.beside(size, by)) for name, by in
            (("size", 0), ("smaller", -1), ("larger", 1))}  # fmt: skip
    return on_face.Asked({**said, "weight": plain(grams / 1000, "kg")}, {"grams": grams})


def _growth(draw: Draw) -> Question:
    baby = draw.pick(tubes.growth_restricted())
    own, old = tubes.laid_out(baby)
    worded = {
        pair_id(t, d): {"tube": plain_tube(t), "depth": plain(d, "cm")}
        for t in (own[0], old[0])
        for d in (own[1], old[1])
    }
    return _paired("growth-restricted", draw, on_face.Asked(baby.said, baby.facts), worded)


def _effect(draw: Draw) -> Question:
    facts = draw.pick(tubes.off_by_one())
    said = tubes.effect(facts)
    table = texts()["tube-effect"][facts["facet"]]
    return _question("tube-effect", draw, on_face.Asked(said, facts), table)


# --- depth


def _depths(draw: Draw) -> list[Question]:
    least = file("sizes")["depth.weight-plus.caution"].band[1]
    grams = draw.pick(sorted({b.grams for b in babies() if b.grams >= least}))
    low, high = file("sizes")["ntl.drawn"].band
    ntl = draw.whole(10 * low, 10 * high) / 10
    drawn: dict[str, tuple[dict[str, str], dict[str, float]]] = {
        "depth-plus": ({"weight": plain(grams / 1000, "kg")}, {"grams": grams}),
        "depth-ntl": ({"ntl": plain(ntl, "cm")}, {"ntl": ntl}),
    }
    return [
        _question(id, draw, on_face.Asked(said, facts, kind=Kind.NUMBER, units=("cm", "mm")))
        for id, (said, facts) in drawn.items()
    ]


def _small(draw: Draw) -> on_face.Asked:
    grams = draw.pick(tubes.small_weights())
    said = {name: plain(value, "cm") for name, value in tubes.small_depths(grams).items()}
    return on_face.Asked({**said, "weight": plain(grams / 1000, "kg")}, {"grams": grams})


# --- catheters and vacuum


def _french(draw: Draw) -> Question:
    size = draw.pick(tubes.catheters())
    asked = on_face.Asked(
        {"french": plain(size, "Fr")}, {"french": size}, kind=Kind.NUMBER, units=("mm", "cm")
    )
    return _question("catheter-mm", draw, asked)


def _fills(draw: Draw) -> Question:
    size, tube = draw.pick(tubes.passing())
    share = tubes.fills(size, tube)
    by = (round(share.diameter), round(share.area))
    pairs = (by, by[::-1], (by[0], by[0]))
    worded = {pair_id(*pair): _shares(pair, share) for pair in pairs}
    said = {"french": plain(size, "Fr"), "tube": plain_tube(tube), "number": number(size),
            "bore": number(tube), "limit": share.limits[-1].text}  # fmt: skip
    option = texts()["catheter-fills"]["option"]
    options = {key: option.format_map(each) for key, each in worded.items()}
    options["no"] = texts()["catheter-fills"]["no"]
    asked = on_face.Asked(said, {"french": size, "tube": tube})
    table = {**texts()["catheter-fills"], "options": options}
    return _question("catheter-fills", draw, asked, table)


def _shares(pair: tuple[int, int], share: Lumen) -> dict[str, str]:
    first, second = (all(limit.holds(value) for limit in share.limits) for value in pair)
    name = {(True, True): "within", (False, False): "over", (False, True): "unclear"}
    verdict = texts()["catheter-fills"]["verdict"][name.get((first, second), "reversed")]
    diameter, area = (plain(value, "percent") for value in pair)
    return {"diameter": diameter, "area": area, "verdict": verdict}


def _suction(draw: Draw, book: RuleBook) -> Question:
    port, limit = book["port.catheter"], book["suction.limit"]
    small = draw.pick([s for s in tubes.catheters() if port.holds(s)] or [port.band[0]])
    large = min((s for s in tubes.catheters() if s > port.band[1]), default=2 * port.band[1])
    fine = draw.pick(vacua(book))
    over = [limit.band[1] + step * TENS for step in draw.some(range(1, 8), 2)]
    pairs = [(small, fine), (large, fine), *((small, each) for each in over)]
    worded = {
        pair_id(s, v): {"french": plain(s, "Fr"), "vacuum": plain(v, "mmHg")} for s, v in pairs
    }
    asked = on_face.Asked({"source": str(limit.citation.source)}, {})
    return _paired("suction", draw, asked, worded)


def vacua(book: RuleBook) -> list[float]:
    """Return vacuum settings (mmHg) inside the usual band and below the limit."""
    low, high = book["suction.set"].band
    tens = range(-(-int(low) // TENS) * TENS, int(high) + 1, TENS)
    return [float(v) for v in tens if book["suction.limit"].holds(v)] or [low]


# --- the supraglottic airway, by edition


def on_airway(book: RuleBook) -> dict[str, Rule]:
    """Return what each edition that states it says of the supraglottic airway, each saying once."""
    others = sorted(map(rulebook, editions()), key=_remembered)
    books = [book, *others]
    found = {b.edition.id: b["supraglottic"] for b in books if _states(b)}
    once = {rule.says: id for id, rule in reversed(found.items())}
    return {id: rule for id, rule in found.items() if once[rule.says] == id}


def _remembered(book: RuleBook) -> bool:
    """Say whether what an edition says of it is from memory; such an edition comes last."""
    return _states(book) and book["supraglottic"].citation.basis is Basis.MEMORY


def _states(book: RuleBook) -> bool:
    needed = ("supraglottic", "supraglottic.from")
    return all(id in book and all(r.stated for r in book.all(id)) for id in needed)


def airway_book(facts: Mapping[str, Any], book: RuleBook) -> RuleBook:
    """Return the edition that a question on the airway names, with the site's own rules."""
    return book if facts["edition"] == book.edition.id else rulebook(facts["edition"])


def _supraglottic(draw: Draw, book: RuleBook) -> Question:
    said = on_airway(book)
    edition = book.edition.id if book.edition.id in said else draw.pick(_read(said))
    named = airway_book({"edition": edition}, book)
    baby = draw.pick(_for_airway(draw.below(2) == 0, named))
    options = {**{id: _(rule.says) for id, rule in said.items()}, "young": texts()["supraglottic"][
        "young"]}  # fmt: skip
    asked = on_face.Asked(
        {**baby.said, "edition": named.edition.title}, {**baby.facts, "edition": edition}
    )
    return _question("supraglottic", draw, asked, {**texts()["supraglottic"], "options": options})


def _read(said: Mapping[str, Rule]) -> list[str]:
    """Return the editions whose words were read, or all where none was."""
    read = [id for id, rule in said.items() if rule.citation.basis is not Basis.MEMORY]
    return sorted(read or said)


def _for_airway(young: bool, named: RuleBook) -> list[Baby]:
    """Return babies clearly too young for the airway, or old and heavy enough by every rule."""
    least, weight = named["supraglottic.from"].value, file("sizes")["laryngeal-mask.weight"].value
    every: Iterable[Baby] = babies()
    if young:
        return [b for b in every if b.weeks < least and b.grams < weight]
    return [b for b in every if b.weeks >= least and b.grams > weight]
