"""A case from birth: what decides it, typed here; the code that is judged is not asked."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.scenario_base import BOOK, EVERY, case, inflating, played
from workbook.rules import rulebook
from workbook.scenario import Played, demands, replay, seconds, timed
from workbook.scenario.expert import expert

MASK = (20.0, "connect")


def test_a_bag_on_a_mask_that_leaks_moves_no_chest_until_the_mask_is_placed_anew() -> None:
    """The leak is at the mask, and the bag has the same mask."""
    leaks = case("leak")
    rows = [MASK, (25.0, "bag")]
    assert replay(leaks, played(rows, 60.0), BOOK).bagged == ()
    mended = replay(leaks, played([*rows, (40.0, "mask-adjust")], 60.0), BOOK)
    assert len(mended.bagged) == 1
    assert mended.bagged[0][0] > 40


@pytest.mark.parametrize("id", EVERY)
def test_a_chest_moves_from_four_millilitres_for_each_kilogram_on(id: str) -> None:
    """Less than half of one looks still; what lies between is little."""
    made = replay(case(id), expert(case(id), BOOK), BOOK)
    for one in made.inflations:
        wanted = "still" if one.volume < 0.5 else "little" if one.volume < 4 else "moves"
        assert one.chest == wanted, one


def test_what_first_happened_is_told_by_its_first_time() -> None:
    """Two calls, two bags: the first of each."""
    rows = [(3.0, "call"), MASK, (30.0, "bag"), (40.0, "t-piece"), (50.0, "bag"), (60.0, "call")]
    found = timed(replay(case("easy"), played(rows, 80.0), BOOK), BOOK)
    assert (found["call"], found["bag"]) == (3, 30)


def test_stable_is_told_from_when_it_began_and_only_once_it_lasted() -> None:
    """Half of that time before it lasted, nobody can say so."""
    done = expert(case("easy"), BOOK)
    lasts = BOOK["scenario.stable"].value
    began = timed(replay(case("easy"), done, BOOK), BOOK)["stabilised"]

    def until(end: float) -> bool:
        short = Played(done.case, end, tuple(d for d in done.done if d.time <= end), midway=True)
        return "stabilised" in timed(replay(case("easy"), short, BOOK), BOOK)

    assert until(began + lasts + 1.5)
    assert not until(began + lasts / 2)
    assert not until(began + lasts - 1.5)


@pytest.mark.parametrize(("act", "rule"), [("tube", "tube"), ("laryngeal-mask", "laryngeal-mask"),
                                           ("dry", "dry"), ("listen", "listen")])  # fmt: skip
def test_an_act_takes_the_time_of_its_own_rule(act: str, rule: str) -> None:
    """A site may give one another time: no other act follows."""
    id = f"scenario.time.{rule}"
    rules = tuple(replace(r, low=99.0, high=99.0) if r.id == id else r for r in BOOK.rules)
    usual, site = seconds(BOOK), seconds(replace(BOOK, rules=rules))
    assert {name for name in site if site[name] != usual[name]} == {act}
    assert site[act] == 99


def test_when_to_ventilate_and_when_to_compress_are_two_demands() -> None:
    """Below a hundred, and below sixty."""
    for edition in ("aha-2020", "erc-2021"):
        asked = demands(rulebook(edition), 39, 3.2)
        assert asked.rules["compress"].id == "hr.compress"
        assert asked.number("compress") == 60
    assert demands(rulebook("aha-2020"), 39, 3.2).number("ventilate") == 100


def test_hands_that_inflate_at_the_mask_are_told_as_they_were() -> None:
    """So many inflations as were given, each as long as it was held."""
    made = replay(case("easy"), played([MASK, *inflating(25, 40)], 60.0), BOOK)
    assert len(made.inflations) == 10
    assert all(one.length == pytest.approx(0.5, abs=1e-6) for one in made.inflations)
