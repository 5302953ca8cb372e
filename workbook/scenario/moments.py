"""Moments of a case to look at again: where it went another way than by the edition's steps.

They compare two courses of the same baby and give no marks; times in s after birth.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from workbook.core.language import N_, _
from workbook.rules import RuleBook
from workbook.scenario.looks import looks
from workbook.scenario.replay import Replay, timed

MINUTE = 60


@dataclass(frozen=True, slots=True)
class Moment:
    """A second to look at, and a sentence on what was another way there."""

    at: float
    says: str


def clock(time: float) -> str:
    """Return a time after birth as a clock shows it: 1:05."""
    whole = int(time)
    return f"{whole // MINUTE}:{whole % MINUTE:02d}"


def moments(own: Replay, expert: Replay, book: RuleBook) -> tuple[Moment, ...]:
    """Return the moments of a case beside an expert's of the same baby, in the order of time."""
    found = [*_chest(own, expert, book), *_still(own, expert, book), *_firsts(own, expert, book),
             *_oxygen(own, expert, book)]  # fmt: skip
    return tuple(sorted(found, key=lambda each: each.at))


def _chest(own: Replay, expert: Replay, book: RuleBook) -> Iterator[Moment]:
    """Yield the first moving chest, where it came later than it could have."""
    mine, theirs = (timed(each, book).get("effective") for each in (own, expert))
    if theirs is None:
        if own.inflations:
            says = _("This baby was inflated. An expert only held PEEP by the mask.")
            yield Moment(own.inflations[0].start, says)
    elif mine is None:
        says = _("In an expert's hands the chest moved from {theirs} on. In yours it never did.")
        yield Moment(min(theirs, own.played.duration), says.format(theirs=clock(theirs)))
    elif mine > theirs + book["scenario.late"].band[1]:
        says = _("The chest moved for the first time at {mine}; in an expert's hands at {theirs}.")
        yield Moment(mine, says.format(mine=clock(mine), theirs=clock(theirs)))


def _still(own: Replay, expert: Replay, book: RuleBook) -> Iterator[Moment]:
    """Yield the longest time in which inflations moved no chest, longer than an expert's."""
    (start, mine), (_at, theirs) = longest_still(own), longest_still(expert)
    if mine > theirs + book["scenario.late"].band[1]:
        says = _("From here no chest moved well for {mine} s; in an expert's hands for {theirs} s.")
        yield Moment(start, says.format(mine=round(mine), theirs=round(theirs)))


def longest_still(made: Replay) -> tuple[float, float]:
    """Return when the longest time of inflations without a moving chest began, and its length."""
    found, since = [(0.0, 0.0)], None
    for one in made.inflations:
        if one.chest == "moves":
            since = None
        else:
            since = one.start if since is None else since
            found.append((since, one.end - since))
    return max(found, key=lambda each: each[1])


# What an expert did, and what the learner did then.
DONE: Mapping[str, str] = {
    "bag": N_("An expert took the bag at {theirs}."),
    "compress": N_("An expert had compressions begun at {theirs}."),
    "confirm": N_("An expert confirmed the new airway at {theirs}."),
    "cpap": N_("From {theirs} on an expert held PEEP by the mask, and gave no inflations."),
    "oximeter": N_("An expert had the oximeter put on at {theirs}."),
}
LATER: Mapping[str, str] = {
    "bag": N_("You took it at {mine}."),
    "compress": N_("Yours began at {mine}."),
    "confirm": N_("You confirmed it at {mine}."),
    "cpap": N_("You did so at {mine}."),
    "oximeter": N_("Yours came at {mine}."),
}
NOT_DONE = N_("You did not.")
NEEDLESS: Mapping[str, str] = {
    "bag": N_("Here you took the bag. An expert stayed with the T-piece."),
    "compress": N_("Here compressions began. An expert needed none: a moving chest was enough."),
}


def _firsts(own: Replay, expert: Replay, book: RuleBook) -> Iterator[Moment]:
    """Yield acts of an expert that came much later or not at all, and acts an expert left out."""
    mine, theirs = timed(own, book), timed(expert, book)
    late = book["scenario.late"].band[1]
    for act in DONE:
        did, due = mine.get(act), theirs.get(act)
        if due is not None and due <= own.played.duration and (did is None or did > due + late):
            then = _(NOT_DONE) if did is None else _(LATER[act]).format(mine=clock(did))
            yield Moment(due, f"{_(DONE[act]).format(theirs=clock(due))} {then}")
        elif due is None and did is not None and act in NEEDLESS:
            yield Moment(did, _(NEEDLESS[act]))


def _oxygen(own: Replay, expert: Replay, book: RuleBook) -> Iterator[Moment]:
    """Yield the longest time in which saturation was shown outside its band, longer than theirs."""
    says = {
        True: _(
            "From here saturation was above its band for {mine} s, an expert's for {theirs} s."
        ),
        False: _(
            "From here saturation was below its band for {mine} s, an expert's for {theirs} s."
        ),
    }
    for above, text in says.items():
        (start, mine), (_at, theirs) = (
            longest_outside(each, above, book) for each in (own, expert)
        )
        if mine > theirs + book["scenario.turn"].band[1]:
            yield Moment(start, text.format(mine=round(mine), theirs=round(theirs)))


def longest_outside(made: Replay, above: bool, book: RuleBook) -> tuple[float, float]:
    """Return when saturation was shown outside its band the longest, and for how long (s)."""
    found, since = [(0.0, 0.0)], None
    for time, shown in looks(made, book).saturations.items():
        band = made.demands.target(time)
        out = band is not None and (shown > band[1] if above else shown < band[0])
        since = None if not out else float(time) if since is None else since
        if since is not None:
            found.append((since, time - since))
    return max(found, key=lambda each: each[1])
