"""The sizing lesson's worked example and its practice: a depth, with less and less help."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from workbook.cases import Draw
from workbook.core.language import _
from workbook.core.language import number as say
from workbook.core.quantities import convert, plain, typed_number
from workbook.face.mask import offered
from workbook.rules import RuleBook
from workbook.rules.files import file
from workbook.units.sizing.case import tubes
from workbook.units.sizing.case.babies import Baby, babies, faces, published_masks, trolley_masks
from workbook.units.sizing.draws import Drawn, Numbers

FAR = 3.0  # times too much or too little: a slip of unit, not of the sum
Feedback = dict[str, Any]


def trolley(draw: Draw, _numbers: Numbers, book: RuleBook) -> Drawn:
    """Return a baby that no caution concerns, what lies on the trolley, and what fits the baby."""
    baby = draw.pick([b for b in babies() if _plain_case(b)])
    units = {"masks": (offered(), "mm"), "tubes": (tubes.made(), "mm")}
    words = {name: f"{_listed(sizes)} {unit}" for name, (sizes, unit) in units.items()}
    size = tubes.by_weight(baby.grams) or 0.0
    masks = {"fitting": published_masks(baby), "nearest": trolley_masks(baby)}
    words |= {name: _(" or ").join(plain(d, "mm") for d in found) for name, found in masks.items()}
    smaller = tubes.smaller(size)
    words |= {"tube": f"{say(size, '.1f')} mm", "smaller": f"{say(smaller, '.1f')} mm"}
    return Drawn({**words, **_depth_words(baby)}, facts=baby.facts)


def _plain_case(baby: Baby) -> bool:
    size = tubes.by_weight(baby.grams)
    masks = published_masks(baby) if faces(baby.weeks) else ()
    return bool(masks and size and tubes.smaller(size) < size and not _cautioned(baby.grams))


def _listed(sizes: Sequence[float]) -> str:
    return ", ".join(say(size) for size in sizes)


def _cautioned(grams: float) -> bool:
    return file("sizes")["depth.weight-plus.caution"].holds(grams)


def _depth_words(baby: Baby) -> dict[str, str]:
    """Return a baby and the depths the rules give for it, in words."""
    words = {name: plain(depth, "cm") for name, depth in tubes.depths(baby.grams).items()}
    words |= {"grams": plain(baby.grams, "g"), "kilograms": say(baby.grams / 1000)}
    return {**baby.said, **words}


# --- a depth, with the last step missing, then all of it


def last_step(draw: Draw, _numbers: Numbers, book: RuleBook) -> Drawn:
    """Return a baby for which only the sum is left to do."""
    baby = draw.pick([b for b in babies() if not _cautioned(b.grams)])
    plus = tubes.by_plus(baby.grams)
    return Drawn(_depth_words(baby), plus, {**baby.facts, "low": plus, "high": plus})


def whole(draw: Draw, _numbers: Numbers, book: RuleBook) -> Drawn:
    """Return a baby in grams, so small that the rules disagree, or not."""
    small = draw.pick((True, False))
    baby = draw.pick([b for b in babies() if _cautioned(b.grams) == small])
    low, high = sorted(tubes.depths(baby.grams).values())
    words = _depth_words(baby)
    return Drawn(words, tubes.by_plus(baby.grams), {**baby.facts, "low": low, "high": high})


PRACTICE = {"trolley": trolley, "last": last_step, "all": whole}


def on_depth(typed: Any, drawn: Drawn, says: Mapping[str, str]) -> Feedback:
    """Return feedback on a typed depth: what is right or missing, and what to look at."""
    how = judged(number(typed, "cm"), drawn)
    rule = file("sizes")["tube.tip" if how == "right" else "depth.weight-plus"]
    line = {"met": how == "right", "says": says[how], "source": str(rule.citation)}
    return {"heading": says["heading"], "lines": [line]}


def judged(depth: float | None, drawn: Drawn) -> str:
    """Return in a word how a depth (cm) compares with what the rules give."""
    right, near = drawn.answer or 0.0, file("sizes")["depth.accept"].band[1]
    if depth is None:
        return "unreadable"
    if not right / FAR < depth < right * FAR:
        return "far"
    if depth > drawn.facts["high"] + near:
        return "deep"
    return "shallow" if depth < drawn.facts["low"] - near else "right"


def number(typed: Any, unit: str) -> float | None:
    """Return a typed number in a unit; None when it cannot be read as one."""
    try:
        return convert(typed_number(typed["text"]), typed["unit"], unit)
    except (ValueError, TypeError, KeyError, AttributeError):
        return None
