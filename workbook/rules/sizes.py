"""Sizes of tubes, catheters, laryngeal masks, blades and face masks for one baby.

Every coefficient and band stands in ``sizes.toml`` with its source; the formulas stand here.
Weights and lengths are quantities or texts with a unit, gestation also ``"28+3"``.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

from workbook.core.language import N_, _, number
from workbook.core.quantities import convert, plain
from workbook.rules.book import RuleBook
from workbook.rules.checkinput import Given, grams, read, weeks
from workbook.rules.files import file, rulebook
from workbook.rules.found import Found, answered
from workbook.rules.rule import Basis, Citation, Population, Rule, RuleError
from workbook.rules.signed import kept

_NEARLY = 1e-9  # a tenth of 30 weeks is three whole sizes, whatever floating point makes of it
_BABY = "the baby's weight or gestation"


def tube(weight: Given | None = None, gestation: Given | None = None) -> Found:
    """Return the inside diameter of a tracheal tube by each rule that can be asked.

    Bands of weight and of gestation: textbook. A tenth of the weeks, rounded down to half a
    millimetre: secondary table.
    """
    book = file("sizes")
    baby = _baby(weight, gestation)
    rules = _bands(book, ("tube.weight", "tube.gestation"), *baby)
    if baby[0] is not None:
        step = book["tube.tenth.step"].value
        sizes = math.floor(baby[0] / book["tube.tenth.share"].value / step + _NEARLY)
        rules.append(answered(book["tube.tenth"], sizes * step, "mm"))
    also = [r for r in book.all("tube.downsized") if r.population.includes(*baby)]
    return _found("Tracheal tube, inside diameter", rules, _BABY, also)


def depth(
    weight: Given | None = None, gestation: Given | None = None, ntl: Given | None = None
) -> Found:
    """Return the depth of an oral tracheal tube at the lip by each rule that can be asked.

    Kilograms plus 6: Tochen 1979. Nasal septum to tragus plus 1 cm. Two fits and a table:
    Kempley 2008, used only within the table's own span.
    """
    book = file("sizes")
    baby = _baby(weight, gestation)
    rules = _by_weight(book, baby[1]) + _by_gestation(book, baby[0])
    if ntl is not None:
        length = read("ntl", ntl) + book["depth.ntl-plus.add"].value
        rules.append(answered(book["depth.ntl-plus"], length, "cm"))
    caution = book["depth.weight-plus.caution"]
    also = [caution] if baby[1] is not None and caution.holds(baby[1]) else []
    return _found("Depth at the lip", rules, f"{_BABY}, or the length to the tragus", also)


def _by_weight(book: RuleBook, weight: float | None) -> list[Rule]:
    """Return depth by kilograms plus 6, by Kempley's logarithmic fit, and by his table."""
    if weight is None:
        return []
    kilograms = convert(weight, "g", "kg")
    plus = kilograms + book["depth.weight-plus.add"].value
    rules = [answered(book["depth.weight-plus"], plus, "cm")]
    for row in _of(book, "depth.table-weight", None, weight):
        fit = _line(book, "depth.fit-weight", math.log(kilograms))
        rules += [answered(book["depth.fit-weight"], fit, "cm"), row]
    return rules


def _by_gestation(book: RuleBook, gestation: float | None) -> list[Rule]:
    """Return depth by Kempley's straight fit to gestation, and by his table."""
    rules: list[Rule] = []
    for row in _of(book, "depth.table-gestation", gestation, None):
        fit = _line(book, "depth.fit-gestation", gestation or 0.0)
        rules += [answered(book["depth.fit-gestation"], fit, "cm"), row]
    return rules


def _line(book: RuleBook, id: str, x: float) -> float:
    return round(book[f"{id}.slope"].value * x + book[f"{id}.start"].value, 2)


