"""Marks of a case from birth: an expert's play, plays that harm, beliefs, and single acts."""

from __future__ import annotations

import random
from itertools import count, islice

import pytest

from graders.units.scenario.facts import Facts
from graders.units.scenario.harmful import (
    compress_first,
    do_nothing,
    oxygen_for_all,
    ventilate_everybody,
)
from graders.units.scenario.marks import criteria, key, marked, of_record, shares
from graders.units.scenario.plays import PLAYS, played, shown_by
from graders.units.scenario.signs import SIGNS, believed
from tests.scenario_base import BOOK, EVERY, case
from workbook.bench import DIALS
from workbook.rules import editions, rulebook
from workbook.scenario import ACTS, LINES, replay
from workbook.scenario.expert import Expert, expert
from workbook.scenario.hand import Hand
from workbook.scenario.helper import left_misheard

pytestmark = pytest.mark.slow

GUIDELINES = [edition for edition in editions() if edition != "practice"]
DRAWS = 300 // len(GUIDELINES)


def unmet(verdict) -> list[str]:
    return [f"{f.criterion}: {f.says}" for f in verdict.findings if not f.met]


def harmed(verdict) -> set[str]:
    return {f.criterion.removeprefix("case-") for f in verdict.unsafe}


# --- an expert


@pytest.mark.parametrize("edition", GUIDELINES)
def test_an_expert_earns_nine_tenths_of_every_drawn_case(edition):
    """By the edition's own steps, in every course, without harm and without a belief."""
    book = rulebook(edition)
    for n in range(DRAWS):
        met = case(EVERY[n % len(EVERY)], f"marks-{n}", book)
        found = marked(met, expert(met, book), book)
        assert found.possible == 20
        assert found.earned >= 18, (met.hidden.id, n, unmet(found))
        assert not found.unsafe, (met.hidden.id, n, unmet(found))
        assert not found.misconceptions, (met.hidden.id, n, found.misconceptions)


class Unheeding(Expert):
    """Somebody who does all an expert does, and never listens to what the helper repeats."""

    def do(self, act, what=None):
        """Do an act, however the helper answers."""
        Hand.do(self, act, what)


def test_a_line_that_was_misheard_is_to_be_put_right():
    """An expert says it again; who does not keeps half of the points, and harms nobody."""
    left = 0
    for n in range(36):
        met = case(EVERY[n % len(EVERY)], f"heard-{n}")
        careful, deaf = expert(met, BOOK), Unheeding(met, BOOK).play()
        assert left_misheard(met, careful.done, 15) is None
        wrong = left_misheard(met, deaf.done, 15)
        if wrong is None or deaf.duration - wrong.time <= 15:
            continue
        left += 1
        (lost,) = [f for f in marked(met, deaf, BOOK).findings if f.criterion == "case-aloud"]
        assert not lost.met
        assert lost.earned == pytest.approx(lost.possible / 2, abs=0.01)
        assert not lost.unsafe
        assert "say it again" in lost.says
    assert left >= 10


@pytest.mark.parametrize("edition", ["aha-2020", "erc-2021", "who-2012"])
def test_the_points_of_what_is_judged_come_to_the_same_sum(edition):
    """Whatever a course asks and an edition leaves open; what is open is worth nothing."""
    book = rulebook(edition)
    for id in EVERY:
        met = case(id, 4, book)
        found = criteria(Facts(replay(met, expert(met, book), book), book))
        worth = shares(found)
        assert round(sum(worth.values()), 2) == 20
        assert {one.id for one in found if one.blank} == {id for id in worth if not worth[id]}


def test_what_an_edition_does_not_state_is_not_marked_and_says_so():
    """One states no saturation at all; another states floors, and no upper end."""
    says = {}
    for edition in ("who-2012", "erc-2021", "aha-2020"):
        book = rulebook(edition)
        met = case("easy", 2, book)
        found = marked(met, expert(met, book), book)
        says[edition] = {
            f.criterion.removeprefix("case-") for f in found.findings if "not judged" in f.says
        }
        assert all(f.possible == 0 for f in found.findings if "not judged" in f.says)
    assert says == {"who-2012": {"up", "down"}, "erc-2021": {"down"}, "aha-2020": set()}


