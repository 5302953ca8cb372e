"""A lesson with rhythms: given by hand, read from a strip, heard."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from workbook import rate_practice
from workbook.answers import AnswersFile
from workbook.cases import Question, rhythms
from workbook.cases.rate_counting import SPARE, STEP, STRIPS, questions, rate_with_ends
from workbook.cases.rate_counting import texts as drawn_texts
from workbook.lesson import Fill, Lesson, question_of
from workbook.rate_practice import Feedback, Wanted, count_words
from workbook.rate_shown import (
    Told,
    cpr_words,
    heard_words,
    newest,
    show,
    strip_picture,
    strip_words,
    told_table,
)
from workbook.rules import Rule, RuleBook
from workbook.units import plain

LISTEN = 10.0  # s of a rhythm to be heard
MANY = 100  # inflations, more than fit; those within the time are kept
KINDS = ("slow", "fast", "long", "good")  # of rhythms


class RhythmLesson(Lesson):
    """A lesson whose numbers follow the edition's own rate; nothing drawn is a graded one."""

    def __init__(self, data: Mapping[str, Any], book: RuleBook, file: AnswersFile) -> None:
        super().__init__(data, book, file)
        rates = rhythms.rates(book)
        self.count = rhythms.count_at(rates[len(rates) // 2], book)
        self.scenes = Told(data["numbers"], book, self._said())

    def _said(self) -> dict[str, str]:
        """Return what the lesson's words name: the count, the editions, the compressions."""
        own, other = rhythms.rate_rule(self.book), self._furthest()
        made = rhythms.with_compressions(self.book)[0]
        near = {"rate": "strip.rate.accept", "time": "strip.time.accept"}
        return {
            **count_words(self.count),
            "own": own.text,
            "other": other.text,
            "first_time": newest("inflations.first-time").text,
            **{f"near_{name}": self.book[id].text for name, id in near.items()},
            **cpr_words(made, self.count),
        }

    def _furthest(self) -> Rule:
        """Return the rate of another edition that lies furthest from the course's own."""

        def middle(rule: Rule) -> float:
            return sum(rule.band) / 2

        own = middle(rhythms.rate_rule(self.book))
        return max(rhythms.other_rates(self.book), key=lambda rule: abs(middle(rule) - own))

    def _with(self, words: Mapping[str, str]) -> Fill:
        return lambda text: self.scenes.fill(text, (), words)

    def _says(self, says: Mapping[str, str]) -> dict[str, str]:
        return {"heading": self.data["words"]["heading"], **says}

    # --- by hand

    def tap(self, id: str) -> None:
        """Give inflations to be counted by hand; its check tells what the hand did."""
        table, drawn = self._table("tap", id), self._asked_meanwhile(id)
        duration = self._duration()
        shows = {
            "duration": duration, "metronome": table["metronome"], "rate": self.count.rate,
            "occlude_beats": self.count.occlude_beats, "release_beats": self.count.release_beats,
            "distraction": self._distraction(drawn, duration) if drawn else {},
        }  # fmt: skip
        words = {"duration": plain(duration, "s")}
        question = question_of({**table, "kind": "taps", "shown": shows}, self._with(words))
        right = drawn.get("right", "")
        said = self.scenes.fill(drawn["options"][right]) if drawn else ""

        def check(value: Any) -> Feedback:
            return rate_practice.on_taps(value, self.book, self.data["hand"], right, said)

        made = self._ask(question, check)
        if made.value is not None:  # a page opened again shows what was shown
            made.feedback = check(made.value)
            made.picture = made.feedback.get("picture", {})

    def _duration(self) -> float:
        """Return the shortest time (s) from which a rate can be told, with beats to spare."""
        wanted = self.book["tap.intervals"].value + SPARE
        needed = 1 + wanted * 60 / self.count.rate
        low, high = self.book["tap.duration"].band
        return float(min(high, max(low, STEP * math.ceil(needed / STEP))))

    def _asked_meanwhile(self, id: str) -> Mapping[str, Any]:
        if not self._table("tap", id).get("asked"):
            return {}
        drawn: Mapping[str, Any] = self._draw(id).pick(self.data["distraction"])
        return drawn

    def _distraction(self, drawn: Mapping[str, Any], duration: float) -> dict[str, Any]:
        options = [{"id": id, "text": self.scenes.fill(t)} for id, t in drawn["options"].items()]
        return {"asks": drawn["asks"], "options": options, "at": round(duration / 3, 1)}

    # --- strips and rhythms

    def strips(self, part: str) -> tuple[Question, ...]:
        """Return the questions on one practice strip, drawn apart from the graded ones."""
        every = questions(f"{self.file.course}, practice {part}", self.file.learner, self.book)
        return tuple(each for each in every if each.id in STRIPS)

    def worked_strip(self) -> None:
        """Show a strip and every step of reading it, the misleading way first."""
        asked, table = self.strips("worked")[0], self.data["strip"]
        words, strip = strip_words(asked.facts), asked.shows["strip"]
        rows = [[row["purpose"], row["does"].format_map(words), row["gives"].format_map(words)]
                for row in table["step"]]  # fmt: skip
        show(strip_picture(table, strip, words, asked.facts))
        show(told_table(table["title"], self.data["steps"]["columns"], rows))

    def read_strip(self, id: str) -> None:
        """Give a strip to read one thing from; each has a strip of its own."""
        table = self._table("read", id)
        (asked,) = [each for each in self.strips(id) if each.id == table["asks"]]
        words, help = strip_words(asked.facts), self.scenes.fill(table.get("help", ""))
        says = self._says(table["says"])
        wanted = self._read_off(asked)

        def check(value: Any) -> Feedback:
            if wanted is None:
                return rate_practice.on_choice(value, words["ratio"], says, words)
            return rate_practice.on_number(value, wanted, says, words)

        self._ask(replace(asked, id=id, help=help), check)

    def _read_off(self, asked: Question) -> Wanted | None:
        """Return the number to be read off a strip; None where a ratio is chosen."""
        facts, near = asked.facts, self.book["strip.rate.accept"]
        if asked.id == "strip-rate":
            slips = {"ends": rate_with_ends(facts)}
            return Wanted(rhythms.PER_MINUTE, facts["rate"], near, slips)
        if asked.id == "strip-inflation":
            cycle = facts["inflation"] + facts["release"]
            slips = {"release": facts["release"], "cycle": cycle}
            return Wanted("s", facts["inflation"], self.book["strip.time.accept"], slips)
        return None

    def hear(self, n: int) -> None:
        """Give one of four rhythms to judge, in an order of the learner's own."""
        kind = self._draw("practice-hear").shuffled(KINDS)[n - 1]
        rate = self._draw(f"practice-hear-{n}").pick(rhythms.rates(self.book))
        made = rhythms.heard(kind, rate, self.book, MANY)
        words = heard_words(made)
        heard = [pair for pair in made if pair[1] <= LISTEN]
        table, options = self.data["hear"], drawn_texts()["hear"]
        asked = {
            **table, "id": f"hear-{n}", "kind": "choice", "options": options,
            "shown": {"figure": {"kind": "rhythm", "inflations": heard, "seconds": LISTEN}},
        }  # fmt: skip
        why = table["says"][kind]
        says = self._says({"right": why, "other": f"{why} {table['again']}"})
        own = rhythms.rate_rule(self.book)
        words |= {"own": own.text}
        rule = self.book["count.ratio"] if kind == "long" else own

        def check(value: Any) -> Feedback:
            return rate_practice.on_choice(value, kind, says, words, rule)

        self._ask(question_of(asked, self.scenes.fill), check)
