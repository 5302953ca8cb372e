"""Fault finding: six trials drawn for one learner, one of each family of look-alikes."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from workbook.bench import Bench
from workbook.bench.baby import taking
from workbook.cases.dials import set_for
from workbook.cases.draw import Draw
from workbook.cases.question import Kind, Later, Question
from workbook.cases.starting import Baby, baby, settings_for, step, whose
from workbook.core.language import _, data, in_force, number
from workbook.core.quantities import plain
from workbook.rules import RuleBook
from workbook.trial import FAMILIES, NAMED, UNKNOWN, Scene, named_in, offered
from workbook.trial.apart import told_apart
from workbook.trial.moves import BABY, BEFORE, MOVES, SURE
from workbook.trial.named import I_DO_NOT_KNOW
from workbook.trial.scene import wrong

EXERCISE = "6_fault_finding"
TRIALS = tuple(f"trial-{n}" for n in range(1, 1 + len(FAMILIES)))
WITHOUT_BABY = 2  # trials before birth
ALARMED = 2  # trials in which something else alarms
TEXTS = Path(__file__).with_name("questions.toml")
TRIES = 40  # draws of a setting in which a fault can be told from every other
GROUPS = ("term", "preterm")
SET = ("flow", "pip", "peep", "relief")
MARKS, HONEST = 10.0, 6.0  # points of a trial; those of “I do not know”, with the bag


def texts() -> Mapping[str, Any]:
    """Return the words of the trials."""
    return data(TEXTS)


def questions(course: str, learner: str, book: RuleBook) -> tuple[Question, ...]:
    """Return the six trials of one learner: no family twice, in a drawn order."""

    def draw(part: str) -> Draw:
        return Draw(course, EXERCISE, learner, part)

    order = draw("order")
    families = order.shuffled(FAMILIES)
    may_wait = [family for family in families if named_in(BEFORE, family)]
    before = order.some(may_wait, WITHOUT_BABY)
    faults = {
        family: order.pick(named_in(BEFORE if family in before else BABY, family))
        for family in families
    }
    quiet = [family for family in families if faults[family] != "oxygen-out"]
    alarmed = order.some([family for family in quiet if family not in before], ALARMED)
    return tuple(
        _trial(id, draw(id), faults[family], family in before, family in alarmed, book)
        for id, family in zip(TRIALS, families, strict=True)
    )


def _trial(
    id: str,
    draw: Draw,
    fault: str,
    before: bool,
    alarmed: bool,
    book: RuleBook,
) -> Question:
    setting = BEFORE if before else BABY
    met, facts = _drawn(draw, fault, setting, book)
    told = texts()
    if fault == "oxygen-out":
        alarm = told["alarm"]["supply"]
    else:
        alarm = told["alarm"][draw.pick(("saturation", "warmer"))] if alarmed else ""
    facts = {**facts, "alarm": bool(alarm)}
    says = {
        **_set_as(*(facts[name] for name in SET), in_force()),
        "baby": met.says, "edition": whose(book),
    }  # fmt: skip
    ending = "-before" if before else ""
    context = [
        told[setting].format_map(says),
        told["set"].format_map(says),
        *([alarm] * bool(alarm)),
    ]
    return Question(
        id,
        Kind.TRIAL,
        told[f"ask{ending}"].format(n=number(TRIALS.index(id) + 1)),
        context=" ".join(context),
        help=told[f"help{ending}"].format_map(says),
        facts=facts,
        shows=Later(lambda: shows(facts, told[f"goal{ending}"], alarm, book)),
    )


@lru_cache(maxsize=1024)
def _set_as(flow: float, pip: float, peep: float, relief: float, language: str) -> dict[str, str]:
    """Return settings and points in the language in force, which ``language`` names."""
    return {
        "flow": plain(flow, "L/min"), "pip": plain(pip, "cmH2O"), "peep": plain(peep, "cmH2O"),
        "relief": plain(relief, "cmH2O"), "honest": number(HONEST), "most": number(MARKS),
    }  # fmt: skip


def _drawn(draw: Draw, fault: str, setting: str, book: RuleBook) -> tuple[Baby, dict[str, Any]]:
    """Return a baby and settings in which the fault can be told from every other."""
    for _try in range(TRIES):
        met = baby(draw, draw.pick(GROUPS), book)
        pip, peep, relief = draw.pick(settings_for(book, met))
        numbers = {"flow": book["flow.start"].value, "pip": pip, "peep": peep, "relief": relief}
        facts = facts_of(fault, setting, numbers, met, book)
        if told_apart(Scene.of(facts), facts["apart"]):
            return met, facts
    raise ValueError(f"No move tells {fault!r} from every other fault.")


def facts_of(
    fault: str, setting: str, numbers: Mapping[str, float], met: Baby, book: RuleBook
) -> dict[str, Any]:
    """Return the facts of a trial: the fault, what was set, how it stands now."""
    right, standing = _standing(tuple(numbers.items()), fault)
    outlet = "lung" if setting == BABY else "capped"
    told = _told(book)
    lung = taking(told["volume"], met.kg, numbers["pip"] - numbers["peep"])
    bench = Bench(dict(standing), lung, met.kg, outlet)
    return {
        **numbers, "fault": fault, "setting": setting, "weeks": met.weeks, "kg": met.kg,
        "bench": bench.to_data(), "right": dict(right), "step": told["step"],
        "accept": dict(told["accept"]), "apart": told["apart"],
    }  # fmt: skip


@lru_cache(maxsize=64)
def _told(book: RuleBook) -> Mapping[str, Any]:
    """Return the rules' numbers that are the same for every trial."""
    return {
        "volume": sum(book["volume.window"].band) / 2,  # set right, a chest moves as it should
        "step": step(book).band[0],
        "accept": {name: book[f"{name}.accept"].value for name in ("pip", "peep", "relief")},
        "apart": book["trial.apart"].value,
    }


