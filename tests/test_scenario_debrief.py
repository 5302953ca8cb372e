"""After a case: what a learner says of it, the moments to look at, and what a page is told."""

from __future__ import annotations

import json

import pytest

from tests.scenario_base import BOOK, EVERY, case, inflating, played
from workbook.display.debriefed import compared, expert_of, own, story
from workbook.scenario import replay
from workbook.scenario.debrief import SAME, DebriefError, Said, choices, read_debrief
from workbook.scenario.moments import Moment, clock, moments
from workbook.widgets import Debrief

SAID = Said(65.0, "reposition", "The mask was on early")
ROWS = [
    (1.0, "oximeter"), (3.0, "dry"), (20.0, "connect"), *inflating(35.0, 150.0),
    (152.0, "reposition"), *inflating(165.0, 300.0), (301.0, "oxygen", 100),
]  # fmt: skip


@pytest.fixture(scope="module")
def made():
    return replay(case("position", 3), played(ROWS), BOOK)


# --- what a learner says


@pytest.mark.parametrize("said", [SAID, Said(), Said(act=SAME, well="All of it"), Said(0.0)])
def test_what_was_said_is_read_as_it_was_written(said):
    """A part that is not said yet may be missing."""
    assert read_debrief(said.to_data(), 420.0) == said


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"format": "tpiece-note"}, "this is no debrief of a case."),
        ({"version": 2}, "this debrief is of a version that this workbook does not read."),
        ({"who": "me"}, "in the debrief 'who' is not known."),
        ({"at": 421}, "the second lies outside the case: choose one from 0 to 420 s."),
        ({"at": -1}, "the second lies outside the case: choose one from 0 to 420 s."),
        ({"at": True}, "the second lies outside the case: choose one from 0 to 420 s."),
        ({"at": float("nan")}, "the second lies outside the case: choose one from 0 to 420 s."),
        ({"at": 10**400}, "the second lies outside the case: choose one from 0 to 420 s."),
        ({"act": "run"}, "what you would do is none of the acts: choose one of the list."),
        ({"act": ["dry"]}, "what you would do is none of the acts: choose one of the list."),
        ({"well": 3}, "what went well is no text: type a line."),
        ({"well": "a" * 201}, "what went well has 201 letters: keep it to 200."),
    ],
)
def test_what_cannot_have_been_said_is_refused_in_one_sentence(change, says):
    """It says what, and what to do."""
    with pytest.raises(DebriefError) as refused:
        read_debrief({**SAID.to_data(), **change}, 420.0)
    assert str(refused.value) == says


@pytest.mark.parametrize("data", [None, 3, [], "text", {}])
def test_what_is_no_debrief_at_all_is_refused(data):
    """Whatever it is."""
    with pytest.raises(DebriefError, match="no debrief"):
        read_debrief(data, 420.0)


def test_all_three_are_said_before_findings_show():
    """Who would do the same again need choose no second."""
    assert SAID.whole
    assert Said(None, SAME, "All of it").whole
    for part in (Said(None, "dry", "x"), Said(3.0, "", "x"), Said(3.0, "dry", "  "), Said()):
        assert not part.whole


def test_acts_to_choose_from_stand_by_their_words():
    """So that the order gives nothing away; last that one would do the same."""
    texts = [each["text"] for each in choices()]
    assert texts[:-1] == sorted(texts[:-1])
    assert choices()[-1]["id"] == SAME


# --- moments


def test_an_experts_own_course_has_no_moments():
    """Beside itself nothing went another way, in every course."""
    for id in EVERY:
        theirs = expert_of(case(id, 3), BOOK)
        assert moments(theirs, theirs, BOOK) == ()


def test_moments_say_where_the_chest_was_still_and_when_it_moved(made):
    """The head lay wrong until somebody repositioned it: from 35 s to 170 s."""
    found = moments(made, expert_of(made.case, BOOK), BOOK)
    assert [one.at for one in found] == sorted(one.at for one in found)
    says = " ".join(one.says for one in found)
    assert "From here no chest moved well for 135 s" in says
    assert "The chest moved for the first time at 2:51" in says
    assert found[0].at == 35.0


@pytest.mark.parametrize(
    ("id", "says"),
    [
        ("gas-fails", "An expert took the bag at 1:51. You did not."),
        ("compressions", "An expert had compressions begun at 1:28. You did not."),
        ("breather", "This baby was inflated. An expert only held PEEP by the mask."),
        ("laryngeal-mask", "In yours it never did."),
    ],
)
def test_a_moment_tells_what_an_expert_did_and_the_learner_did_not(id, says):
    """The same hands at four other babies."""
    drawn = case(id, 3)
    found = moments(replay(drawn, played(ROWS), BOOK), expert_of(drawn, BOOK), BOOK)
    assert says in " ".join(one.says for one in found)