# --- nothing, nonsense


def test_nothing_earns_nothing():
    """No answer, and one that is no record: both in one sentence, out of the full points."""
    for value, says in ((None, "Not answered"), ({"format": "x"}, "no record of a case")):
        found = of_record(case("easy"), value, BOOK)
        assert (found.earned, found.possible, len(found.findings)) == (0, 20, 1)
        assert says in found.findings[0].says


def test_a_record_is_marked_as_the_play_it_tells_of():
    """There and back again, the points are the same."""
    met = case("leak", 3)
    done = expert(met, BOOK)
    assert of_record(met, done.to_data(), BOOK) == marked(met, done, BOOK)


# --- hands that are not steady


class Unsteady(Expert):
    """Knows what to do, begins later, holds unevenly, forgets to say half of it."""

    def __init__(self, met, book, seed):
        super().__init__(met, book)
        self.draw = random.Random(seed)  # noqa: S311 (the same always, no secret)

    def prepare(self):
        """Begin later."""
        self.wait(self.draw.uniform(0, 8))
        super().prepare()

    def inflate(self, held, period):
        """Hold unevenly, at an uneven pace."""
        uneven = max(0.25, held * self.draw.uniform(0.75, 1.25))
        return super().inflate(uneven, period * self.draw.uniform(0.85, 1.2))

    def do(self, act, what=None):
        """Think before each act, and leave half unsaid."""
        if act in ("say", "heart-rate") and self.draw.random() < 0.5:
            return
        if act not in ("occlude", "release"):
            self.wait(self.draw.uniform(0.2, 1.5))
        super().do(act, what)


def test_an_unsteady_hand_that_knows_what_to_do_is_told_of_no_harm_and_of_no_belief():
    """Slower, uneven and half silent, it still earns most of the points."""
    for n in range(27):
        book = rulebook(GUIDELINES[n % len(GUIDELINES)])
        met = case(EVERY[n % len(EVERY)], f"unsteady-{n}", book)
        found = marked(met, Unsteady(met, book, n).play(), book)
        assert not found.unsafe, (met.hidden.id, n, unmet(found))
        assert not found.misconceptions, (met.hidden.id, n, found.misconceptions)
        assert found.earned >= 16, (met.hidden.id, n, unmet(found))


# --- guessing


def guessed(met, book, seed):
    """Return the play of somebody who knows nothing: acts drawn, each in the time it takes."""
    hand, draw, pressed = Hand(met, book), random.Random(seed), False  # noqa: S311
    says = {"line": lambda: draw.choice(list(LINES)), "percent": lambda: draw.choice([21, 30, 100]),
            "rate": lambda: draw.choice([50, 80, 120, 150])}  # fmt: skip
    while hand.time < hand.limit:
        act = draw.choice([id for id in ACTS if id != "release"])
        if act == "occlude":
            for _ in range(min(draw.randint(1, 20), int((hand.limit - hand.time) / 2))):
                hand.inflate(0.5, 1.5)
        elif act in ("compress", "compress-stop"):
            if (act == "compress") != pressed:
                hand.do(act)
                pressed = not pressed
        elif act in DIALS:
            at = met.positions[act] + draw.randint(-10, 20)
            hand.do(act, max(0, min(DIALS[act].clicks, at)))
        else:
            hand.do(act, *([says[ACTS[act].says]()] if ACTS[act].says else []))
        hand.wait(draw.uniform(0.3, 4))
    return hand.played


def test_who_guesses_earns_less_than_half_and_passes_nowhere():
    """Acts at random are read as a record, and what they would have harmed is told."""
    earned = []
    for n in range(36):
        book = rulebook(GUIDELINES[n % len(GUIDELINES)])
        met = case(EVERY[n % len(EVERY)], f"guess-{n}", book)
        found = of_record(met, guessed(met, book, n).to_data(), book)
        assert len(found.findings) > 1, found.findings[0].says
        assert found.unsafe or found.earned < 16
        earned.append(found.earned)
    assert sum(earned) / len(earned) < 10


