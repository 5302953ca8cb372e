"""A mask laid on a face as an answer: read with suspicion, told in words, drawn as data."""

from __future__ import annotations

import json
import time

import pytest
from hypothesis import given
from hypothesis import settings as for_hypothesis
from hypothesis import strategies as st

from workbook.face.fit import FaceError, answer, drawing, read_fit, told, where
from workbook.face.mask import Face, Mask


def good() -> dict[str, object]:
    return answer(Mask(44, 0.5, 24.0, -5.0))


def test_an_answer_survives_json_and_is_read_back():
    """What the page sends is what is marked."""
    assert read_fit(json.loads(json.dumps(good()))) == Mask(44, 0.5, 24.0, -5.0)


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"format": "tpiece-hands"}, "this is no mask laid on a face"),
        ({"version": 2}, "version '2'; this workbook reads version 1"),
        ({"mask": 40}, "no mask of '40' mm here; choose one of 36, 44, 52, 60, 68 mm"),
        ({"mask": True}, "no mask of 'True' mm"),
        ({"mask": "44"}, "no mask of '44' mm"),
        ({"mask": 10**400}, "no mask of '1000"),
        ({"mask": None}, "no mask of 'None' mm"),
        ({"x": float("nan")}, "no place or no turn"),
        ({"y": float("inf")}, "no place or no turn"),
        ({"y": 10**400}, "no place or no turn"),
        ({"turn": "left"}, "no place or no turn"),
        ({"turn": 720}, "no place or no turn"),
        ({"x": [1]}, "no place or no turn"),
        ({"x": 300}, "the mask lies off the face"),
        ({"y": -90}, "the mask lies off the face"),
    ],
)
def test_a_mask_that_cannot_be_read_is_refused_in_one_sentence(changed, says):
    """Wrong format, a size not made, no number, or a mask dragged off the face."""
    with pytest.raises(FaceError, match=says) as caught:
        read_fit({**good(), **changed}, Face(46.0))
    assert str(caught.value).count(".") <= 2
    assert len(str(caught.value)) < 140


@for_hypothesis(deadline=None)
@given(st.one_of(st.none(), st.text(), st.dictionaries(st.text(), st.integers()),
                 st.lists(st.integers()), st.floats()))  # fmt: skip
def test_nonsense_is_never_an_error_of_the_program(value):
    """Whatever is sent, the page gets a reply."""
    assert "problem" in told(46.0, value)


def test_the_page_is_told_where_the_mask_lies_and_in_practice_how_it_fits():
    """Distances are what the picture shows; the fit is what the marking says."""
    plain = told(46.0, good())
    assert list(plain) == ["kind", "where"]
    assert "Lower edge level with the chin." in plain["where"]
    fit = told(46.0, good(), full=True)["fit"]
    assert fit == {"covers": True, "spares_eyes": True, "keeps_chin": True, "seal": 100, "leak": 0}
    assert json.dumps(told(46.0, good(), full=True))


def test_words_for_the_place_name_side_turn_and_edges():
    """A learner who does not see the picture hears the same."""
    said = " ".join(where(Face(46.0), Mask(44, -1.5, 30.0, 275.0)))
    for part in ("1.5 mm to the left", "Lower edge 6.0 mm below the chin", "85 degrees to the left",
                 "not covered"):  # fmt: skip
        assert part in said


def test_the_drawing_is_plain_data_in_millimetres():
    """Shapes by name, each four numbers, and what a page needs to draw the mask."""
    drawn = json.loads(json.dumps(drawing(Face(46.0))))
    assert set(drawn["shapes"]) == {
        "face", "eye-left", "eye-right", "bridge", "nose", "mouth", "chin"
    }  # fmt: skip
    assert all(len(shape) == 4 for shape in drawn["shapes"].values())
    assert drawn["masks"] == [36, 44, 52, 60, 68]


def test_a_reply_takes_no_more_time_than_a_page_can_wait():
    """Half of 25 ms of the processor for one move, seal and all."""
    told(46.0, good(), full=True)
    begun = time.process_time()
    for n in range(20):
        told(46.0, answer(Mask(50, n / 2 - 5, 20 + n / 4, 5.0 * n)), full=True)
    assert (time.process_time() - begun) / 20 < 0.0125
