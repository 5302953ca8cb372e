"""What was done in a case: an answer as data, read with suspicion.

A record that ended midway is kept and marked as far as it went; one that cannot have happened is
refused in one sentence.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from workbook.bench import DIALS
from workbook.core.language import N_, _
from workbook.core.timed import FORGIVEN, Form, Switch, as_rows
from workbook.scenario.acts import ACTS, HAND, LINES

FORMAT, VERSION = "tpiece-scenario", 1
MOST = 3000  # acts in one case
KEYS = {"format", "version", "case", "duration", "ended", "acts"}
WHOLE, MIDWAY = "whole", "midway"
SAYS_MOST = 300  # a heart rate or a percentage beyond this is a slip


class ScenarioError(ValueError):
    """A record that cannot have happened; the message is one sentence: what, and where."""


@dataclass(frozen=True, slots=True)
class Done:
    """One act at a time (s after birth); ``what`` is a click, a number or a line's id."""

    time: float
    act: str
    what: Any = None


@dataclass(frozen=True, slots=True)
class Played:
    """All that was done with one baby, in order; ``midway`` says that it broke off at the end.

    ``duration`` is how far it went (s after birth).
    """

    case: str
    duration: float
    done: tuple[Done, ...]
    midway: bool = False

    def to_data(self) -> dict[str, Any]:
        """Return the record as data for JSON, as a page sends it."""
        rows = as_rows((d.time, d.act, d.what) for d in self.done)
        head = {"format": FORMAT, "version": VERSION, "case": self.case}
        ended = MIDWAY if self.midway else WHOLE
        return {**head, "duration": round(1000 * self.duration), "ended": ended, "acts": rows}


FORM = Form(
    ScenarioError,
    FORMAT,
    VERSION,
    rows="acts",
    most=MOST,
    none=N_("this is no record of a case."),
    no_rows=N_("the record has no list of acts."),
    many=N_("the record holds {count} acts; at most {most} are read."),
    no_row=N_("act {n} is not a time and an act."),
    row=N_("act {n}"),
    word="act",
    unknown=N_("act {n} is nothing that can be done here: {act}."),
    before=N_("{what} lies before birth."),
    beyond=N_("{what} is at {given} ms; a case runs from 0 to {most} s."),
)


def read_scenario(data: object, case: str, seconds: Mapping[str, float], limit: float) -> Played:
    """Return what an answer describes; ScenarioError with one sentence when it cannot be.

    ``case`` is the case it must be of, ``seconds`` how long each act takes, ``limit`` (s) how long
    a case may last.
    """
    if isinstance(data, list):
        raise ScenarioError(_("this holds more than one case; each is handed in by itself."))
    record = FORM.opened(data)
    _of_this_case(record, case)
    rows = FORM.listed(record)
    end = FORM.milliseconds(record.get("duration"), limit, N_("the record's end"))
    done = tuple(_done(row, n, limit) for n, row in enumerate(rows, start=1))
    for problem in _impossible(done, seconds, end):
        raise ScenarioError(problem)
    return Played(case, end / 1000, done, record["ended"] == MIDWAY)


def _of_this_case(record: Mapping[str, Any], case: str) -> None:
    strange = sorted(str(key) for key in set(record) - KEYS)
    if strange:
        says = _("in the record {key} is not known.")
        raise ScenarioError(says.format(key=repr(strange[0][:20])))
    if record.get("case") != case:
        given = repr(str(record.get("case"))[:20])
        raise ScenarioError(_("the record is of another case: {given}.").format(given=given))
    if record.get("ended") not in (WHOLE, MIDWAY):
        raise ScenarioError(_("the record does not say whether the case was played to its end."))


def _done(row: object, n: int, limit: float) -> Done:
    time, act, what = FORM.entry(row, n, limit, ACTS)
    if not _fits(act, what):
        says = _("act {n} says something that cannot be said of it: {act}.")
        raise ScenarioError(says.format(n=n, act=_(ACTS[act].text)))
    return Done(time, act, what)


def _fits(act: str, what: object) -> bool:
    kind = ACTS[act].says
    if not kind:
        return what is None
    if kind == "line":
        return isinstance(what, str) and what in LINES
    if type(what) is not int:
        return False
    if kind == "click":
        return 0 <= what <= DIALS[act].clicks
    return 0 <= what <= (100 if kind == "percent" else SAYS_MOST)


def _impossible(done: tuple[Done, ...], seconds: Mapping[str, float], end: int) -> Iterator[str]:
    """Yield what cannot have happened: time that runs back, two at once, acts after the end."""
    before = Before(seconds)
    for one in done:
        yield from before.problems(one, end)


class Before:
    """What was done up to now, against which the next act is held; ``seconds`` by act."""

    def __init__(self, seconds: Mapping[str, float]) -> None:
        self.seconds, self.count = seconds, 0
        self.free, self.last = 0.0, 0.0
        self.hole, self.chest = Switch("occlude", "release"), Switch("compress", "compress-stop")

    def problems(self, one: Done, end: float) -> Iterator[str]:
        """Take in the next act; yield why it cannot have happened before ``end`` (ms), or not."""
        self.count += 1
        n = self.count
        if one.time < self.last - FORGIVEN / 1000:
            yield _("act {n} jumps back in time, before the one it follows.").format(n=n)
        self.last = max(self.last, one.time)
        if 1000 * one.time > end + FORGIVEN:
            yield _("act {n} lies after the end of the case.").format(n=n)
        if self.hole.repeated(one.act):
            yield _("act {n} covers or frees a hole that is so already.").format(n=n)
        if self.chest.repeated(one.act):
            yield _("act {n} begins or stops compressions that are so already.").format(n=n)
        if ACTS[one.act].by == HAND:
            if one.time < self.free - FORGIVEN / 1000:
                yield _("act {n} begins before the hands are free again.").format(n=n)
            self.free = one.time + self.seconds.get(one.act, 0.0)


def read_next(row: object, before: Before, limit: float) -> Done:
    """Return the next act of a case on its way; ScenarioError with one sentence when it is none.

    ``before`` takes it in; ``limit`` (s) is how long a case may last.
    """
    one = _done(row, before.count + 1, limit)
    for problem in before.problems(one, 1000 * limit):
        raise ScenarioError(problem)
    return one
