"""Time of the count and of compressions: one beat, one inflation, the rate they make."""

from __future__ import annotations

from dataclasses import dataclass

from workbook.core.language import _, number
from workbook.core.quantities import convert, plain
from workbook.rules.book import RuleBook
from workbook.rules.checkinput import Given, read
from workbook.rules.files import rulebook
from workbook.rules.rule import RuleError


@dataclass(frozen=True, slots=True)
class Count:
    """A steady count: occlude on some beats, release on the others. Times in seconds."""

    rate: float
    occlude_beats: float
    release_beats: float

    @property
    def beat(self) -> float:
        """Return the time of one beat: a minute, shared by the beats of all inflations."""
        return convert(1, "min", "s") / (self.rate * (self.occlude_beats + self.release_beats))

    @property
    def inflation(self) -> float:
        """Return the inflation time: the beats on which the aperture is occluded."""
        return self.beat * self.occlude_beats

    @property
    def release(self) -> float:
        """Return the time between inflations."""
        return self.beat * self.release_beats

    @property
    def text(self) -> str:
        """Return rate, beat and inflation time in a sentence."""
        ratio = f"{self.occlude_beats:g}:{self.release_beats:g}"
        return (
            f"At {plain(self.rate, '1/min')} one beat is {self.beat:.3f} s, an inflation "
            f"{self.inflation:.3f} s, and inflation to release {ratio}."
        )


def count(rate: Given, book: RuleBook | None = None) -> Count:
    """Return the count that gives this rate, in the beats of common practice."""
    book = book or rulebook()
    beats = book["count.occlude-beats"].value, book["count.release-beats"].value
    return Count(read("rate", rate), *beats)


def count_of_beat(beat: Given, book: RuleBook | None = None) -> Count:
    """Return the count whose one beat lasts this long."""
    book = book or rulebook()
    rate = convert(1, "min", "s") / (read("time", beat) * book["count.beats"].value)
    return count(f"{rate!r} 1/min", book)


@dataclass(frozen=True, slots=True)
class Compressions:
    """Compressions with inflations between them, every event of the same length."""

    compressions: float
    inflations: float

    @property
    def events(self) -> float:
        """Return compressions and inflations together, a minute."""
        return self.compressions + self.inflations

    @property
    def slot(self) -> float:
        """Return the time of one event in seconds."""
        return convert(1, "min", "s") / self.events

    @property
    def cycle(self) -> float:
        """Return the time from one inflation to the next in seconds."""
        return convert(1, "min", "s") / self.inflations

    @property
    def text(self) -> str:
        """Return the figures in a sentence."""
        return _(
            "{compressions} compressions and {inflations} inflations a minute: "
            "{events} events of {slot} s, one cycle in {cycle} s."
        ).format(
            compressions=number(self.compressions), inflations=number(self.inflations),
            events=number(self.events), slot=number(self.slot, ".3g"),
            cycle=number(self.cycle, ".3g"),
        )  # fmt: skip


def compressions(book: RuleBook | None = None) -> Compressions:
    """Return the timing at three compressions to one inflation.

    An edition that states no figures raises RuleError; without a book the published study is used.
    """
    if book is None:
        book, ids = rulebook("practice"), "fact.compressions.events"
    else:
        ids = "compressions.events"
    made = Compressions(book[f"{ids}-compressions"].value, book[f"{ids}-breaths"].value)
    if made.events != book[ids].value:
        raise RuleError(f"{ids} ({book.edition.id}) is not the sum of its parts.")
    return made