@lru_cache(maxsize=1024)
def _standing(
    numbers: tuple[tuple[str, float], ...], fault: str
) -> tuple[Mapping[str, int], Mapping[str, int]]:
    right = set_for(dict(numbers))
    return right, wrong(right, fault)


def seconds(book: RuleBook) -> dict[str, float]:
    """Return how long each move takes (s)."""
    return {id: move.seconds(book) for id, move in MOVES.items()}


def shows(facts: Mapping[str, Any], goal: str, alarm: str, book: RuleBook) -> dict[str, Any]:
    """Return what a page is given of a trial: nothing of its fault."""
    low, high = book["volume.window"].band
    on_baby = facts["setting"] == BABY
    named = [
        {"id": id, "text": _(NAMED[id].text), "mend": _(NAMED[id].mend)}
        for id in named_in(facts["setting"])
    ]
    return {
        "setting": facts["setting"],
        "bench": facts["bench"],
        "outlets": ["capped", "open", *(["lung"] if on_baby else [])],
        "moves": offered(facts["setting"], book),
        "faults": [*named, {"id": UNKNOWN, "text": _(I_DO_NOT_KNOW.text), "mend": ""}],
        "sure": [{"id": id, "text": _(text)} for id, text in SURE.items()],
        "wanted": {name: facts[name] for name in SET},
        "goal": goal,
        "limit": book["trial.limit"].band[1],
        "alarm": alarm,
        "chest": {"low": low, "high": high} if on_baby else {},
        "heart": _heart(book) if on_baby else {},
    }


def _heart(book: RuleBook) -> dict[str, float]:
    low, high = book["trial.heart"].band
    return {
        "begins": high, "least": low, "share": book["trial.share"].band[0] / 100,
        **{name: book[f"trial.heart.{name}"].value for name in ("waits", "falls", "rises")},
    }  # fmt: skip
