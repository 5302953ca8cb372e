"""What the pressure lesson draws for one learner: babies, editions, needles, strips, a run."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from workbook.cases import Draw, Question, starting
from workbook.cases.question import Given
from workbook.core.language import _, number
from workbook.core.quantities import plain
from workbook.display.cards import shown
from workbook.display.editions import reach
from workbook.rules import Rule, RuleBook, editions
from workbook.units.targets.case import oxygen, predictions, raise_pip, seal, two_editions
from workbook.units.targets.case.questions import (
    GROUPS,
    chest_texts,
    figure,
    needles,
    target,
    texts,
)

UNIT = "cmH2O"
NEEDLES = ("read-all",)
FIRST = "blocked"  # the strip that is predicted: a needle that looks right
OTHERS = ("over",)  # what is practised after it; a lung that wants pressure comes at the bench


@dataclass(frozen=True)
class Drawn:
    """Everything that differs between learners; nothing of it is a graded question."""

    draw: Callable[[str], Draw]
    book: RuleBook

    # --- babies

    @cached_property
    def start(self) -> Question:
        """Return a baby to prepare for."""
        draw = self.draw("practice-start")
        return target("start-first", draw.pick(GROUPS[1:]), draw, self.book)

    @cached_property
    def oxygen(self) -> Question:
        """Return a baby whose saturation is where the table wants it."""
        draw, says = self.draw("practice-oxygen"), texts()["oxygen"]
        return oxygen.question("oxygen-first", "leave", Given(draw, GROUPS, self.book, says))

    # --- editions

    @cached_property
    def pair(self) -> Question:
        """Return one baby under two editions."""
        draw = self.draw("practice-editions")
        return two_editions.question(draw, GROUPS, self.book, texts()["two"])

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
        return figure(self.needles[name], self.book)

    # --- what the gauge will show

    @property
    def turned(self) -> dict[str, Any]:
        """Return the T-piece of the lesson, its flow turned ``to``."""
        ids = {"flow": "flow.start", "peep": "peep.example", "relief": "relief.example"}
        set_to: dict[str, Any] = {name: self.book[id].value for name, id in ids.items()}
        # A PIP well below the relief: only so is it seen to move with the flow.
        low = self.book["pip.drawn"].band[0]
        return {**set_to, "pip": low, "turned": "flow", "to": self.to}

    @property
    def to(self) -> float:
        """Return the flow that somebody turns to: up, as far as it is drawn anywhere."""
        return max(predictions.flows(self.book))

    def pairs(self) -> dict[str, predictions.Pair]:
        """Return what each belief about a turned flow expects of the gauge, in a drawn order."""
        kept = predictions.turn_pairs(self.turned)
        return {b: kept[b] for b in self.draw("practice-to").shuffled(kept)}

    # --- the chest, and raising PIP

    @cached_property
    def strips(self) -> dict[str, Question]:
        """Return the strips of the lesson by kind, the one to predict first."""
        draw, says = self.draw("practice-seal"), chest_texts()["seal"]
        return {
            kind: seal.question("strip", kind, Given(draw, GROUPS, self.book, says))
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
        return starting.step(self.book), starting.ceiling(self.book, met)

    # --- in words

    @cached_property
    def words(self) -> dict[str, str]:
        """Return what the lesson's sentences name of all this."""
        return self._of_editions() | self._of_needles() | self._of_gauge() | self._of_chest()

    def _of_editions(self) -> dict[str, str]:
        facts, known = self.pair.facts, editions()
        one, two = two_editions.rules_of(facts)
        met = two_editions.whom(facts)
        low, high = reach(facts["rule"], met)
        return {
            "edition": self.book.edition.title,
            "whose": starting.whose(self.book),
            "baby": met.says,
            "what": _(two_editions.STARTS[facts["rule"]]),
            "one": known[facts["one"]].named,
            "two": known[facts["two"]].named,
            "a": one.text,
            "b": two.text,
            "least": plain(low, one.unit or ""),
            "most": plain(high, one.unit or ""),
        }

    def _of_needles(self) -> dict[str, str]:
        return {"near": plain(self.book["gauge.accept"].value, UNIT)}

    def _of_gauge(self) -> dict[str, str]:
        held, released = predictions.shown(self.turned)
        return {
            "to": plain(self.to, "L/min"),
            "flow_held": shown(held), "flow_released": shown(released),
        }  # fmt: skip

    def _of_chest(self) -> dict[str, str]:
        strip = self.strips[FIRST].facts
        raised = self.raised.facts
        ceiling = raised["ceiling"]
        return {
            "first": self.book["hr.first-check"].text,
            "reassess": self.book["hr.reassess"].text,
            "compress": self.book["hr.compress"].text,
            "chest_pip": plain(round(seal.levels(strip)[0]), UNIT),
            "step": starting.step(self.book).text,
            "inflations": number(raise_pip.enough(self.book)),
            "ceiling": plain(ceiling, UNIT),
            "raised_baby": starting.Baby(raised["weeks"], raised["bench"]["weight"]).says,
            **{f"raised_{name}": plain(raised[name], UNIT) for name in ("pip", "peep", "relief")},
        }


def whence(part: str, rule: Rule | None, book: RuleBook) -> str:
    """Return in a word where the number for one setting comes from."""
    if rule is None:
        return "none"
    if rule.from_site:
        return "site"
    if starting.stands_in(part, rule):
        return "example"
    return "practice" if rule.edition != book.edition.id and part == "relief" else "edition"
