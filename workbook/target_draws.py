"""What the pressure lesson draws for one learner: babies, editions, needles, strips, a run."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from workbook.bench import DIALS
from workbook.cards import shown
from workbook.cases import Draw, Question, predictions, raise_pip, seal, starting, two_editions
from workbook.cases.pressure_targets import GROUPS, NUMBERED, chest_texts, needles, texts
from workbook.language import _, number
from workbook.physics.coefficients import GAUGE_TOP
from workbook.rules import Rule, RuleBook, compare, editions
from workbook.units import convert, plain

UNIT = "cmH2O"
UNITS = ("mmHg", "kPa")  # units whose numbers differ clearly from those in cmH2O
NEEDLES = ("mark", "read-steps", "read-all", "unit-steps", "unit-all", "worked")
FIRST = "blocked"  # the strip that is predicted: a needle that looks right
OTHERS = ("over", "stiff")  # the strips that are practised after it
TELL_APART = {
    "leak": {"right", "leak-unseen", "leak-spares-peep", "leak-spares-pip"},
    "to": {"right", "flow-any-time", "peep-proportional", "flow-spares-pip"},
}


@dataclass(frozen=True)
class Drawn:
    """Everything that differs between learners; nothing of it is a graded question."""

    draw: Callable[[str], Draw]
    book: RuleBook

    # --- babies

    @cached_property
    def babies(self) -> dict[str, starting.Baby]:
        """Return three babies of three groups: one to watch, two to prepare for."""
        draw = self.draw("practice-babies")
        groups = draw.some(GROUPS, 3)
        names = ("worked", "steps", "all")
        made = [starting.baby(draw, group, self.book) for group in groups]
        return dict(zip(names, made, strict=True))

    @cached_property
    def example(self) -> dict[str, float]:
        """Return the set that the worked example ends in."""
        return starting.right(self.draw("practice-example"), self.book, self.babies["worked"])

    def sets(self, part: str) -> dict[str, dict[str, float]]:
        """Return the sets to choose from, lettered, only one of them right."""
        draw, met = self.draw(f"practice-start-{part}"), self.babies[part]
        good = starting.right(draw, self.book, met)
        every = draw.shuffled([good, *starting.wrong(draw, good, self.book, met).values()])
        return dict(zip("abcdef", every, strict=False))

    # --- editions

    def two(self, part: str) -> Question:
        """Return one baby under two editions, with statements to choose from."""
        draw = self.draw(f"practice-{part}")
        return two_editions.question(draw, GROUPS, self.book, texts()["two"])

    @cached_property
    def pair(self) -> Question:
        """Return the two editions that the lesson begins with."""
        return self.two("editions")

    # --- the gauge

    @cached_property
    def needles(self) -> dict[str, int]:
        """Return where the needle stands in each figure (cmH2O), each time elsewhere."""
        return dict(
            zip(NEEDLES, self.draw("practice-needles").some(needles(self.book), len(NEEDLES)),
                strict=True)
        )  # fmt: skip

    def figure(self, name: str) -> dict[str, Any]:
        """Return a gauge as a figure to read from."""
        return {
            "kind": "gauge", "value": self.needles[name], "top": GAUGE_TOP.value, "unit": UNIT,
            "minor": self.book["gauge.mark"].value, "hide_value": True,
        }  # fmt: skip

    @cached_property
    def units(self) -> dict[str, str]:
        """Return the unit that each part about units asks for."""
        first, second = self.draw("practice-units").shuffled(UNITS)
        return {"worked": first, "unit-steps": first, "unit-all": second}

    # --- what the gauge will show

    def facts(self, changed: str) -> dict[str, Any]:
        """Return the T-piece of the lesson with a ``leak`` opened, or its flow turned ``to``."""
        ids = {"flow": "flow.start", "pip": "pip.example", "peep": "peep.example",
               "relief": "relief.example"}  # fmt: skip
        set_to = {name: self.book[id].value for name, id in ids.items()}
        return set_to | ({"leak": self._leak(set_to)} if changed == "leak" else {"to": self.to})

    def _leak(self, set_to: Mapping[str, float]) -> int:
        """Return a leak at which each belief about leaks expects another reading."""
        places = range(1, DIALS["leak"].clicks + 1)
        clear = [n for n in places if TELL_APART["leak"] <= {*self._leaky(set_to, n)}]
        return (clear or [*places])[0]

    def _leaky(self, set_to: Mapping[str, float], n: int) -> Mapping[str, predictions.Pair]:
        return predictions.offered(predictions.leak_pairs({**set_to, "leak": n}), self.book)

    @property
    def to(self) -> float:
        """Return the flow that somebody turns to: the far end of what a dial does."""
        low, high = self.book["flow.range"].band
        return high if self.book["flow.start"].value < high else low

    def pairs(self, changed: str) -> dict[str, predictions.Pair]:
        """Return what each belief expects of the gauge, in a drawn order; ``right`` is shown."""
        facts = self.facts(changed)
        made = (predictions.leak_pairs if changed == "leak" else predictions.flow_pairs)(facts)
        kept = predictions.offered(made, self.book)
        told = [belief for belief in kept if belief in TELL_APART[changed]]
        return {b: kept[b] for b in self.draw(f"practice-{changed}").shuffled(told)}

    # --- the chest, and raising PIP

    @cached_property
    def strips(self) -> dict[str, Question]:
        """Return the strips of the lesson by kind, the one to predict first."""
        draw, says = self.draw("practice-seal"), chest_texts()["seal"]
        return {
            kind: seal.question("strip", kind, draw, GROUPS, self.book, says)
            for kind in (FIRST, *draw.shuffled(OTHERS))
        }

    @cached_property
    def raised(self) -> Question:
        """Return the stiff baby on the bench."""
        return raise_pip.question(self.draw("practice-raise"), GROUPS, self.book, texts()["raise"])

    @property
    def raise_rules(self) -> tuple[Rule, Rule | None]:
        """Return the rules for a step of PIP and for the highest one, for that baby."""
        facts = self.raised.facts
        met = starting.Baby(facts["weeks"], facts["bench"]["weight"])
        return raise_pip.step(self.book), starting.ceiling(self.book, met)

    # --- in words

    @cached_property
    def words(self) -> dict[str, str]:
        """Return what the lesson's sentences name of all this."""
        return self._of_babies() | self._of_needles() | self._of_gauge() | self._of_chest()

    def _of_babies(self) -> dict[str, str]:
        facts, known = self.pair.facts, editions()
        one, two = two_editions.rules_of(facts)
        met = starting.Baby(facts["weeks"], facts["kg"])
        low, high = _reach(facts["rule"])
        return {
            "edition": self.book.edition.title,
            "whose": starting.whose(self.book),
            "baby": met.says,
            "what": _(two_editions.STARTS[facts["rule"]]),
            "one": known[facts["one"]].title,
            "two": known[facts["two"]].title,
            "a": one.text,
            "b": two.text,
            "least": plain(low, one.unit or ""),
            "most": plain(high, one.unit or ""),
        }

    def _of_needles(self) -> dict[str, str]:
        mark, stands = self.book["gauge.mark"].value, self.needles["mark"]
        below = stands // NUMBERED * NUMBERED
        return {
            "mark": plain(mark, UNIT), "half_mark": plain(mark / 2, UNIT),
            "half_ten": plain(NUMBERED / 2, UNIT), "ten": plain(NUMBERED, UNIT),
            "below": number(below), "above": number(below + NUMBERED),
            "spaces": number(NUMBERED / mark), "past": number((stands - below) / mark),
            "stands": plain(stands, UNIT), "near": plain(self.book["gauge.accept"].value, UNIT),
            **self.in_unit("worked"),
        }  # fmt: skip

    def in_unit(self, name: str) -> dict[str, str]:
        """Return the steps of converting one needle, in words."""
        value, unit = self.needles[name], self.units[name]
        each = convert(1, UNIT, unit)
        return {
            "needle": plain(value, UNIT), "unit": unit, "each": f"{number(each, '.3g')} {unit}",
            "becomes": f"{number(value * each, '.3g')} {unit}",
            "times": f"{number(value)} × {number(each, '.3g')}",
        }  # fmt: skip

    def _of_gauge(self) -> dict[str, str]:
        told = {"to": plain(self.to, "L/min")}
        for name, changed in (("leak", "leak"), ("flow", "to")):
            held, released = predictions.shown(self.facts(changed))
            told |= {f"{name}_held": shown(held), f"{name}_released": shown(released)}
        return told

    def _of_chest(self) -> dict[str, str]:
        strip = self.strips[FIRST].facts
        ceiling = self.raised.facts["ceiling"]
        return {
            "first": self.book["hr.first-check"].text,
            "reassess": self.book["hr.reassess"].text,
            "compress": self.book["hr.compress"].text,
            "chest_pip": plain(round(seal.levels(strip)[0]), UNIT),
            "step": raise_pip.step(self.book).text,
            "inflations": number(raise_pip.enough(self.book)),
            "ceiling": plain(ceiling, UNIT),
        }


def _reach(id: str) -> tuple[float, float]:
    """Return the lowest and the highest number that any edition gives for a rule."""
    stated = [row.rule for row in compare(id).rows if row.rule.stated]
    ends = [end for rule in stated for end in starting.ends(rule)]
    return min(ends), max(ends)


def whence(part: str, rule: Rule | None, book: RuleBook) -> str:
    """Return in a word where the number for one setting comes from."""
    if rule is None:
        return "none"
    if rule.from_site:
        return "site"
    if starting.stands_in(part, rule):
        return "example"
    return "practice" if rule.edition != book.edition.id and part == "relief" else "edition"
