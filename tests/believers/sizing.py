"""Who holds a belief of unit 5: mask and tube."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from random import Random

from graders.marking.exercise import model_answers
from tests.believers.base import Answers, Play, both, has
from workbook.cases import Case
from workbook.face.fit import answer as laid
from workbook.face.mask import Face, Mask, best_masks, best_place, offered
from workbook.rules import RuleBook


def _mask(change: Callable[[Mask, Face, Random], Mask | None]) -> Play:
    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        made: Answers = {}
        for id in ("mask-place", "mask-between"):
            face = Face(case[id].facts["length"])
            mask = change(best_place(face, best_masks(face)[0]), face, chance)
            if mask is not None:
                made[id] = laid(mask)
        return made

    return played


def _larger(mask: Mask, face: Face, chance: Random) -> Mask | None:
    bigger = [size for size in offered() if size > max(best_masks(face))]
    return best_place(face, bigger[0]) if bigger else None


def _situation(question: str, **says: str) -> Callable[[Case, RuleBook, Random], Answers]:
    """Answer by what was drawn."""

    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        facts = case[question].facts
        said = says.get(str(facts.get("situation") or facts.get("needle")).replace("-", "_"))
        return {question: said} if said is not None and has(case[question], said) else {}

    return played


def _depth(says: Callable[[str], str | None]) -> Play:
    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        from graders.units.sizing.marks import key
        from graders.units.sizing.right import choices

        said = says(choices(case["depth-small"], key())[0])
        return {"depth-small": said} if said else {}

    return played


def _by_weeks(case: Case, book: RuleBook, chance: Random) -> Answers:
    """Take the tube that the weeks name, with the right blade."""
    from workbook.units.sizing.case import tubes

    asked = case["tube-weight"]
    right = model_answers(case, book)[asked.id].split("/")[1]
    by_weeks = tubes.by_gestation(asked.facts["weeks"])
    said = f"{by_weeks:g}/{right}"
    return {asked.id: said} if has(asked, said) else {}


SIZES: Mapping[str, Play] = {
    "mask-over-eyes": _mask(lambda m, f, r: Mask(m.diameter, m.x, m.y - r.uniform(10, 13))),
    "bigger-seals-better": _mask(_larger),
    "chin-inside": _mask(lambda m, f, r: Mask(m.diameter, m.x, f.length - m.outer
                                              + r.uniform(5, 7))),
    "turn-is-nothing": _mask(lambda m, f, r: Mask(m.diameter, m.x, m.y, r.uniform(70, 150))),
    "full-needle-seals": _situation("seal-check", full="sealed"),
    "flow-mends-leak": _situation("seal-check", low="flow"),
    "press-to-seal": _situation("mask-hold", leak="press", pressed="press"),
    "change-what-works": both(_situation("mask-hold", works="two"),
                               _situation("interface-next", works="laryngeal")),
    "patience-with-the-mask": _situation("interface-next", alone="mask", small_alone="mask",
                                         small_helped="mask"),
    "airway-any-baby": _situation("interface-next", small_alone="laryngeal",
                                  small_helped="laryngeal"),
    "age-alone": _by_weeks,
    "one-depth-rule": _depth(lambda right: "deep" if right == "within" else None),
    "deeper-is-safer": _depth(lambda right: "push"),
    "mist-confirms": _situation("confirm", none="hold"),
    "x-ray-first": _situation("confirm", none="wait", right="wait", good="wait"),
    "suction-every-baby": _situation("suction", cries="short"),
    "suction-harder": _situation("suction", blocked="harder", slow="harder"),
}  # fmt: skip
