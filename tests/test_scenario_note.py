"""The note that a team writes: what can be read, and how it is held to what happened."""

from __future__ import annotations

import pytest

from tests.scenario_base import BOOK, case, inflating, played
from workbook.physics.baby import heard
from workbook.scenario import replay
from workbook.scenario.expert import expert
from workbook.scenario.looks import looks
from workbook.scenario.note import (
    ENTRIES,
    NOTE_FIELDS,
    Note,
    NoteError,
    compared,
    happened,
    read_note,
)

HEAD = {"format": "tpiece-note", "version": 1}
ROWS = [
    (1.0, "oximeter"), (20.0, "connect"), *inflating(30.0, 90.0), (50.0, "oxygen", 60),
    (57.0, "listen"), (70.0, "oxygen", 40), (91.0, "tube"),
]  # fmt: skip


def went(rows=ROWS, until=150.0, id="easy"):
    return replay(case(id), played(rows, until), BOOK)


def lines(made, **entries):
    """Return whether each entry of a note agrees with what happened."""
    note = read_note({**HEAD, **{key.replace("_", "-"): v for key, v in entries.items()}})
    return {line.entry: line.agrees for line in compared(note, made, BOOK)}


def test_a_note_is_read_as_it_was_written():
    """There and back again; entries that are blank stay blank."""
    data = {**HEAD, "begun": 48.0, "moved": "none", "interface": "tube", "heart-10": "unknown"}
    assert read_note(data).to_data() == data
    assert read_note(HEAD).entries == {}


@pytest.mark.parametrize(
    ("entries", "says"),
    [
        ({"format": "tpiece-sketch"}, "this is no note on a case."),
        ({"version": 2}, "this note is of a version that this workbook does not read."),
        ({"colour": "pink"}, "the note has no entry 'colour'."),
        ({"begun": True}, "Ventilation began at: type a number, or choose “not known”."),
        ({"pip": "25"}, "Highest PIP: type a number, or choose “not known”."),
        ({"peep": float("nan")}, "Highest PEEP: type a number, or choose “not known”."),
        ({"oxygen": 101}, "Highest oxygen: 101 cannot be. Look at it again."),
        ({"oxygen": "none"}, "Highest oxygen: type a number, or choose “not known”."),
        ({"heart-5": -1}, "Heart rate at 5 min: -1 cannot be. Look at it again."),
        ({"pip": 10**400}, "Highest PIP: 10000000000000000000 cannot be. Look at it again."),
        ({"begun": float("inf")}, "Ventilation began at: inf cannot be. Look at it again."),
        ({"heart-1": [60]}, "Heart rate at 1 min: type a number, or choose “not known”."),
        ({"interface": "hood"}, "What was on the airway: choose one of the interfaces."),
        ({"interface": 3}, "What was on the airway: choose one of the interfaces."),
    ],
)
def test_what_is_no_note_is_refused_in_one_sentence(entries, says):
    """It says which entry, and what to do."""
    with pytest.raises(NoteError) as refused:
        read_note({**HEAD, **entries})
    assert str(refused.value) == says


@pytest.mark.parametrize("data", [None, 3, "note", [], [HEAD], {}])
def test_what_is_no_note_at_all_is_refused(data):
    """Whatever it is."""
    with pytest.raises(NoteError, match="no note on a case"):
        read_note(data)


def test_a_note_of_what_happened_agrees_in_every_entry():
    """Times, pressures, oxygen and interface as they were; heart rate as it was counted."""
    made = went()
    was = happened(made)
    assert was["begun"] == 30
    assert (was["oxygen"], was["interface"]) == (60, "tube")
    assert 24 < was["pip"] < 26
    assert 4 < was["peep"] < 6
    counted = len(heard(made.course, 57.0, 6.0, made.case.hidden.phase)) * 10
    right = {**was, "pip": round(was["pip"]), "peep": round(was["peep"]), "heart_1": counted,
             "heart_5": "unknown", "heart_10": "unknown"}  # fmt: skip
    assert set(lines(made, **right).values()) == {True}
    assert {ENTRIES[id].field for id in lines(made, **right)} == set(NOTE_FIELDS)


