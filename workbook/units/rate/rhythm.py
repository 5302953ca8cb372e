"""A lesson with rhythms: given by hand, counted on a strip, heard."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from workbook.cases import Kind, pace
from workbook.core.answers import AnswersFile
from workbook.core.quantities import plain
from workbook.display import cards
from workbook.lesson.answered import Counted, Feedback, on_choice, on_number
from workbook.lesson.page import Lesson, question_of
from workbook.lesson.shown import show, told_table
from workbook.rules import Rule, RuleBook
from workbook.units.rate import practice as rate_practice
from workbook.units.rate.case import rhythms
from workbook.units.rate.case.questions import STEP, durations, played
from workbook.units.rate.case.questions import texts as drawn_texts
from workbook.units.rate.practice import Asked, count_words
from workbook.units.rate.shown import (
    UNKNOWN,
    Told,
    cpr_words,
    heard_words,
    left_words,
    newest,
    strip_picture,
    strip_words,
)

PARTS = ("last", "two", "all")  # of the faded practice
KINDS = ("slow", "inside", "fast")  # of strips, by the rate that is asked for
HEAR = 3  # rhythms of the kinds there are


class RhythmLesson(Lesson):
    """A lesson whose numbers follow the edition's own rate; nothing drawn is a graded one."""

    def __init__(self, data: Mapping[str, Any], book: RuleBook, file: AnswersFile) -> None:
        super().__init__(data, book, file)
        rates = pace.rates(book)
        self.count = rhythms.count_at(rates[len(rates) // 2], book)
        self.scenes = Told(data["numbers"], book, self._said())

    def _said(self) -> dict[str, str]:
        """Return what the lesson's words name: the count, the editions, the compressions."""
        own, other = pace.rate_rule(self.book), self._furthest()
        made, begins = rhythms.with_compressions(self.book)[0], rhythms.firsts(self.book)
        first = {
            "first_count": self.book["inflations.first"].text,
            "first_hold": self.book["inflations.first-time"].text,
        } if begins else {}  # fmt: skip
        return {
            **count_words(self.count),
            "own": own.text,
            "other": other.text,
            "first_time": newest("inflations.first-time").text,
            **first,
            **cpr_words(made, self.count),
            **left_words(self.count.rate, self.book),
        }

    def _furthest(self) -> Rule:
        """Return the rate of another edition that lies furthest from the course's own."""

        def middle(rule: Rule) -> float:
            return sum(rule.band) / 2

        own = middle(pace.rate_rule(self.book))
        return max(rhythms.other_rates(self.book), key=lambda rule: abs(middle(rule) - own))

    def _with(self, words: Mapping[str, str]) -> Callable[[str], str]:
        return lambda text: self.scenes.fill(text, (), words)

    # --- by hand

    def tap(self, id: str) -> None:
        """Give inflations to be counted by hand; its check tells what the hand did."""
        table, drawn = self._table("tap", id), self._asked_meanwhile(id)
        begins = rhythms.firsts(self.book) if table.get("begins") else None
        duration = float(durations(self.count.rate, self.book, begins)[0])
        shows = {
            "duration": duration, "metronome": table["metronome"], "rate": self.count.rate,
            "occlude_beats": self.count.occlude_beats, "release_beats": self.count.release_beats,
            "distraction": self._distraction(id, drawn, duration) if drawn else {},
        }  # fmt: skip
        words = {"duration": plain(duration, "s")}
        question = question_of({**table, "kind": "taps", "shown": shows}, self._with(words))
        right = drawn.get("right", "")
        said = self.scenes.fill(drawn["options"][right]) if drawn else ""
        asked = Asked(self.book, self.data["hand"], right, said, begins)

        def check(value: Any) -> Feedback:
            return rate_practice.on_taps(value, asked)

        made = self._ask(question, check)
        if made.value is not None:  # a page opened again shows what was shown
            made.feedback = check(made.value)
            made.picture = made.feedback.get("picture", {})

    def _asked_meanwhile(self, id: str) -> Mapping[str, Any]:
        if not self._table("tap", id).get("asked"):
            return {}
        drawn: Mapping[str, Any] = self._draw(id).pick(self.data["distraction"])
        return drawn

    def _distraction(self, id: str, drawn: Mapping[str, Any], duration: float) -> dict[str, Any]:
        mixed = self._draw(f"{id} options").shuffled(drawn["options"].items())
        options = [{"id": each, "text": self.scenes.fill(text)} for each, text in mixed]
        return {"asks": drawn["asks"], "options": options, "at": round(duration / 3, 1)}

    # --- strips, with less and less help

    def strip_of(self, part: str) -> dict[str, Any]:
        """Return the times and pressures of the strip of one part; no part shares a strip."""
        draw, (low, high) = self._draw(f"strip {part}"), self.book["strip.seconds"].band
        seconds = draw.pick(range(STEP * math.ceil(low / STEP), int(high) + 1, STEP))
        kind, off = draw.pick(KINDS), self.book["rhythm.off"].value
        ends = pace.rate_band(self.book)
        rates = {"slow": ends[0] / off, "fast": ends[1] * off, "inside": self.count.rate}
        parts = (self.count.occlude_beats, self.count.release_beats)
        pip, peep = (draw.whole(*self.book[id].band) for id in ("pip.drawn", "peep.drawn"))
        times = rhythms.strip_facts(round(rates[kind]), parts, seconds)
        return {**times, "pip": float(pip), "peep": float(peep)}

    def worked_strip(self) -> None:
        """Show a strip and every step from it to a rate."""
        show(self._strip("worked"))
        show(self._steps("worked", len(self.data["strip"]["step"])))

    def _strip(self, part: str) -> cards.Shown:
        return strip_picture(self._strip_words(part), rhythms.strip(self.strip_of(part), self.book))

    def _strip_words(self, part: str) -> dict[str, str]:
        facts = self.strip_of(part)
        verdict = self.data["strip"]["verdict"][self._judged(facts)]
        return {**strip_words(facts), "verdict": verdict}

    def _judged(self, facts: Mapping[str, Any]) -> str:
        """Say whether what is counted on a strip is slow, inside or fast."""
        low, high = pace.rate_band(self.book)
        counted = _wanted(facts).right
        return "slow" if counted < low else "fast" if counted > high else "inside"

    def _steps(self, part: str, known: int) -> cards.Shown:
        """Return the steps as a table; after ``known`` of them the result is left open."""
        words, rows, table = self._strip_words(part), [], self.data["strip"]
        for n, step in enumerate(table["step"]):
            gives = step["gives"].format_map(words) if n < known else UNKNOWN
            does = self.scenes.fill(step["does"], (), words)
            rows.append([f"{n + 1}. {step['purpose']}", does, gives])
        return told_table(table["title"], table["columns"], rows)

    def practise(self, part: str) -> None:
        """Give one part of the faded practice, on a strip of its own, with feedback and hints."""
        table, facts = self.data["practice"][part], self.strip_of(part)
        words = self._strip_words(part)
        says = {"heading": self.data["words"]["heading"], **table["says"]}
        if table["given"]:
            show(self._steps(part, table["given"]))
        question = question_of(
            {
                "units": [pace.PER_MINUTE],
                **table,
                "shown": {"strip": rhythms.strip(facts, self.book)},
            },
            self._with(words),
        )
        own, filled = pace.rate_rule(self.book), self._filled(says)

        def check(value: Any) -> Feedback:
            if question.kind is Kind.CHOICE:
                return on_choice(value, self._judged(facts), filled, words, own)
            return on_number(value, _wanted(facts), filled, words)

        self._ask(question, check)
        show(cards.hints([self.scenes.fill(hint, (), words) for hint in table["hints"]]))

    def _filled(self, says: Mapping[str, str]) -> dict[str, str]:
        own = pace.rate_rule(self.book).text
        return {name: text.replace("{own}", own) for name, text in says.items()}

    # --- rhythms

    def hear(self, n: int) -> None:
        """Give one of some rhythms to judge, in an order of the learner's own."""
        kind = self._draw("practice-hear").some(drawn_texts()["heard"], HEAR)[n - 1]
        made = played(self._draw(f"practice-hear-{n}"), kind, self.book)
        table, options = self.data["hear"], drawn_texts()["hear"]
        asked = {
            **table, "id": f"hear-{n}", "kind": "choice", "options": options,
            "shown": {"rhythm": made},
        }  # fmt: skip
        why = table["says"][kind]
        says = {"heading": self.data["words"]["heading"], "right": why,
                "other": f"{why} {table['again']}"}  # fmt: skip
        own = pace.rate_rule(self.book)
        words = {**heard_words(made), "own": own.text}
        rule = {
            "long": self.book["count.ratio"], "uneven": self.book["tap.variation"], "stops": None,
        }  # fmt: skip

        def check(value: Any) -> Feedback:
            return on_choice(value, kind, says, words, rule.get(kind, own))

        self._ask(question_of(asked, self.scenes.fill), check)


def _wanted(facts: Mapping[str, Any]) -> Counted:
    """Return the rate to be worked out from a strip, and how near is near enough."""
    one = 60 / facts["duration"]
    counted = facts["inflations"] * one
    return Counted(pace.PER_MINUTE, counted, one, {"stretch": float(facts["inflations"])})