@dataclass(frozen=True, slots=True)
class Lumen:
    """The share of a tube that a catheter fills, by diameter and by area, in percent."""

    catheter: float
    tube: float
    limits: tuple[Rule, ...]

    @property
    def diameter(self) -> float:
        """Return the share of the inside diameter."""
        return 100 * self.catheter / self.tube

    @property
    def area(self) -> float:
        """Return the share of the cross-section."""
        return 100 * (self.catheter / self.tube) ** 2

    def share(self, by: str) -> float:
        """Return the share ``by`` "diameter" or "area"; there is no share without a name."""
        if by not in ("diameter", "area"):
            raise RuleError(f"A share of the lumen is by 'diameter' or by 'area', not by {by!r}.")
        return self.diameter if by == "diameter" else self.area

    def within(self, by: str) -> bool:
        """Say whether the share is below every limit, read as ``by`` diameter or area."""
        return all(limit.holds(self.share(by)) for limit in self.limits)

    @property
    def text(self) -> str:
        """Return both shares, what each means against the limit, and that the limit is unclear."""
        said = [_(_SHARES[by, self.within(by)]).format(share=number(self.share(by), ".0f"))
                for by in ("diameter", "area")]  # fmt: skip
        flips = self.within("diameter") != self.within("area")
        unclear = _(
            " The published limit does not say which is meant, and here the answer differs."
        )
        told = _("A catheter of {catheter} fills a tube of {tube}: {shares} ({limit}).").format(
            catheter=plain(convert(self.catheter, "mm", "Fr"), "Fr"),
            tube=plain(self.tube, "mm"),
            shares="; ".join(said),
            limit=self.limits[-1].text,
        )
        return told + (unclear if flips else "")


_SHARES = {
    ("diameter", True): N_("by diameter {share} %, within the limit"),
    ("diameter", False): N_("by diameter {share} %, over the limit"),
    ("area", True): N_("by area {share} %, within the limit"),
    ("area", False): N_("by area {share} %, over the limit"),
}


def lumen(catheter: Given, tube: Given) -> Lumen:
    """Return how much of a tube's lumen a catheter fills; the limits are those for an infant."""
    book = file("sizes")
    limits = (book["lumen.limit.aarc-2010"], book["lumen.limit.aarc-2022"])
    outside = convert(read("catheter", catheter), "Fr", "mm")
    return Lumen(outside, read("tube", tube), limits)


def catheter(tube: Given) -> Found:
    """Return the suction or surfactant catheter for a tube: two tables, and custom at the port."""
    book = file("sizes")
    size = f"{read('tube', tube):.1f}"
    ids = [f"catheter.table.{size}", f"catheter.textbook.{size}"]
    if not set(ids) <= {rule.id for rule in book}:
        known = ", ".join(r.id.removeprefix("catheter.table.") for r in book if "r.table." in r.id)
        raise RuleError(f"No catheter is listed for a tube of {size} mm; there are {known} mm.")
    also = (rulebook("practice")["port.catheter"],)
    note = "\n".join(lumen(f"{end:g} Fr", tube).text for end in _ends(book[id] for id in ids))
    return Found(f"Catheter for a tube of {size} mm", tuple(book[id] for id in ids), also, note)


def laryngeal_mask(weight: Given | None = None, gestation: Given | None = None) -> Found:
    """Return the size of a laryngeal mask, and whether it is advised for this baby at all."""
    book = file("sizes")
    age, mass = _baby(weight, gestation)
    if mass is None:
        raise RuleError("The size of a laryngeal mask goes by weight: give the baby's weight.")
    limits = [book["laryngeal-mask.weight"]]
    limits += [book["laryngeal-mask.gestation"]] if age is not None else []
    met = [rule.holds(mass if rule.unit == "g" else age or 0.0) for rule in limits]
    note = "Not advised for this baby by any limit asked."
    if any(met):
        note = (
            "Advised for this baby." if all(met) else "Advised by one limit and not by the other."
        )
    also = (*limits, book["laryngeal-mask.weight-later"])
    size = book.find("laryngeal-mask.size", weight=mass)
    return Found("Laryngeal mask", (size,), also, note)


def blade(gestation: Given) -> Found:
    """Return the size of a straight laryngoscope blade."""
    book, age = file("sizes"), weeks(gestation)
    smaller = _of(book, "blade.smaller", age, None)
    return Found("Straight blade", (book.find("blade", gestation=age),), tuple(smaller))


def mask(weight: Given | None = None, gestation: Given | None = None) -> Found:
    """Return the outside diameters of face masks published as fitting, and those too large."""
    baby = _baby(weight, gestation)
    fitting = _published(*baby)
    also = _named("mask.share.", "mask.too-large")
    kept = [r for r in also if r.population.includes(*baby)]
    if len({rule.value for rule in fitting}) > 1:
        kept.append(rulebook("practice")["mask.between-sizes"])
    return _found("Face mask, outside diameter", fitting, _BABY, kept)


def _published(*baby: float | None) -> list[Rule]:
    """Return the masks that a publication calls fitting for this baby."""
    return [r for r in _named("mask.fits.") if r.population.includes(*baby)]


