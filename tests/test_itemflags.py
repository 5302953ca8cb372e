"""What the figures of questions say in words: what misleads, draws many, is hard or soft."""

from __future__ import annotations

import numpy as np
import pytest

from graders.items.flags import Sign, flags, reliability, strength
from tests.items_base import BOOK, FIVE_MADE, made


def test_questions_that_mislead_are_named_first():
    """A question that goes against the rest is named, with whether it may be chance."""
    good = np.repeat([[1.0, 1, 1, 0], [0, 0, 0, 1]], 40, axis=0)
    stats = made(good)
    signs = [f.sign for f in flags(stats.items[3], {}, BOOK)]
    assert signs == [Sign.MISLEADS]
    assert strength(stats.items[3].corrected, BOOK) == "misleads"
    few = made([[1, 1, 0], [0, 0, 1], [1, 0, 1], [0, 0, 0], [1, 1, 0]]).items[2]
    assert [f.sign for f in flags(few, {"falls-to-zero": 4}, BOOK)] == [Sign.PULLS, Sign.MAY]
    assert strength(few.corrected, BOOK) == "may mislead"
    mixed = np.random.default_rng(1957).permutation(good.copy().ravel()).reshape(good.shape)
    weak = next(i for i in made(mixed).items if abs(i.corrected.value) < 0.15)
    assert "chance" in flags(weak, {}, BOOK)[0].says


@pytest.mark.parametrize(
    ("r", "word"), [(-0.01, "may mislead"), (0.149, "weak"), (0.15, "acceptable"),
                    (0.25, "acceptable"), (0.251, "good")],
)  # fmt: skip
def test_discrimination_in_words_follows_the_rule_of_thumb(r, word):
    """Varma 2006: from 0.15 on acceptable, above 0.25 good."""
    from graders.items.intervals import Estimate

    assert strength(Estimate(r), BOOK) == word


def test_a_belief_that_draws_many_is_named_and_a_small_group_is_not():
    """A third of the answers, and at least three learners, so that no one is pointed at."""
    item = made(np.repeat([[1.0, 1], [0, 0]], 6, axis=0)).items[0]
    drawn = flags(item, {"falls-to-zero": 4, "outlet-open": 3}, BOOK)
    assert [f.misconception for f in drawn] == ["falls-to-zero"]
    few = made([[1.0, 1], [0, 0], [1, 1], [0, 0]]).items[0]
    assert flags(few, {"falls-to-zero": 2}, BOOK) == ()


def test_hard_and_soft_questions_are_named():
    """Outside the bounds of item.difficulty a question is named."""
    table = np.zeros((40, 3))
    table[:, 0], table[:20, 1], table[:2, 2] = 1, 1, 1
    stats = made(table)
    found = [{f.sign for f in flags(i, {}, BOOK)} for i in stats.items]
    assert Sign.SOFT in found[0]
    assert not {Sign.SOFT, Sign.HARD} & found[1]
    assert Sign.HARD in found[2]


def test_reliability_in_words():
    """A strong test is called so, a weak one not; few learners are said to be few."""
    strong = np.repeat([[1.0] * 4, [0.0] * 4, [1, 1, 1, 0]], 20, axis=0)
    assert "well enough" in " ".join(reliability(made(strong), BOOK))
    assert "rank nobody" in " ".join(reliability(FIVE_MADE, BOOK))
    assert "against one another" in " ".join(reliability(made([[1, 0], [0, 1], [1, 1]] * 20), BOOK))
    assert "12 learners only" in " ".join(reliability(made(strong[::5]), BOOK))
