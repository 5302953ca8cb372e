"""What the counting lesson shows and says: tables, a strip, and the words of each in numbers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from workbook import cards
from workbook.cases import rhythms
from workbook.cases.rate_counting import rate_with_ends
from workbook.curves import SIZE, Line, Panel, curves_picture
from workbook.language import _, number
from workbook.plots import FAINT, INK, Picture
from workbook.rate_practice import seconds
from workbook.rules import Rule, RuleBook, editions, rulebook
from workbook.rules.timing import Compressions, Count
from workbook.scene import Scenes
from workbook.studies import GAUGE, SECONDS
from workbook.units import plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes

RIGHT_OF: Mapping[str, Any] = {"ha": "left", "xytext": (5, -4)}  # of a line, in points
LEFT_OF: Mapping[str, Any] = {"ha": "right", "xytext": (-5, -4)}
UNKNOWN = "?"  # in a table, what the learner works out


def show(thing: cards.Shown) -> None:
    """Show something below what is there."""
    from IPython.display import display

    display(thing)


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


def told_table(title: str, columns: Sequence[str], rows: Sequence[Sequence[str]]) -> cards.Shown:
    """Return rows as a table without sources; in words each row is a line."""
    html = cards.rows_table(title, columns, rows).html
    return cards.Shown(html, "\n".join([f"{title}.", *("; ".join(row) for row in rows)]))


def strip_picture(
    table: Mapping[str, Any],
    strip: Mapping[str, Any],
    words: Mapping[str, str],
    facts: Mapping[str, Any],
) -> cards.Shown:
    """Return a strip as a picture in which the first and the last start are marked."""
    panel = Panel(_(GAUGE), [Line(_("gauge"), strip["time"], strip["pressure"])], top=strip["high"])
    made = curves_picture(table["picture"], _(SECONDS), [panel])
    if made.figure is not None:
        _mark_starts(made.figure.axes[0], table, strip["high"], facts)
    told = f"{made.text}\n{table['twin'].format_map(words)}"
    made = Picture(made.figure, told)
    return cards.Shown(made._repr_mimebundle_()["text/html"], told)


def _mark_starts(
    axes: Axes, table: Mapping[str, Any], high: float, facts: Mapping[str, Any]
) -> None:
    axes.lines[0].set_marker("")  # only the starts are marked
    axes.minorticks_on()
    axes.grid(which="minor", color=FAINT, lw=0.4)
    first, last = starts(facts)
    for name, at in (("first", first), ("last", last)):
        axes.axvline(at, ls="--", color=INK, lw=1.4)
        side = RIGHT_OF if name == "first" else LEFT_OF
        axes.annotate(
            table[name], (at, high), textcoords="offset points", va="top",
            size=SIZE, color=INK, **side,
        )  # fmt: skip


def starts(facts: Mapping[str, Any]) -> tuple[float, float]:
    """Return when (s) the first and the last inflation of a strip start."""
    cycle = facts["inflation"] + facts["release"]
    first = rhythms.EDGE * cycle
    return first, first + (facts["inflations"] - 1) * cycle


def strip_words(facts: Mapping[str, Any]) -> dict[str, str]:
    """Return what can be read off a strip, and what counting its ends would give."""
    inflation, release, many = facts["inflation"], facts["release"], int(facts["inflations"])
    cycle, between = inflation + release, many - 1
    first, last = starts(facts)
    return {
        "many": str(many), "between": str(between), "length": seconds(facts["duration"], 1),
        "ends": _a_minute(rate_with_ends(facts)), "rate": _a_minute(facts["rate"]),
        "from": seconds(first), "to": seconds(last),
        "span": seconds(last - first), "fall": seconds(first + inflation),
        "cycle": seconds(cycle), "inflation": seconds(inflation), "release": seconds(release),
        "ratio": f"1:{number(release / inflation, '.2g')}",
    }  # fmt: skip


def heard_words(pairs: Sequence[Sequence[float]]) -> dict[str, str]:
    """Return the rate and times of a steady rhythm."""
    (press, release), (following, _end) = pairs[0], pairs[1]
    return {
        "pace": plain(round(60 / (following - press)), rhythms.PER_MINUTE),
        "held": seconds(release - press),
        "let_go": seconds(following - release),
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
        "slot": seconds(made.slot),
        "cpr_cycle": seconds(made.cycle),
        "count_beats": plain(usual.rate * beats, rhythms.PER_MINUTE),
    }


def _a_minute(rate: float) -> str:
    return plain(round(rate, 1), rhythms.PER_MINUTE)
