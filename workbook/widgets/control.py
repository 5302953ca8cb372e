"""What every control shares: a question, an answer that is saved and acknowledged, feedback."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from threading import RLock
from typing import Any

import anywidget
import traitlets

from workbook.core.language import fixed
from workbook.widgets.modules import styles

Save = Callable[..., Mapping[str, Any]]
Check = Callable[[Any], Mapping[str, Any]]

# Every fixed word a control shows, so that a page can be given in another language.
WORDS = {
    "lang": "en",
    "dir": "ltr",
    "decimal": ".",
    "blank": "Not answered yet.",
    "untouched": "Not answered yet: move a step to answer.",
    "saving": "Saving…",
    "saved": "Saved at {time}",
    "back": "Saved at {time}. The file with your answers had gone: it is back, with all of them.",
    "kept": "Received at {time}, for as long as this page is open",
    "stuck": "Not saved yet: the workbook's engine is busy or has stopped. Your answer is kept on "
    "this page and sent again every few seconds. If this lasts, choose “Start this page again” "
    "above, or reload the page. Then answer again.",
    "refused": "{says}",
    "again": "Try again",
    "elsewhere": "Another copy of this page saved a different answer. Yours is being saved now.",
    "elsewhereKept": "Another copy of this page saved a different answer. Yours is not saved.",
    "closed": "Not saved: the workbook has been closed for answers.",
    "wrongSequence": "Not saved: the answer does not name each step once. "
    "Reload the page and try again.",
    "wrongChoice": "Not saved: this is not one of the choices. Reload the page and choose again.",
    "wrongNumber": "Not saved: type a number, and choose one of the units.",
    "notNumber": "Not saved: type a number, for example 12 or 12,5.",
    "emptied": "Not saved: the field is empty; the last saved answer still counts.",
    "check": "Check my answer",
    "answerFirst": "Answer first, then check.",
    "met": "Right:",
    "notMet": "Look again:",
    "unit": "Unit",
    "undo": "Undo",
    "undone": "The last move is undone.",
    "up": "Move up",
    "down": "Move down",
    "upFull": "Move up: {step}",
    "downFull": "Move down: {step}",
    "placeFull": "Place of: {step}",
    "handle": "Step {place} of {count}: {step} Arrow keys move it.",
    "moved": "{step} Now {place} of {count}.",
    "twin": "The picture in words and numbers",
    "gaugeScale": "The scale runs from 0 to {top} {unit}, with a number every 10 "
    "and a small mark every {minor}.",
    "needleAt": "The needle points at {ten}.",
    "needleHalf": "The needle points half a small mark past {ten}.",
    "needleOne": "The needle points one small mark past {ten}.",
    "needleMore": "The needle points {marks} small marks past {ten}.",
    "needleMoreHalf": "The needle points {marks} and a half small marks past {ten}.",
    "needleBeyond": "The needle points at the end of the scale, or beyond it.",
    "gaugeValue": "The needle points at {value} {unit}.",
    "strip": "Pressure over {seconds} s, on a scale from {bottom} to {top} {unit}.",
    "stripTime": "Time (s)",
    "stripPressure": "Pressure ({unit})",
    "rhythm": "Rhythm of {count} inflations in {seconds} s. "
    "Each bar is one: the aperture occluded.",
    "rhythmPlay": "Play the rhythm",
    "rhythmStop": "Stop the rhythm",
    "rhythmSound": "With sound",
    "rhythmFrom": "Occluded at (s)",
    "rhythmTo": "Released at (s)",
    "inflation": "Inflation",
    "intervals": "{count} intervals, with a band from {low} to {high} {unit}.",
    "intervalsAxis": "Interval",
    "intervalLength": "Length ({unit})",
    "intervalWhere": "Where",
    "intervalIn": "inside the band",
    "intervalOver": "longer",
    "intervalUnder": "shorter",
    "occluded": "Occluded",
    "released": "Released",
    "tapsHold": "Hold to occlude, let go to release",
    "tapsHow": "It takes {seconds} s. Hold Space or Enter, a finger or the mouse button: "
    "one hold is one inflation.",
    "tapsStart": "Start",
    "tapsAgain": "Start again",
    "tapsStop": "Stop",
    "tapsReady": "Get ready: {count}",
    "tapsReadySaid": "Get ready.",
    "tapsGo": "Go: hold and release.",
    "tapsEarly": "Not counted yet: let go, and wait for the count to end.",
    "tapsCount": "Inflations: {count}",
    "tapsLeft": "{seconds} s left",
    "tapsHalf": "Half of the time is over.",
    "tapsEnd": "Time is up.",
    "tapsNone": "Time is up. Nothing was held, so there is nothing to save. Start again.",
    "tapsStopped": "Stopped. This run is not saved.",
    "tapsLost": "The page lost your hold, so that inflation has no true end. Go on.",
    "tapsOver": "Choose “Start again” for another run.",
    "tapsFull": "One answer holds {count} presses and releases. Later ones are not recorded.",
    "tapsLast": "Your last run of {seconds} s. Inflations: {count}. "
    "You may do it again; the last run counts.",
    "wrongTaps": "Not saved: this is no record of holds and releases. Start again.",
    "longTaps": "Not saved: the record is too long for one answer. Start again, with fewer holds.",
    "metronome": "Metronome",
    "metronomeSound": "Sound",
    "metronomeShape": "Shape",
    "metronomeWords": "Words",
    "metronomeInflate": "Inflate",
    "metronomeRelease": "release",
    "alarmNone": "Nothing to answer now.",
    "alarmKeys": "Keep the rhythm. Answer with the other hand: press a number key, or a button.",
    "alarmAnswered": "Answered: {text}",
    "alarmMissed": "Over: it was not answered in time.",
    "ghost": "The needle as you expect it",
    "ghostParked": "not placed yet",
    "ghostHow": "Drag the needle to where it will stand, or type.",
    "ghostTold": "Dashed: your needle. Solid: what the gauge shows.",
    # A sentence with a number in it.
    "sentenceHow": "Drag it sideways, use the arrow keys, or type.",
    "sentenceLess": "{label}: less",
    "sentenceMore": "{label}: more",
    "sentenceWatch": "Watch",
    "sentenceStop": "Stop",
    "sentenceWrong": "Type a number from {low} to {high}.",
    "sentenceLate": "The workbook's engine is busy: the numbers follow.",
    # The picture of the bench.
    "benchGauge": "Pressure gauge",
    "benchGaugeName": "Gauge",
    "benchBeyond": "beyond the scale",
    "benchSchematic": "Drawing of the circuit; gas flows from left to right: supply, flow meter, "
    "gauge, pressure limits, patient limb, aperture, patient outlet. Now: {state}.",
    "benchSupply": "Gas supply",
    "benchLimb": "Patient limb",
    "benchAir": "to air",
    "benchOutlet": "Patient outlet",
    "benchOccluded": "occluded",
    "benchReleased": "released",
    "benchCapOn": "cap on",
    "benchOpen": "open",
    "benchMaskOn": "mask on the baby",
    "benchChestStill": "the chest does not move",
    "benchChestLittle": "the chest moves a little",
    "benchChestRises": "the chest rises",
    "benchChestUp": "the chest stays up",
    "benchChestTooFar": "the chest rises too far",
    "benchStrip": "Strip of the last {seconds} s: pressure from {low} to {high} cmH2O, the "
    "aperture occluded {count} times.",
    "benchStripVolume": "Volume from {low} to {high} mL.",
    "benchPressure": "Pressure, cmH2O",
    "benchVolume": "Volume in the lung, mL",
    "benchTime": "time, s",
    "benchEducator": "For the room",
    "benchAsk": "What will the gauge and the chest do?",
    "benchGuess": "The room says (optional):",
    "benchShowIt": "Show it",
    "benchLeaveIt": "Leave it as it was",
    "benchShown": "{choice}",
    "benchShownGuess": "{choice} The room said: {guess}",
}


FIGURES = ("strip", "gauge", "rhythm")


def style(*names: str) -> str:
    """Return a control's styles: what all controls share, then the control's own."""
    return styles("shared.css", "picture.css", *names)


class Control(anywidget.AnyWidget):  # type: ignore[misc]  # its base has no types
    """A question with one answer.

    ``save(value, client, seq)`` writes an answer down and returns its ``number`` and ``at``; the
    same (client, seq) must return the same number. ``check(value)`` returns practice feedback.
    Without ``save`` an answer lives as long as the control does, and the page says so.
    ``figure`` is a picture to answer from, as plain data with a ``kind`` of ``FIGURES``.
    """

    _css = style()
    _unsaid: tuple[str, ...] = ()  # beginnings of the names of words that its page never says

    question = traitlets.Unicode().tag(sync=True)
    label = traitlets.Unicode().tag(sync=True)
    help = traitlets.Unicode().tag(sync=True)
    figure = traitlets.Dict().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)
    saved = traitlets.Dict().tag(sync=True)
    lasts = traitlets.Bool(False).tag(sync=True)
    read_only = traitlets.Bool(False).tag(sync=True)
    can_check = traitlets.Bool(False).tag(sync=True)
    feedback = traitlets.Dict().tag(sync=True)

    def __init__(
        self,
        question: str,
        label: str,
        *,
        help: str = "",
        save: Save | None = None,
        check: Check | None = None,
        saved: Mapping[str, Any] | None = None,
        read_only: bool = False,
        words: Mapping[str, str] | None = None,
        **more: Any,
    ) -> None:
        said = {**fixed(WORDS), **(words or {})}
        said = {name: says for name, says in said.items() if not name.startswith(self._unsaid)}
        super().__init__(
            question=question, label=label, help=help, words=said,
            saved=dict(saved or {}), lasts=save is not None,
            read_only=read_only, can_check=check is not None, **more,
        )  # fmt: skip
        self._save, self._check = save or self._number, check
        self._count = 0
        self._known: dict[str, dict[str, Any]] = {}  # by page: the last message acknowledged
        self._one_by_one = RLock()  # a kernel may hear messages in several threads at once
        self.on_msg(self._hear)

    @property
    def value(self) -> Any:
        """Return the last saved answer, or None."""
        return self.saved.get("value")

    @traitlets.validate("figure")  # type: ignore[untyped-decorator]
    def _known_figure(self, proposal: Mapping[str, Any]) -> dict[str, Any]:
        figure: dict[str, Any] = proposal["value"]
        if figure and figure.get("kind") not in FIGURES:
            known = ", ".join(FIGURES)
            raise traitlets.TraitError(f"{figure.get('kind')!r} is no figure; there are {known}.")
        return figure

    def problem(self, value: Any) -> str:
        """Return what is wrong with the shape of an answer in a sentence, or nothing."""
        raise NotImplementedError

    def _hear(self, _: Any, content: Any, buffers: Any) -> None:
        told = content if isinstance(content, dict) else {}
        client, seq = told.get("client"), told.get("seq")
        if told.get("kind") == "answer" and isinstance(client, str) and type(seq) is int:
            with self._one_by_one:
                self.send(self._reply(told.get("value"), client, seq))
        elif told.get("kind") == "check" and self._check is not None:
            self._give_feedback(self._check)

    def _reply(self, value: Any, client: str, seq: int) -> dict[str, Any]:
        """Save an answer and return its acknowledgement, or why it was refused."""
        known = self._known.get(client)
        if known is not None and seq <= known["seq"]:  # sent again: another view may be newer
            return known
        says = self.words["closed"] if self.read_only else self.problem(value)
        try:
            if not says:
                return self._keep(value, client, seq)
        except (OSError, ValueError) as error:
            says = str(error)
        return {"kind": "refused", "client": client, "seq": seq, "says": says}

    def _keep(self, value: Any, client: str, seq: int) -> dict[str, Any]:
        done = self._save(value, client=client, seq=seq)
        told = {"client": client, "seq": seq, "number": done["number"], "at": done["at"]}
        self._known[client] = {
            "kind": "saved",
            **told,
            **({"back": True} if done.get("back") else {}),
        }
        self.saved = {"value": value, **told}
        self.feedback = {}  # it was about the answer before
        return self._known[client]

    def _number(self, value: Any, client: str, seq: int) -> Mapping[str, Any]:
        self._count += 1
        return {"number": self._count, "at": datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")}

    def _give_feedback(self, check: Check) -> None:
        self.feedback = {}  # the same words again are shown, and read aloud, again
        try:
            found = None if self.value is None else dict(check(self.value))
        except (OSError, ValueError) as error:
            found = {"heading": str(error), "lines": []}
        self.feedback = found or {"heading": self.words["answerFirst"], "lines": []}
