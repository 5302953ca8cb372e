"""Controls without a browser: what they accept, keep, refuse and acknowledge."""

from __future__ import annotations

import re
import subprocess
import sys
from threading import Event, Thread
from typing import Any

import pytest

from workbook.widgets import Choice, Control, Number, Sequence
from workbook.widgets.control import WORDS

STEPS = [{"id": "a", "text": "Wash hands."}, {"id": "b", "text": "Put on gloves."}]
NONE = {"id": "none", "text": "None of these"}


class Sent:
    """Collects what a control sends to its page."""

    def __init__(self, control: Control) -> None:
        self.messages: list[dict[str, Any]] = []
        control.send = lambda content, buffers=None: self.messages.append(content)

    @property
    def last(self) -> dict[str, Any]:
        """Return the newest message."""
        return self.messages[-1]


def answer(control: Control, value: Any, seq: int = 1, client: str = "page") -> dict[str, Any]:
    """Let a page send an answer; return the control's reply."""
    sent = Sent(control)
    control._hear(None, {"kind": "answer", "client": client, "seq": seq, "value": value}, [])
    return sent.last


def sequence(**more: Any) -> Sequence:
    return Sequence("order", "Arrange.", items=STEPS, start=["a", "b"], **more)


def test_an_answer_is_saved_then_acknowledged_with_its_number():
    """The page hears "saved" for the very message it sent, and only then."""
    kept = []

    def save(value, client, seq):
        kept.append((value, client, seq))
        return {"number": 7, "at": "2026-05-04T10:00:00Z"}

    control = sequence(save=save)
    reply = answer(control, ["b", "a"], seq=3)
    assert kept == [(["b", "a"], "page", 3)]
    assert reply == {
        "kind": "saved", "client": "page", "seq": 3, "number": 7, "at": "2026-05-04T10:00:00Z"
    }  # fmt: skip
    assert control.value == ["b", "a"]


def test_answers_heard_in_two_threads_are_kept_in_the_order_they_were_given():
    """A kernel that hears one message while it saves another never keeps the older one last."""
    kept, slow = [], Event()

    def save(value, client, seq):
        if seq == 1:
            slow.set()
            Event().wait(0.2)  # the disk is slow just now
        kept.append(seq)
        return {"number": len(kept), "at": "2026-05-04T10:00:00Z"}

    control = sequence(save=save)
    first = Thread(target=answer, args=(control, ["b", "a"], 1))
    first.start()
    assert slow.wait(5)
    answer(control, ["a", "b"], seq=2)
    first.join()
    assert kept == [1, 2]
    assert control.value == ["a", "b"]


def test_a_message_sent_again_is_acknowledged_and_kept_once():
    """A page that did not hear the reply asks again; nothing is written twice."""
    kept = []

    def save(value, client, seq):
        kept.append(value)
        return {"number": len(kept), "at": ""}

    control = sequence(save=save)
    first, again = (answer(control, ["b", "a"], seq=1) for _ in range(2))
    assert first == again
    assert len(kept) == 1


def test_a_late_repeat_does_not_bring_an_older_answer_back():
    """Another page has answered since: the file and every view keep the newer answer."""
    control = sequence()
    first = answer(control, ["b", "a"], client="one")
    answer(control, ["a", "b"], client="two")
    assert answer(control, ["b", "a"], client="one") == first
    assert control.value == ["a", "b"]


def test_a_save_that_fails_is_refused_with_its_sentence():
    """What could not be written is never called saved."""

    def save(value, client, seq):
        raise OSError("Not saved: the disk is full.")

    control = sequence(save=save)
    reply = answer(control, ["b", "a"])
    assert reply["kind"] == "refused"
    assert reply["says"] == "Not saved: the disk is full."
    assert control.value is None


@pytest.mark.parametrize(
    ("control", "value"),
    [
        (sequence(), ["a"]),
        (sequence(), ["a", "a"]),
        (sequence(), "ab"),
        (sequence(), [1, 2]),
        (sequence(), None),
        (Choice("q", "Choose.", options=STEPS), "c"),
        (Choice("q", "Choose.", options=STEPS), ["a"]),
        (Choice("q", "Choose.", options=STEPS, many=True), "a"),
        (Choice("q", "Choose.", options=STEPS, many=True), ["a", "c"]),
        (Choice("q", "Choose.", options=STEPS, many=True), ["a", "a"]),
        (Choice("q", "Which?", options=[*STEPS, NONE], many=True), ["a", "none"]),
        (Number("q", "How much?", unit="kPa"), 5),
        (Number("q", "How much?", unit="kPa"), {"text": "5", "unit": "mile"}),
        (Number("q", "How much?", unit="kPa"), {"text": "5" * 41, "unit": "kPa"}),
    ],
)
def test_a_value_of_another_shape_is_refused(control, value):
    """Only what the control can show again is kept."""
    reply = answer(control, value)
    assert reply["kind"] == "refused"
    assert reply["says"].startswith("Not saved")
    assert control.value is None


