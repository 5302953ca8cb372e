"""A control for after a case: first the learner says what to do otherwise, then findings show.

Its answer is kept and never marked (`workbook.scenario.debrief`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import traitlets

from workbook.core.language import N_, _, fixed
from workbook.display.debriefed import compared, own
from workbook.rules import RuleBook
from workbook.scenario import Replay
from workbook.scenario.debrief import LONGEST, DebriefError, choices, read_debrief
from workbook.scenario.moments import Moment
from workbook.widgets.control import Control, style
from workbook.widgets.modules import joined

# Every fixed word of it beside the picture's, so that its page can be in another language.
WORDS = {
    "untouched": N_("Not said yet: three things, then you see what was found."),
    "check": N_("Show what was found"),
    "debriefWell": N_("What went well? One line."),
    "debriefSecond": N_("From which second would you act otherwise? Choose it in the picture."),
    "debriefNoSecond": N_("none chosen yet"),
    "debriefAct": N_("What would you do there?"),
    "debriefChoose": N_("Choose an act"),
    "debriefSaidWell": N_("You said it went well: “{well}”."),
    "debriefSaid": N_("You would act otherwise: {act}. {time}"),
    "debriefAgain": N_("The same baby again from {time}"),
    "wrongDebrief": N_("Not saved: {why}"),
}
UNSAID = ("strip", "gauge", "needle", "rhythm", "interval", "tap", "metronome", "alarm", "ghost",
          "sentence", "bench", "occluded", "released", "inflation")  # fmt: skip


class Debrief(Control):
    """A case to talk over: the own course first, then beside an expert's with its moments.

    ``made`` is the case as it was replayed. ``found`` returns the moments of whoever looked; by
    itself those that the two courses show. ``again`` hears from which second (s) to begin again.
    ``lines`` is what is said of the whole case beside them. One that ``arrives`` takes the place of
    what had the focus, and takes the focus too.
    """

    _esm = joined("debrief.js")
    _css = style("course_picture.css", "debrief.css")
    _unsaid: tuple[str, ...] = UNSAID

    course = traitlets.Dict().tag(sync=True)
    acts = traitlets.List().tag(sync=True)
    longest = traitlets.Int(LONGEST).tag(sync=True)
    can_again = traitlets.Bool(False).tag(sync=True)
    arrives = traitlets.Bool(False).tag(sync=True)

    def __init__(
        self,
        question: str,
        label: str,
        *,
        made: Replay,
        book: RuleBook,
        found: Callable[[], tuple[Moment, ...]] | None = None,
        again: Callable[[float], None] | None = None,
        lines: Callable[[], Sequence[Mapping[str, Any]]] | None = None,
        **more: Any,
    ) -> None:
        self._made, self._book, self._found, self._again = made, book, found, again
        self._lines = lines or list
        course = own(made, book)
        super().__init__(
            question, label, course=course, acts=choices(), can_again=again is not None,
            words={**course["words"], **fixed(WORDS)}, check=self._told, **more,
        )  # fmt: skip

    def problem(self, value: Any) -> str:
        """Say why what was said cannot be read, or nothing."""
        try:
            read_debrief(value, self._made.played.duration)
        except DebriefError as error:
            return str(self.words["wrongDebrief"]).format(why=error)
        return ""

    def _told(self, value: Any) -> Mapping[str, Any]:
        """Return what was found, once the learner has said all three things."""
        said = read_debrief(value, self._made.played.duration)
        if not said.whole:
            return {"heading": _("First say what went well, and from which second you would do "
                                 "what. Then look."), "lines": []}  # fmt: skip
        found = None if self._found is None else self._found()
        shown = compared(self._made, self._book, found)
        heading, lines = self._heading(len(shown["moments"])), [dict(one) for one in self._lines()]
        return {"heading": heading, "lines": lines, "compare": shown}

    def _heading(self, count: int) -> str:
        if not count:
            return _("Your course and an expert's went much the same way.")
        return _("Look at these moments. Each has its number in the picture.")

    def _hear(self, widget: Any, content: Any, buffers: Any) -> None:
        told = content if isinstance(content, dict) else {}
        if told.get("kind") != "again":
            super()._hear(widget, content, buffers)
        elif self._again is not None and self._is_second(told.get("at")):
            self._again(float(told["at"]))

    def _is_second(self, at: Any) -> bool:
        """Say whether a page may begin again there: findings are shown, and it is of the case."""
        known = type(at) in (int, float) and 0 <= at <= self._made.played.duration
        return known and bool(self.feedback.get("compare"))
