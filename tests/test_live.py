"""A case played a step at a time: at any moment it is the replay of what was done up to then."""

from __future__ import annotations

import random
from itertools import pairwise

import pytest

from graders.units.scenario.harmful import compress_first, do_nothing, ventilate_everybody
from tests.scenario_base import BOOK, EVERY, acts, case, inflating, played
from workbook.scenario import LINES, Played, ScenarioError, read_scenario, replay, seconds, seen
from workbook.scenario.expert import expert
from workbook.scenario.helper import HEARD, MISHEARD, answers, misheard
from workbook.scenario.live import Live
from workbook.scenario.prompts import FADED, GUIDED, prompt

pytestmark = pytest.mark.slow

TAKES = seconds(BOOK)
TICKS = (1, 40, 250, 250, 250, 990, 3100)  # ms from one step to the next
PLAYS = (expert, ventilate_everybody, do_nothing, compress_first)


def stepped(one, record, rng, look):
    """Play a record in steps of odd lengths; ``look`` is called now and then with how it stands."""
    rows, live = record.to_data()["acts"], Live(one, BOOK)
    clock, given, end = 0, 0, round(1000 * record.duration)
    while clock < end:
        clock = min(end, clock + rng.choice(TICKS))
        until = given
        while until < len(rows) and rows[until][0] <= clock:
            until += 1
        live.do(rows[given:until])
        given = until
        live.go(clock / 1000)
        if rng.random() < 0.02:
            look(live, live.now())
    return live


@pytest.mark.parametrize("kind", EVERY)
def test_what_was_seen_is_what_is_marked(kind):
    """To the last digit, in cut-up steps, of every course and good and bad plays."""
    rng = random.Random(kind)  # noqa: S311  # how a play is cut up
    for play in PLAYS:
        one = case(kind, rng.random())
        record = read_scenario(play(one, BOOK).to_data(), one.id, TAKES, 420.0)
        looked = []

        def look(live, now, one=one, looked=looked):
            again = replay(one, Played(one.id, live.time, tuple(live.done), midway=True), BOOK)
            assert now.made == again
            assert now.seen() == seen(again, live.time, BOOK)
            looked.append(live.time)

        live = stepped(one, record, rng, look)
        whole, made = replay(one, record, BOOK), live.now().made
        assert (made.course, made.inflations, made.bagged) == (
            whole.course, whole.inflations, whole.bagged,
        )  # fmt: skip
        assert looked


def test_acts_of_the_very_moment_of_a_step_still_come_first():
    """An act may be stamped with the time the case has just gone to; one from before may not."""
    live = Live(case("gas-fails"), BOOK)
    live.do([[1000, "connect"]])
    live.go(2.0)
    live.do([[2000, "occlude"], [2500, "release"]])
    live.go(3.0)
    with pytest.raises(ScenarioError, match="act 4 comes too late"):
        live.do([[2700, "pip", 5]])


def test_what_cannot_have_happened_is_refused_while_it_is_played():
    """With the sentences of the record's own reader, and what was done before it is kept."""
    live = Live(case("easy"), BOOK)
    live.do([[1000, "dry"]])
    with pytest.raises(ScenarioError, match="act 2 begins before the hands are free"):
        live.do([[2000, "rub"]])
    assert [one.act for one in live.done] == ["dry"]


def test_nothing_of_the_baby_is_told_before_something_is_on_its_face():
    """The page gets no lung, no leak and no airway that nobody has met."""
    live = Live(case("leak"), BOOK)
    live.go(5.0)
    assert set(live.now().stand()) == {"outlet", "gas", "bag", "pressed"}
    live.do([[5000, "connect"]])
    live.go(6.0)
    told = live.now().stand()
    assert told["outlet"] == "lung"
    assert set(told["tables"]) == {"outlet", "patient", "recoil"}
    assert live.now().stand(told["soft"])["key"] == told["key"]


def test_the_helper_repeats_each_line_and_mishears_as_the_case_says():
    """The same at each replay; the first line is heard, the next is right after a mistake."""
    assert set(LINES) == set(HEARD) == set(MISHEARD)
    record = acts(*[(10 + 2 * n, "say", "heart-please") for n in range(12)])
    for seed in range(20):
        one = case("easy", seed)
        told = answers(one, record)
        assert told == answers(one, record)
        wrong = [n for n, answer in enumerate(told) if not answer.right]
        assert wrong == [n for n in range(12) if misheard(one, n)]
        assert 2 <= len(wrong) <= 3
        assert wrong[0] > 0
        assert all(b - a > 1 for a, b in pairwise(wrong))


def test_a_rate_is_repeated_and_tens_are_misheard():
    """Sixty may be heard as sixteen; what no ear mixes up is repeated as it was said."""
    one = next(c for c in (case("easy", n) for n in range(50)) if misheard(c, 1))
    said = answers(one, acts((5, "say", "chest-moves"), (9, "heart-rate", 60)))
    assert (said[1].says, said[1].right) == ("16, I write it down.", False)
    plain = answers(one, acts((5, "say", "chest-moves"), (9, "heart-rate", 84)))
    assert (plain[1].says, plain[1].right) == ("84, I write it down.", True)