@kept
def _named(*beginnings: str) -> tuple[Rule, ...]:
    """Return the rules of sizes whose ids begin so; they are asked for again and again."""
    return tuple(rule for rule in file("sizes") if rule.id.startswith(beginnings))


def mask_fit(diameter: Given, gestation: Given) -> Found:
    """Return the chance that a mask is no longer than the face, for each published face length.

    Lengths are taken as normally distributed with the published mean and standard deviation
    (O'Shea 2016, 24 to 32 weeks; Haase 2020, 34 to 41 weeks; Haase 2024, term). Between
    published weeks both are interpolated; outside them there is no answer.
    """
    book, age, width = file("sizes"), weeks(gestation), read("mask", diameter)
    found = [_chance(width, age, *face) for face in _published_faces(book, age)]
    called = [r for r in _published(age, None) if r.holds(width)]
    note = "A mask much shorter than the face may not cover mouth and nose; no number is published."
    what = f"A mask of {plain(width, 'mm')} is no longer than the face at {plain(age, 'week')}"
    return Found(what, tuple(found), tuple(called), note)


def face_lengths(gestation: Given) -> list[tuple[float, float]]:
    """Return (mean, standard deviation) in mm of each published face length at a gestation."""
    faces = _published_faces(file("sizes"), weeks(gestation))
    return [(mean, spread) for _, mean, spread, _ in faces]


def _published_faces(book: RuleBook, age: float) -> list[tuple[Rule, float, float, bool]]:
    found = list(_faces(book, age))
    if not found:
        raise RuleError(f"No face length is published for {plain(age, 'week')}: {_spans(book)}.")
    return found


def _faces(book: RuleBook, age: float) -> Iterable[tuple[Rule, float, float, bool]]:
    """Yield (rule of the mean, mean, standard deviation, whether interpolated)."""
    means, spreads = book.all("face.mean"), book.all("face.sd")
    knots = [rule.population.gestation[0] or 0.0 for rule in means]
    for n, (left, right) in enumerate(pairwise(knots)):
        if left <= age < right or age == right == knots[-1]:
            part = (age - left) / (right - left)
            mean, sd = (_between(r[n].value, r[n + 1].value, part) for r in (means, spreads))
            yield means[n + (age == right)], mean, sd, age not in knots
    for id in ("face.2d", "face.3d", "face.term"):
        for rule in _of(book, f"{id}.mean", age, None):
            yield rule, rule.value, book.find(f"{id}.sd", gestation=age).value, False


def _between(left: float, right: float, part: float) -> float:
    return left + part * (right - left)


def _chance(
    width: float, age: float, face: Rule, mean: float, sd: float, interpolated: bool
) -> Rule:
    """Return P(length >= width) in percent for a normal length, by the error function."""
    share = 50 * (1 - math.erf((width - mean) / (sd * math.sqrt(2))))
    made = "interpolated" if interpolated else "published"
    locator = f"normal, {made} mean {mean:.4g} mm and SD {sd:.3g} mm"
    citation = Citation(face.citation.source, Basis.COMPUTED, locator)
    says = f"Share of faces at least that long, {face.says[0].lower()}{face.says[1:]}"
    whom = Population(f"{plain(age, 'week')}, interpolated") if interpolated else face.population
    made_of = replace(face, says=says, population=whom)
    return answered(made_of, round(share, 1), "percent", citation)


def _spans(book: RuleBook) -> str:
    knots = [rule.population.gestation[0] or 0.0 for rule in book.all("face.mean")]
    late = book.all("face.2d.mean")[0]
    return f"there are {min(knots):g} to {max(knots):g} weeks and {late.population.says}"


def _baby(weight: Given | None, gestation: Given | None) -> tuple[float | None, float | None]:
    """Return (weeks, grams), each None when not given."""
    age = None if gestation is None else weeks(gestation)
    return age, None if weight is None else grams(weight)


def _bands(book: RuleBook, ids: Iterable[str], *baby: float | None) -> list[Rule]:
    return [rule for id in ids for rule in _of(book, id, *baby)]


def _of(book: RuleBook, id: str, age: float | None, mass: float | None) -> list[Rule]:
    return [rule for rule in book.all(id) if rule.population.includes(age, mass)]


def _ends(rules: Iterable[Rule]) -> list[float]:
    return sorted({end for rule in rules for end in rule.band})


def _found(what: str, rules: list[Rule], needed: str, also: Iterable[Rule]) -> Found:
    if not rules:
        raise RuleError(f"{what}: no published rule covers what was given; give {needed}.")
    return Found(what, tuple(rules), tuple(also))