# --- four plays that harm, where they do and only there

HARMS = {
    do_nothing: {id: {"begin"} for id in EVERY} | {
        "breather": {"support"}, "gas-fails": {"begin", "bag"},
    },
    ventilate_everybody: {
        "leak": {"acted"}, "position": {"acted"}, "laryngeal-mask": {"acted"},
        "gas-fails": {"bag"}, "compressions": {"decided"}, "breather": {"spared"},
    },
    oxygen_for_all: {id: {"down"} for id in EVERY if id != "gas-fails"},
    compress_first: {id: {"begin", "decided"} for id in EVERY if id != "breather"},
}  # fmt: skip


@pytest.mark.parametrize("play", HARMS, ids=lambda play: play.__name__)
def test_a_play_that_harms_is_critical_where_it_harms_and_only_there(play):
    """Typed here: in which course what was done, or left, could have harmed this baby."""
    turn = count()
    for id in EVERY:
        for edition in islice(iter_from(next(turn)), 3):
            book = rulebook(edition)
            met = case(id, 7, book)
            found = marked(met, play(met, book), book)
            assert harmed(found) == HARMS[play].get(id, set()), (id, edition, unmet(found))
            assert found.earned < 20 or not HARMS[play].get(id)


def iter_from(start: int):
    """Yield editions in turn, so that a few tell of all."""
    return (GUIDELINES[(start + 5 * n) % len(GUIDELINES)] for n in count())


def test_who_does_nothing_earns_nothing():
    """No point is given for what could not be seen."""
    for id in EVERY:
        met = case(id, 3)
        assert marked(met, do_nothing(met, BOOK), BOOK).earned == 0, id


# --- beliefs


def test_every_belief_has_its_words_its_sign_and_its_play():
    """Twelve of each, with a rule that there is."""
    assert set(believed()) == set(SIGNS) == set(PLAYS)
    assert len(believed()) == 12
    assert all(each.rule in BOOK for each in believed().values())


@pytest.mark.parametrize("belief", PLAYS)
def test_a_belief_is_named_in_the_plays_of_who_holds_it(belief):
    """In at least 98 of 100 whole plays, and no other with it."""
    named = all_of = other = 0
    start = list(PLAYS).index(belief)
    for id in (id for id in EVERY if belief in shown_by(id)):
        for n, edition in enumerate(islice(iter_from(start), 4)):
            book = rulebook(edition)
            met = case(id, f"belief-{n}", book)
            found = marked(met, played(met, belief, book), book).misconceptions
            all_of += 1
            named += belief in found
            other += bool(set(found) - {belief})
    assert named >= 0.98 * all_of, (named, all_of)
    assert other <= 0.02 * all_of, (other, all_of)


class SlowMonitor(PLAYS["waits-for-the-monitor"]):
    """Waits for a monitor, and has it put on late."""

    def prepare(self):
        """Rub the back first, for a minute."""
        self.wait(70)
        super().prepare()


def test_beliefs_that_are_called_unsafe_can_harm_though_most_cases_forgive_them():
    """Nobody looks at a heart that stays slow; no breath is given until a monitor shows."""
    slow = case("compressions", "harm")
    assert harmed(marked(slow, played(slow, "chest-is-enough", BOOK), BOOK)) == {"decided"}
    late = marked(case("easy", "harm"), SlowMonitor(case("easy", "harm"), BOOK).play(), BOOK)
    assert harmed(late) == {"begin"}
    assert {f.misconception for f in late.unsafe} == {"waits-for-the-monitor"}


def test_every_sentence_of_the_marks_can_be_said():
    """Each slip that is found has its words, and every field of them is filled in."""
    words = {
        "edition": "", "other": "", "worst": "", "limit": "", "at": "", "within": "", "top": "",
        "compress": "",
    }  # fmt: skip
    table = key()
    texts = [row["right"] for row in table["criterion"].values()]
    texts += [row["says"] for row in table["slip"].values()]
    assert all(text.format_map(words) for text in texts)
