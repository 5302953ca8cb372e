"""Which result a learner is shown of several hand-ins: the latest, an earlier one, nobody else's.

Hand-ins and results are laid here by hand, so that each way they can lie together is met.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from workbook.core.answer_sheet import answers_path
from workbook.course.handed import Way, digest, sent
from workbook.course.laying import lay
from workbook.course.result import (
    Result,
    ResultError,
    came_back,
    find,
    marked,
    own,
    read_result,
    result_of,
    waits,
)
from workbook.course.settings import Course
from workbook.room.home import home

LEARNER, UNIT = "ada.q7", "1_setup_order"
COURSE = Course("may", "May course", units=(UNIT,), feedback="at hand-in")


def told(answers: str, **more: Any) -> dict[str, Any]:
    """Return the data of a result for the answers file of a digest."""
    made = Result(
        LEARNER, "may", UNIT, "Exercise 1", "en", answers, 1, "", "not-yet", 3.5, 4.0,
        "Not ready yet.", "Read lesson 1.", (), (), (),
    )  # fmt: skip
    return {**made.told(), **more}


def hand_in(folder: Path, day: int, says: str, learner: str = LEARNER) -> str:
    """Keep the copy of a hand-in of a day, and return the digest of its answers."""
    kept = folder / ".tpiece" / "handed_in" / "may" / f"{learner}+{UNIT}+2026-12-0{day} 10.00.00"
    lay(says.encode(), answers_path(kept / f"{UNIT}.ipynb"))
    lay(b"2026-12-01 10:00:00 UTC", kept / "timestamp.txt")
    return digest(answers_path(kept / f"{UNIT}.ipynb"))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a learner's folder that knows where its course gives back."""
    made = tmp_path / "own"
    made.mkdir()
    Way(tmp_path / "course").write(made)
    return made


def gives(folder: Path, name: str, of: str) -> None:
    """Give back, for the hand-in of a digest, the result of the answers of a digest."""
    lay(json.dumps(told(of)).encode(), came_back(folder.parent / "course", name))


def here(folder: Path, of: str) -> None:
    """Lay a result that was marked in the learner's own folder."""
    lay(json.dumps(told(of)).encode(), own(folder, UNIT))


def came(folder: Path) -> tuple[str, bool, bool]:
    """Return whose answers the result shown is of, whether it is the latest, and a better one."""
    found = find(folder, "may", LEARNER, UNIT)
    assert found is not None
    return found.result.answers, found.latest, found.better


def test_while_the_latest_hand_in_waits_an_earlier_result_is_no_more_than_that(
    folder: Path,
) -> None:
    """Also where that one told of a better one before it: none is said to be marked since."""
    one, two = hand_in(folder, 1, "good"), hand_in(folder, 2, "worse")
    gives(folder, one, one)
    assert came(folder) == (one, False, False)
    gives(folder, two, one)
    assert came(folder) == (one, True, True)
    three = hand_in(folder, 3, "again")
    assert came(folder) == (one, False, False)
    gives(folder, three, three)
    assert came(folder) == (three, True, False)


def test_work_that_could_not_be_read_is_no_better_one(folder: Path) -> None:
    """Its result names no answers: it is that of the latest hand-in."""
    name = hand_in(folder, 1, "nonsense")
    gives(folder, name, "")
    assert came(folder) == ("", True, False)