def asked(one, rows, time, how):
    """Return the prompt at a time of a record."""
    done = [row for row in rows if row[0] <= time]
    made = replay(one, Played(one.id, time, acts(*done)), BOOK)
    return prompt(made, seen(made, time, BOOK), BOOK, how)


def test_prompts_ask_and_say_what_follows_from_what_is_seen():
    """Guided ones say what follows, faded ones ask; without prompts nothing is said."""
    one = case("position")
    still = [(16.0, "dry"), (31.5, "connect"), *inflating(33, 42)]
    assert asked(one, [], 2.0, "") == ""
    assert asked(one, [], 2.0, FADED) == "The baby is born. What comes first?"
    assert "Warm and dry" in asked(one, [], 2.0, GUIDED)
    assert "put the mask on" in asked(one, [(1.0, "dry")], 20.0, GUIDED)
    assert "Cover the hole" in asked(one, still[:2], 33.0, GUIDED)
    assert "Place the mask anew" in asked(one, still, 42.0, GUIDED)
    easy = case("easy")
    begun = [(16.0, "dry"), (31.5, "connect"), *inflating(33, 36)]
    assert "Nobody inflates" not in asked(easy, begun, 40.0, GUIDED)
    assert "Nobody inflates" in asked(easy, begun, 50.0, GUIDED)
    assert asked(easy, begun, 50.0, FADED) == "Who inflates now?"


def test_mask_and_head_are_one_step_and_what_is_left_of_it_is_asked_for_at_once():
    """Whoever has placed the mask anew is told to lay the head right, not to try five more."""
    one = case("position")
    still = [(16.0, "dry"), (31.5, "connect"), *inflating(33, 42)]
    assert "Place the mask anew, and reposition" in asked(one, still, 42.0, GUIDED)
    half = [*still, (42.5, "mask-adjust")]
    assert asked(one, half, 46.0, GUIDED).endswith("Reposition the head.")


def test_compressions_are_asked_for_by_a_heart_that_was_counted_in_time():
    """Thirty seconds of a moving chest, then a look; a count of before does not do."""
    one = case("easy")
    begun = [(1.0, "dry"), (17.0, "connect"), *inflating(18, 90), (30.0, "listen")]
    early = sorted([*begun, (37.0, "heart-rate", 50)], key=lambda row: row[0])
    assert "compressions" not in asked(one, early, 45.0, GUIDED)
    assert "How fast is the heart" in asked(one, early, 63.0, FADED)
    looked = sorted([*begun, (63.0, "listen"), (70.0, "heart-rate", 50)], key=lambda row: row[0])
    assert "then compressions" in asked(one, looked, 71.0, GUIDED)
    pressed = sorted([*looked, (71.5, "compress")], key=lambda row: row[0])
    assert "How fast" not in asked(one, pressed, 90.0, FADED)


def test_a_new_airway_is_confirmed_before_anything_else():
    """As soon as it lies, until somebody has confirmed it."""
    one = case("laryngeal-mask")
    rows = [(1.0, "dry"), (17.0, "connect"), *inflating(18, 40), (41.0, "laryngeal-mask")]
    placed = 41.0 + seconds(BOOK)["laryngeal-mask"]
    assert "Confirm it at once" not in asked(one, rows, placed - 2, GUIDED)
    assert "Confirm it at once" in asked(one, rows, placed + 1, GUIDED)
    assert "Confirm it at once" not in asked(
        one, [*rows, (placed + 1.5, "confirm")], placed + 3, GUIDED
    )


def test_a_line_that_came_back_wrong_is_to_be_said_again():
    """At once, and not for the rest of the case."""
    one = next(c for c in (case("easy", n) for n in range(50)) if misheard(c, 1))
    rows = [(1.0, "dry"), (17.0, "connect"), *inflating(18, 90)]
    said = sorted([*rows, (25.0, "say", "chest-moves"), (32.0, "say", "chest-moves")],
                  key=lambda row: row[0])  # fmt: skip
    assert "Say it once more" not in asked(one, said, 30.0, GUIDED)
    assert "Say it once more" in asked(one, said, 35.0, GUIDED)
    assert "Say it once more" not in asked(one, said, 80.0, GUIDED)


def test_gas_that_fails_is_asked_for_by_the_needle():
    """Only once the hole was covered and nothing came."""
    one = case("gas-fails")
    rows = [(1.0, "connect"), *inflating(3, 130)]
    record = played(rows, 130.0)
    made = replay(one, record, BOOK)
    assert "gas has failed" in prompt(made, seen(made, 130.0, BOOK), BOOK, GUIDED)
