"""Parts of a group: counted right, and never so small that somebody could be picked out."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graders.cohort.beliefs import SMALL
from graders.cohort.parts import NOT_GIVEN, parts
from graders.course.roster import Person
from graders.learner.standing import Learner, Standing, Status


def learner(id: str, ward: str, *, ready: bool = False) -> Learner:
    person = Person(id, ward=ward)
    return Learner(person, (Standing(person, "u", "", handed_in=True, usable=True, ready=ready),))


def group(**wards: int) -> list[Learner]:
    return [learner(f"{ward}{n}", ward) for ward, many in wards.items() for n in range(many)]


def shown(*learners: Learner) -> dict[str, int]:
    return {part.name: part.learners for part in parts(learners, lambda person: person.ward)}


def test_each_part_is_counted_by_status() -> None:
    """Two wards, ready and not yet, by name."""
    made = parts(
        [*group(South=3), *(learner(f"n{n}", "North", ready=n < 2) for n in range(4))],
        lambda person: person.ward,
    )
    assert [(part.name, dict(part.counts)) for part in made] == [
        ("North", {Status.READY: 2, Status.NOT_YET: 2}),
        ("South", {Status.NOT_YET: 3}),
    ]


@pytest.mark.parametrize("wards", [{}, {"A": 9}, {"A": 1, "B": 1}, {"A": 2, "B": 2}])
def test_without_two_parts_large_enough_nothing_is_shown(wards: dict[str, int]) -> None:
    """One ward alone is the whole group; and small ones together are it too."""
    assert shown(*group(**wards)) == {}


def test_small_parts_are_taken_together() -> None:
    """Two wards of two become one line of four."""
    assert shown(*group(A=5, B=2, C=2)) == {"A": 5, "Other, fewer than 3 each": 4}


def test_one_small_part_takes_the_smallest_other_with_it() -> None:
    """A single person in a ward is not told by the whole less the rest."""
    assert shown(*group(A=5, B=4, C=1)) == {
        "A": 5, "Other, fewer than 3 each, taken together with B": 5,
    }  # fmt: skip


def test_who_has_no_ward_is_a_part_of_its_own() -> None:
    """People whose ward the roster leaves empty are counted last."""
    assert list(shown(*group(A=3), *(learner(f"x{n}", "") for n in range(3)))) == ["A", NOT_GIVEN]


@given(st.dictionaries(st.sampled_from("ABCDEFGH"), st.integers(1, 8)))
def test_every_part_is_large_enough_and_everyone_is_counted_once(wards: dict[str, int]) -> None:
    """Whatever the sizes: no part under three, and the parts add up."""
    made = shown(*group(**wards))
    assert all(many >= SMALL for many in made.values())
    assert not made or Counter(made).total() == sum(wards.values())