def test_the_home_says_that_a_later_hand_in_waits_where_it_does(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also after work that could not be read, and was handed in anew."""
    monkeypatch.setenv("TPIECE_LEARNER", LEARNER)
    (folder / "course.toml").write_text(COURSE.text(), encoding="utf-8")
    page = {"cells": [], "metadata": {"tpiece": {"unit": UNIT}}, "nbformat": 4, "nbformat_minor": 5}
    lay(json.dumps(page).encode(), folder / UNIT / f"{UNIT}.ipynb")

    def earlier() -> bool:
        exercise = home(folder).units[0].exercise
        assert exercise is not None
        assert exercise.result is not None
        return exercise.result.earlier

    here(folder, "")  # marked here, where nothing could be read: of which hand-in is not known
    hand_in(folder, 1, "nonsense")
    assert not earlier()
    gives(folder, hand_in(folder, 2, "nonsense too"), "")
    assert not earlier()
    name = hand_in(folder, 3, "right")
    assert earlier()
    gives(folder, name, name)
    assert not earlier()
    hand_in(folder, 4, "again")
    assert earlier()


def test_a_result_of_a_hand_in_that_left_no_copy_is_not_the_latest(folder: Path) -> None:
    """What was marked here before is shown, and the hand-in since still waits."""
    here(folder, "of-before")
    assert came(folder) == ("of-before", False, False)
    name = hand_in(folder, 1, "new")
    assert came(folder) == ("of-before", False, False)
    assert waits(folder, COURSE, LEARNER, UNIT)
    assert not marked(folder, COURSE, LEARNER, UNIT)
    here(folder, name)
    assert came(folder) == (name, True, False)
    assert not waits(folder, COURSE, LEARNER, UNIT)


def test_what_the_course_gave_stands_before_what_was_marked_here(folder: Path) -> None:
    """For one hand-in; a later one that was marked here alone stands before both."""
    one = hand_in(folder, 1, "first")
    here(folder, one)
    lay(
        json.dumps(told(one, says="From the course.")).encode(),
        came_back(folder.parent / "course", one),
    )
    found = find(folder, "may", LEARNER, UNIT)
    assert found is not None
    assert found.result.says == "From the course."
    here(folder, hand_in(folder, 2, "second"))
    found = find(folder, "may", LEARNER, UNIT)
    assert found is not None
    assert (found.result.says, found.latest) == ("Not ready yet.", True)


def test_a_folder_that_knows_no_way_waits_for_nothing(folder: Path) -> None:
    """Nobody is told that a result is on its way where nobody can bring it; nor by a file."""
    hand_in(folder, 1, "first")
    assert waits(folder, COURSE, LEARNER, UNIT)
    Way(folder.parent / "course", by_file=True).write(folder)
    assert not waits(folder, COURSE, LEARNER, UNIT)
    (folder / ".tpiece" / "way.json").unlink()
    assert not waits(folder, COURSE, LEARNER, UNIT)


def test_only_a_course_that_came_as_a_file_has_files_to_send(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Elsewhere work is taken in, and nobody is asked to send what nobody waits for."""
    monkeypatch.setenv("TPIECE_LEARNER", LEARNER)
    assert home(folder).to_send == ""
    Way(folder.parent / "course", by_file=True).write(folder)
    assert home(folder).to_send == str(folder / "to_send")
    (folder / ".tpiece" / "way.json").unlink()
    assert home(folder).to_send == ""


def test_two_at_one_machine_are_two(folder: Path) -> None:
    """What another handed in is not mine, though both lie in one folder."""
    mine, other = hand_in(folder, 1, "mine"), hand_in(folder, 2, "theirs", "bo.q7")
    gives(folder, other, other)
    assert len(list(sent(folder, "may", LEARNER, UNIT))) == 1
    assert find(folder, "may", LEARNER, UNIT) is None
    gives(folder, mine, mine)
    assert came(folder) == (mine, True, False)


@pytest.mark.parametrize("other", [{"unit": "3_pressure_targets"}, {"learner": "bo.q7"}])
def test_a_result_of_another_unit_or_learner_is_not_shown(
    tmp_path: Path, other: dict[str, str]
) -> None:
    """A file that was copied to the wrong place is a sentence."""
    path = tmp_path / "result.json"
    lay(json.dumps(told("d")).encode(), path)
    assert read_result(path, LEARNER, UNIT).earned == 3.5
    lay(json.dumps(told("d", **other)).encode(), path)
    with pytest.raises(ResultError, match="cannot be shown"):
        read_result(path, LEARNER, UNIT)


@pytest.mark.parametrize("met", [True, False])
def test_whose_act_could_harm_is_one_of_a_few(met: bool) -> None:
    """Hands, a choice, a colleague's, or nobody's; anything else is no result of ours."""
    found = {"met": met, "says": "s", "grave": "hands", "rule": "", "source": "", "belief": None,
             "at": None, "trace": []}  # fmt: skip
    asked = {"id": "q", "asks": "a", "said": "s", "earned": 0.5, "possible": 1, "found": [found]}
    for grave in ("", "hands", "act", "others"):
        found["grave"] = grave
        assert result_of(told("d", questions=[asked])).questions[0].found[0].grave == grave
    for strange in ("other", "hand", "Hands"):
        found["grave"] = strange
        with pytest.raises(ValueError, match="unknown"):
            result_of(told("d", questions=[asked]))
