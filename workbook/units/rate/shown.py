"""What the counting lesson shows and says: tables, a strip, and the words of each in numbers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from statistics import median
from typing import Any

from workbook.cases import pace
from workbook.core.language import _, number
from workbook.core.quantities import plain
from workbook.display import cards
from workbook.display.curves import Line, Panel, curves_picture
from workbook.display.plots import Picture
from workbook.display.scene import Scenes
from workbook.display.studies import GAUGE, SECONDS
from workbook.rules import Rule, RuleBook, editions, rulebook
from workbook.rules.timing import Compressions, Count
from workbook.units.rate.case import rhythms
from workbook.units.rate.case.questions import holds
from workbook.units.rate.practice import seconds

UNKNOWN = "?"  # in a table, what the learner works out


class Told(Scenes):
    """A lesson's numbers, and what it says of them besides."""

    def __init__(self, table: Mapping[str, Any], book: RuleBook, said: Mapping[str, str]) -> None:
        super().__init__(table, {}, book)
        self.said = said

    def fill(
        self,
        text: str,
        played: Sequence[cards.Reading] = (),
        more: Mapping[str, str] | None = None,
    ) -> str:
        """Return a text with its numbers, and what is said besides, filled in."""
        return super().fill(text, played, {**self.said, **(more or {})})


def newest(id: str, band: tuple[float, float] | None = None) -> Rule:
    """Return what the latest edition says that states this rule, perhaps with these ends."""
    books = [book for book in map(rulebook, editions()) if id in book]
    rules = [rule for book in books for rule in book.all(id) if rule.stated]
    wanted = [rule for rule in rules if band is None or rule.band == band]
    return max(wanted, key=lambda rule: rule.citation.source.year or 0)


def strip_picture(words: Mapping[str, str], strip: Mapping[str, Any]) -> cards.Shown:
    """Return a strip as a picture to count hills on."""
    panel = Panel(_(GAUGE), [Line(_("gauge"), strip["time"], strip["pressure"])], top=strip["high"])
    title = _("A strip of {length}").format_map(words)
    made = curves_picture(title, _(SECONDS), [panel])
    if made.figure is not None:
        made.figure.axes[0].lines[0].set_marker("")  # a dot on a hill would only be counted too
    told = _("{title}: {many} hills.").format(title=title, many=words["many"])
    return cards.Shown(Picture(made.figure, told)._repr_mimebundle_()["text/html"], told)


def strip_words(facts: Mapping[str, Any]) -> dict[str, str]:
    """Return what can be counted on a strip, and the rate that it makes."""
    times = 60 / facts["duration"]
    return {
        "many": number(facts["inflations"]),
        "length": plain(facts["duration"], "s"),
        "times": number(times),
        "counted": plain(round(facts["inflations"] * times), pace.PER_MINUTE),
    }


def heard_words(pairs: Sequence[Sequence[float]]) -> dict[str, str]:
    """Return the pace and times of a rhythm, and how many inflations it leaves out."""
    gap = median(two[0] - one[0] for one, two in pairwise(pairs))
    held = pairs[0][1] - pairs[0][0]
    return {
        "pace": plain(round(60 / gap), pace.PER_MINUTE),
        "held": seconds(held, digits=1),
        "let_go": seconds(gap - held, digits=1),
        "missing": number(rhythms.missing(pairs)),
    }


def left_words(rate: float, book: RuleBook) -> dict[str, str]:
    """Return what the model leaves in a lung above PEEP, by lung and by how long is held."""
    shares = dict(zip(("short", "long"), holds(book), strict=True))
    return {
        f"left_{hold}_{lung}": cards.shown(rhythms.Hand(lung, rate, share).left(book))
        for hold, share in shares.items()
        for lung in rhythms.LUNGS
    }


def cpr_words(made: Compressions, usual: Count) -> dict[str, str]:
    """Return the figures of compressions with inflations, and of the usual count beside them."""
    beats = usual.occlude_beats + usual.release_beats
    return {
        "events": number(made.events),
        "compressions": number(made.compressions),
        "inflations": number(made.inflations),
        "half": number(made.events / 2),
        "beats_share": number(made.events * usual.release_beats / beats),
        "count_beats": plain(usual.rate * beats, pace.PER_MINUTE),
    }