def test_no_moment_speaks_of_death_or_harm(made):
    """It says what was done and when."""
    for id in EVERY:
        drawn = case(id, 3)
        for one in moments(replay(drawn, played([]), BOOK), expert_of(drawn, BOOK), BOOK):
            assert not {"die", "died", "death", "dead", "harm", "harmed"} & set(one.says.split())


# --- what a page is told


def test_before_the_findings_a_page_holds_what_the_team_could_see(made):
    """No true heart rate, no expert, no moment is anywhere in it."""
    told = own(made, BOOK)
    assert not {"expert", "moments"} & set(told)
    assert not {"heart", "true"} & set(told["own"])
    assert "clears" not in json.dumps(told)
    assert told["edition"] in BOOK.edition.named


def test_a_course_says_what_was_done_and_how_the_chest_moved(made):
    """Runs of inflations, faces, the dial and the acts, each with its times."""
    course = compared(made, BOOK)["own"]
    assert [run["chest"] for run in course["inflations"]][:3] == ["still", "little", "moves"]
    assert sum(run["count"] for run in course["inflations"]) == len(made.inflations)
    assert course["oxygen"] == [[0.0, made.case.oxygen], [302.0, 100]]
    assert [face[2:] for face in course["face"]] == [["nothing", ""], ["T-piece, mask", "t-piece"]]
    assert course["heart"][0] == [0, round(made.course.heart(0))]
    told = [says for _time, says in story(made, BOOK)]
    assert told[0] == "Have the oximeter put on the right hand"
    assert any("the chest is still" in says for says in told)
    assert "Turn the oxygen dial: 100 %" in told


def test_the_band_is_the_editions(made):
    """From the first minute on, each until the next."""
    band = own(made, BOOK)["band"]
    assert band[0] == [60, 120, *made.demands.target(60)]
    assert band[-1][:2] == [300, 420.0]


def test_an_experts_course_is_of_the_same_baby(made):
    """Worked out, not stored: the same each time, and it moves the chest sooner."""
    told = compared(made, BOOK)
    assert told["expert"] == compared(made, BOOK)["expert"]
    first = [next(run["from"] for run in told[who]["inflations"] if run["chest"] == "moves")
             for who in ("own", "expert")]  # fmt: skip
    assert first[1] < first[0]


def test_a_course_that_broke_off_is_told_as_far_as_it_went():
    """And the moments lie within it."""
    made = replay(case("position", 3), played(ROWS[:4], 40.0), BOOK)
    told = compared(made, BOOK)
    assert told["own"]["end"] == 40.0
    assert all(0 <= each["at"] <= 40 for each in told["moments"])


def test_a_time_is_told_as_a_clock_does():
    """Minutes and seconds after birth."""
    assert [clock(t) for t in (0, 65.9, 420)] == ["0:00", "1:05", "7:00"]


# --- the control


def control(made, **more):
    return Debrief("d-1", "Talk it over", made=made, book=BOOK, **more)


def test_findings_show_only_after_the_learner_has_said_all(made):
    """What is half said is kept, and told what is missing."""
    debrief = control(made)
    debrief.saved = {"value": Said(65.0, "", "").to_data()}
    debrief._give_feedback(debrief._check)
    assert "First say what went well" in debrief.feedback["heading"]
    assert "compare" not in debrief.feedback
    debrief.saved = {"value": SAID.to_data()}
    debrief._give_feedback(debrief._check)
    assert debrief.feedback["compare"]["moments"]


def test_the_moments_of_whoever_looked_are_shown(made):
    """In place of those that the courses show."""
    debrief = control(made, found=lambda: (Moment(70.0, "Here."),))
    shown = debrief._told(SAID.to_data())
    assert shown["compare"]["moments"] == [{"at": 70.0, "says": "Here."}]


def test_again_is_heard_from_a_second_of_the_case_once_findings_show(made):
    """Not before, not outside, and nothing else is taken for a second."""
    heard = []
    debrief = control(made, again=heard.append)
    debrief._hear(None, {"kind": "again", "at": 65}, [])
    debrief.feedback = debrief._told(SAID.to_data())
    for at in (65, -1, 500, "65", None, True):
        debrief._hear(None, {"kind": "again", "at": at}, [])
    assert heard == [65.0]


def test_what_cannot_be_read_is_refused_by_the_control(made):
    """One sentence."""
    says = control(made).problem({**SAID.to_data(), "act": "run"})
    assert says == "Not saved: what you would do is none of the acts: choose one of the list."
    assert control(made).problem(SAID.to_data()) == ""
