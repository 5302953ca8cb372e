"""Practice feedback on raising PIP at the bench: what the hands did, part by part.

Each part has one line, met or not, and names the first moment that matters.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from statistics import mean
from typing import Any

from workbook.bench import DIALS, Bench, Hands, HandsError, read_hands
from workbook.bench.story import Stretch, held_at, story
from workbook.cases import Question
from workbook.cases.inflation import inflated
from workbook.cases.pace import first_inflations, longest, rate_band, rate_rule
from workbook.cases.starting import step
from workbook.core.language import _, number
from workbook.core.quantities import plain
from workbook.display.compared import compared
from workbook.lesson.answered import Feedback, Line, line
from workbook.rules import Rule, RuleBook
from workbook.units.targets.case.raise_pip import enough, moves_from
from workbook.units.targets.expert import raising

TWICE = 2.0
SPARE = 0.5  # s beyond an edition's longest first inflation
AT_LIMIT = 0.5  # of a cmH2O below the relief's limit: the control no longer moves the needle
OTHERS = ("flow", "peep", "relief", "leak", "cap", "open")

Says = Mapping[str, Any]
Held = tuple[float, float, bool]  # from, to (s), whether PIP was turned meanwhile
Level = tuple[int, float, int]  # position of PIP, since when (s), inflations given there


@dataclass(frozen=True)
class Raised:
    """One run at the bench of a stiff baby, beside what the rules ask."""

    asked: Question
    hands: Hands
    book: RuleBook

    @cached_property
    def bench(self) -> Bench:
        """Return the bench as it stood before it was touched."""
        return Bench.from_data(self.asked.facts["bench"])

    @cached_property
    def stretches(self) -> list[Stretch]:
        """Return the run between two touches each."""
        return story(self.bench, self.hands)

    @cached_property
    def held(self) -> list[Held]:
        """Return every occlusion."""
        made: list[Held] = []
        for each in self.stretches:
            if each.held and each.touched == "occlude":
                made.append((each.start, each.end, False))
            elif each.held and made:
                begun, _end, turned = made.pop()
                made.append((begun, each.end, turned or each.touched == "pip"))
        return made

    @cached_property
    def ordinary(self) -> list[Held]:
        """Return the occlusions short enough to be inflations of a count."""
        return [each for each in self.held if each[1] - each[0] <= self.long]

    @property
    def long(self) -> float:
        """Return from when an occlusion is no inflation of the count (s)."""
        return float(max(self.book["inflation.long"].value, longest(self.book).band[1]))

    def are_first(self, long: list[Held]) -> bool:
        """Say whether long inflations are those that the edition itself begins with."""
        count, longest = first_inflations(self.book)
        fits = all(end - begun <= longest + SPARE and not turned for begun, end, turned in long)
        return len(long) <= count and fits

    @cached_property
    def levels(self) -> list[Level]:
        """Return each PIP that was looked at, from the starting one to the last."""
        turns = [(0.0, self.bench.positions["pip"])]
        turns += [(s.start, s.at("pip")) for s in self.stretches if s.touched == "pip"]
        ends = [*(start for start, _ in turns[1:]), self.hands.duration]
        every = [(at, start, self._given(start, end))
                 for (start, at), end in zip(turns, ends, strict=True)]  # fmt: skip
        looked = [each for each in every[1:-1] if each[2] >= self.enough]
        return [every[0], *looked, *every[1:][-1:]]

    def _given(self, start: float, end: float) -> int:
        return sum(start <= begun and ended <= end for begun, ended, _ in self.held)

    @property
    def enough(self) -> int:
        """Return how many inflations a step is looked at for."""
        return enough(self.book)

    def shows(self, position: int) -> float:
        """Return what PIP reads (cmH2O) at a position of its control."""
        return held_at(self.bench, pip=position)

    def reaches(self, stretch: Stretch) -> float:
        """Return what PIP reads (cmH2O) as its control and the relief stand."""
        return held_at(self.bench, pip=stretch.at("pip"), relief=stretch.at("relief"))

    @cached_property
    def moves(self) -> int:
        """Return the position of the PIP control from which the chest rises."""
        low = self.book["volume.window"].band[0]
        return moves_from(self.bench, self.asked.facts, low)

    @cached_property
    def words(self) -> dict[str, str]:
        """Return what the lines name."""
        (low, high), rate = rate_band(self.book), rate_rule(self.book).unit or ""
        last = self.levels[-1][0]
        stands = tuple({**self.bench.positions, "pip": last}.items())
        brings = inflated(stands, self.bench.lung, self.asked.facts["rate"]) / self.bench.weight
        return {
            "now": plain(round(self.shows(last), 1), "cmH2O"),
            "taken": plain(round(brings, 1), "mL/kg"),
            "step": step(self.book).text,
            "band": _("{low} to {high}").format(low=number(low), high=plain(high, rate)),
            "pace": plain(round(self.pace), rate),
            "longest": longest(self.book).text,
            "inflations": f"{self.enough}",
            "ceiling": plain(self.asked.facts["ceiling"], "cmH2O"),
            "moved": plain(round(self.shows(self.moves), 1), "cmH2O"),
        }

    @property
    def pace(self) -> float:
        """Return the inflations a minute; zero with fewer than two."""
        return 60 / mean(self.gaps) if self.gaps else 0.0

    @cached_property
    def gaps(self) -> list[float]:
        """Return the time (s) from each inflation of the count to the next."""
        return [b[0] - a[0] for a, b in pairwise(self.held) if a in self.ordinary]

    @property
    def steps(self) -> list[float]:
        """Return how far each step raised PIP (cmH2O)."""
        made = [self.shows(b[0]) - self.shows(a[0]) for a, b in pairwise(self.levels)]
        return [size for size in made if size > 0]


def on_raise(value: Any, asked: Question, book: RuleBook, says: Says) -> Feedback:
    """Return feedback on a run: the needle and the chest at its end, then part by part."""
    try:
        run = Raised(asked, read_hands(value), book)
    except HandsError as error:
        return {"heading": str(error), "lines": []}
    rises = run.levels[-1][0] >= run.moves
    heading = says["rises" if rises else "still"].format_map(run.words)
    lines = [_line(run, part, says) for part in PARTS]
    moments = [{"at": each["at"], "says": each["says"]} for each in lines if "at" in each]
    beside = compared(run.bench, run.hands, raising(asked, book), moments)
    return {"heading": heading, "lines": lines, "compare": beside}


def _line(run: Raised, part: str, says: Says) -> Line:
    found, rule = PARTS[part](run)
    said = line(found == "right", says[part][found].format_map(run.words), rule)
    moment = _moment(run, found)
    return said if moment is None else {**said, "at": round(moment, 2)}


Found = tuple[str, Rule]


def _hold(run: Raised) -> Found:
    rule = run.book["pip.raise-in-care"]
    long = [each for each in run.held if each[1] - each[0] > run.long]
    if not run.held:
        return "none", rule
    long = [] if run.are_first(long) else long
    return ("turned" if any(each[2] for each in long) else "long" if long else "right"), rule


def _count(run: Raised) -> Found:
    (low, high), rule = rate_band(run.book), rate_rule(run.book)
    if len(run.ordinary) < run.enough:
        return "none", rule
    allowed = max(run.book["raise.gap"].value, TWICE * 60 / low)
    if any(gap > allowed for gap in run.gaps):
        return "stopped", rule
    return ("right" if low <= run.pace <= high else "slow" if run.pace < low else "fast"), rule


def _length(run: Raised) -> Found:
    least, most = run.book["inflation-time.least"], longest(run.book)
    times = [end - begun for begun, end, _ in run.ordinary]
    share = run.book["raise.share"].value / 100
    fits = [least.value <= time <= most.band[1] for time in times]
    if times and sum(fits) >= share * len(times):
        return "right", most
    return ("short", least) if times and mean(times) < least.value else ("long", most)


def _steps(run: Raised) -> Found:
    rule, accept = step(run.book), run.book["pip.accept"].value
    most, sizes = rule.band[1], run.steps
    if not sizes:
        return "never", rule
    if max(sizes) > most + accept:
        return "jumped", rule
    return "right", rule  # a cautious smaller step is no error


def _limit(run: Raised) -> Found:
    rule, turned = run.book["relief.ceiling"], [s.at("pip") for s in run.stretches]
    highest = max(run.shows(at) for at in turned)
    if (
        max(map(run.reaches, run.stretches))
        > run.asked.facts["ceiling"] + run.book["pip.accept"].value
    ):
        return "passed", rule
    against = highest > run.shows(DIALS["pip"].clicks) - AT_LIMIT
    return ("against" if against else "right"), rule


def _rest(run: Raised) -> Found:
    touched = [s.touched for s in run.stretches if s.touched in OTHERS]
    off = {"cap", "open"} & {*touched}
    return ("right" if not touched else "off" if off else "other"), run.book["flow.first"]


def _stop(run: Raised) -> Found:
    rule, (last, _, given) = run.book["volume.window"], run.levels[-1]
    if last < run.moves:
        return "short", rule
    before = [each for each in run.levels[:-1] if each[2] and each[0] >= run.moves]
    if any(run.shows(last) - run.shows(at) > run.book["pip.accept"].value for at, _, _ in before):
        return "went-on", rule
    return ("right" if given >= run.enough else "unseen"), rule


def _moment(run: Raised, found: str) -> float | None:
    """Return when (s) what was found is first to be seen; None for what no moment shows."""
    where = _MOMENTS.get(found)
    return None if where is None else next(iter(where(run)), None)


def _gaps(run: Raised) -> list[float]:
    """Return when each stop of the count began."""
    allowed = max(run.book["raise.gap"].value, TWICE * 60 / rate_band(run.book)[0])
    pairs = pairwise(run.held)
    return [a[1] for a, b in pairs if a in run.ordinary and b[0] - a[0] > allowed]


def _lengths(run: Raised, *, long: bool) -> list[float]:
    least, most = run.book["inflation-time.least"].value, longest(run.book).band[1]
    times = [(begun, end - begun) for begun, end, _ in run.ordinary]
    return [begun for begun, time in times if (time > most if long else time < least)]


def _jumps(run: Raised) -> list[float]:
    most = step(run.book).band[1] + run.book["pip.accept"].value
    pairs = pairwise(run.levels)
    return [b[1] for a, b in pairs if run.shows(b[0]) - run.shows(a[0]) > most]


def _over(run: Raised) -> list[float]:
    highest = run.asked.facts["ceiling"] + run.book["pip.accept"].value
    return [s.start for s in run.stretches if run.reaches(s) > highest]


def _against(run: Raised) -> list[float]:
    top = run.shows(DIALS["pip"].clicks) - AT_LIMIT
    return [s.start for s in run.stretches if run.shows(s.at("pip")) > top]


def _long(run: Raised) -> list[float]:
    held = [begun for begun, end, _ in run.held if end - begun > run.long]
    return held or _lengths(run, long=True)


_MOMENTS: Mapping[str, Callable[[Raised], list[float]]] = {
    "turned": _long,
    "long": _long,
    "stopped": _gaps,
    "short": lambda run: _lengths(run, long=False) or [run.levels[-1][1]],
    "jumped": _jumps,
    "passed": _over,
    "against": _against,
    "other": lambda run: [s.start for s in run.stretches if s.touched in OTHERS],
    "off": lambda run: [s.start for s in run.stretches if s.touched in ("cap", "open")],
    "went-on": lambda run: [run.levels[-1][1]],
    "unseen": lambda run: [run.levels[-1][1]],
}

PARTS: Mapping[str, Callable[[Raised], Found]] = {
    "hold": _hold,
    "count": _count,
    "length": _length,
    "steps": _steps,
    "limit": _limit,
    "rest": _rest,
    "stop": _stop,
}