@pytest.mark.parametrize(
    ("control", "value"),
    [
        (Choice("q", "Choose.", options=STEPS), "a"),
        (Choice("q", "Choose.", options=STEPS, many=True), []),
        (Choice("q", "Choose.", options=STEPS, many=True), ["b"]),
        (
            Number("q", "How much?", unit="kPa", units=["kPa", "hPa"]),
            {"text": "2,5", "unit": "hPa"},
        ),
    ],
)
def test_ordinary_answers_are_kept_as_given(control, value):
    """A decimal comma stays a comma; an emptied list is an answer."""
    assert answer(control, value)["kind"] == "saved"
    assert control.value == value


def test_a_closed_control_takes_no_answers():
    """While work is being marked nothing can be changed."""
    assert answer(sequence(read_only=True), ["b", "a"])["kind"] == "refused"


def test_a_saved_answer_is_shown_again_and_reaches_other_views():
    """What was saved earlier is there at once; a new save is a synced trait."""
    control = sequence(saved={"value": ["b", "a"], "number": 4, "at": ""})
    assert control.value == ["b", "a"]
    changes = []
    control.observe(lambda change: changes.append(change["new"]["value"]), "saved")
    answer(control, ["a", "b"], client="other")
    assert changes == [["a", "b"]]


def test_practice_feedback_comes_when_asked_for():
    """Feedback is for the saved answer; without one it says so."""
    control = sequence(check=lambda value: {"heading": f"You said {value}", "lines": []})
    assert control.can_check
    control._hear(None, {"kind": "check"}, [])
    assert control.feedback["heading"] == "Answer first, then check."
    answer(control, ["b", "a"])
    control._hear(None, {"kind": "check"}, [])
    assert control.feedback["heading"] == "You said ['b', 'a']"


def test_feedback_goes_when_the_answer_changes():
    """Feedback on the answer before would mislead."""
    control = sequence(check=lambda value: {"heading": "Well done.", "lines": []})
    answer(control, ["b", "a"], seq=1)
    control._hear(None, {"kind": "check"}, [])
    answer(control, ["b", "a"], seq=1)  # sent again: the same answer
    assert control.feedback["heading"] == "Well done."
    answer(control, ["a", "b"], seq=2)
    assert control.feedback == {}


def test_a_check_that_cannot_be_made_says_why():
    """The sentence of what failed stands where the feedback would."""

    def check(value):
        raise OSError("The rules file is missing.")

    control = sequence(check=check)
    answer(control, ["b", "a"])
    control._hear(None, {"kind": "check"}, [])
    assert control.feedback["heading"] == "The rules file is missing."


@pytest.mark.parametrize(
    "content",
    [
        None,
        "answer",
        [],
        {},
        {"kind": "other"},
        {"kind": "answer", "client": "page", "seq": None, "value": ["b", "a"]},
        {"kind": "answer", "client": 1, "seq": 1, "value": ["b", "a"]},
        {"kind": "check"},
    ],
)
def test_a_message_of_another_shape_changes_nothing(content):
    """A page that speaks nonsense is not answered and breaks nothing."""
    control = sequence()
    sent = Sent(control)
    control._hear(None, content, [])
    assert control.value is None
    assert sent.messages == []


def test_every_word_can_be_given_in_another_language():
    """A sentence of refusal comes from the control's words, and so do all others."""
    control = sequence(words={"lang": "xx", "wrongSequence": "Bli blo."})
    assert answer(control, ["a"])["says"] == "Bli blo."
    assert control.words["lang"] == "xx"
    assert control.words["saving"] == WORDS["saving"]


@pytest.mark.parametrize("kind", [Sequence, Choice, Number])
def test_every_word_the_page_uses_has_an_english_default(kind):
    """What the JavaScript asks of the words, the words have."""
    code = str(kind._esm)
    used = set(re.findall(r"words\.(\w+)", code))
    used |= set(re.findall(r'(?:say|withdraw)\("(\w+)"', code))
    assert len(used) > 5
    assert used <= set(WORDS)


def test_the_controls_import_nothing_heavy():
    """A learner's page opens without the scientific packages."""
    code = (
        "import sys, workbook.widgets as w; "
        "print(*{'numpy', 'scipy', 'matplotlib', 'pandas', 'pint'} & set(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""


def test_nothing_is_fetched_at_run_time():
    """No control names an address."""
    for kind in (Sequence, Choice, Number):
        assert "http" not in str(kind._esm) + str(kind._css)