@pytest.mark.parametrize(
    ("entry", "given", "agrees"),
    [
        ("begun", 45, True), ("begun", 46, False), ("begun", "none", False),
        ("begun", "unknown", False), ("begun", None, False), ("oxygen", 40, False),
        ("oxygen", 60, True), ("interface", "mask", False), ("interface", "unknown", False),
        ("pip", 40, False), ("peep", 5, True), ("peep", 12, False),
    ],
)  # fmt: skip
def test_an_entry_agrees_as_closely_as_the_rules_say(entry, given, agrees):
    """A time within its rule, a pressure within the hand's, oxygen as the dial stood."""
    told = {} if given is None else {entry: given}
    assert lines(went(), **told)[entry] == agrees


def test_a_heart_rate_that_nobody_looked_at_is_rightly_not_known():
    """A number there is made up; after the end of the case, too."""
    made = went([row for row in ROWS if row[1] not in ("oximeter", "listen")])
    assert looks(made, BOOK).rates == ()
    unknown = lines(made, heart_1="unknown", heart_5="unknown", heart_10="unknown")
    assert [unknown[f"heart-{m}"] for m in (1, 5, 10)] == [True, True, True]
    assert not lines(made)["heart-1"]
    assert "heart-10" not in lines(made)  # no case goes on for so long, and no page asks
    true = round(made.course.heart(60))
    assert not lines(made, heart_1=true)["heart-1"]
    note = read_note({**HEAD, "heart-10": 150})
    says = [line.says for line in compared(note, made, BOOK) if line.entry == "heart-10"]
    assert says == [
        "Heart rate at 10 min: you wrote 150 a minute. It was: not known: the case ended before."
    ]


def test_a_heart_rate_that_was_seen_is_written():
    """As it was shown, one beat in six seconds more or less; not as the baby's own was."""
    made = went()
    seen = looks(made, BOOK).near(60, 15)
    counted = next(one.rate for one in seen if one.by == "listen")
    assert lines(made, heart_1=counted + 10)["heart-1"]
    assert not lines(made, heart_1="unknown")["heart-1"]
    assert not lines(made, heart_1=counted + 60)["heart-1"]


def test_a_baby_who_only_breathes_was_never_ventilated():
    """No inflation and no pressure on the gauge; a mask with PEEP was on."""
    drawn = case("breather", 3)
    was = happened(replay(drawn, expert(drawn, BOOK), BOOK))
    assert (was["begun"], was["moved"], was["pip"]) == ("none", "none", "none")
    assert was["interface"] == "mask"
    assert was["peep"] > 4


def test_nothing_on_the_face_is_no_interface_and_no_pressure():
    """Somebody who only dried the baby notes that."""
    was = happened(went([(3.0, "dry")], 60.0))
    assert [was[id] for id in ("begun", "pip", "peep", "interface")] == ["none"] * 4


def test_an_entry_says_what_was_written_and_what_was():
    """In words and with units."""
    note = Note({"begun": 100.0, "interface": "mask"})
    says = {line.entry: line.says for line in compared(note, went(), BOOK)}
    assert says["begun"] == "Ventilation began at: you wrote 100 s. It was: 30 s."
    assert says["interface"] == "What was on the airway: you wrote mask. It was: tracheal tube."
    assert says["oxygen"] == "Highest oxygen: you wrote nothing. It was: 60 %."
    right = compared(Note({"begun": 30.0}), went(), BOOK)[0]
    assert right.says == "Ventilation began at: you wrote 30 s. That is so."
    near = compared(Note({"begun": 40.0}), went(), BOOK)[0]
    assert near.says == "Ventilation began at: you wrote 40 s. Near enough; it was: 30 s."
