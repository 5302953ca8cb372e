"""Runs too alike to be two people's are found; two people's own runs are not."""

from __future__ import annotations

import random
from itertools import combinations

from graders.grading.fingerprint import FEWEST, fingerprint
from graders.grading.similar import ALIKE, alike


def hands(seed: int, moves: int = 40) -> list[list]:
    """Return a run as one person would make it: every pause a little different."""
    chance, now, rows = random.Random(seed), 0.0, []  # noqa: S311
    for n in range(moves):
        now += chance.uniform(0.15, 1.2)
        rows.append([round(now, 4), ("occlude", "release")[n % 2]])
    return rows


def prints(*runs) -> dict:
    return {("u", "q", f"l{n:03d}"): fingerprint({"actions": run}) for n, run in enumerate(runs)}


def test_a_copied_run_is_found_with_its_evidence():
    """The pair, and how much of it is the same."""
    (pair,) = alike(prints(hands(1), hands(2), hands(1)))
    assert (pair.one, pair.other, pair.share) == ("l000", "l002", 1.0)
    assert "l000 and l002: 100%" in pair.says


def test_a_copy_moved_in_time_or_with_a_few_changes_is_found():
    """Starting later or doing one thing more does not hide a copy."""
    own = hands(1)
    later = [[t + 7.3, kind] for t, kind in own]
    longer = [*own[:20], [own[19][0] + 0.05, "cap"], *own[20:]]
    assert len(alike(prints(own, later))) == 1
    (pair,) = alike(prints(own, longer))
    assert ALIKE <= pair.share < 1


def test_two_hundred_people_with_the_same_task_are_not_alike():
    """Nobody is suspected for doing what was asked."""
    assert alike(prints(*(hands(n) for n in range(200)))) == []


def test_too_short_or_unreadable_runs_say_nothing():
    """A few moves are the same by chance, and nonsense has no print."""
    assert fingerprint({"actions": hands(1, FEWEST - 1)}) == ()
    for value in (None, 3, [], {"actions": "x"}, {"actions": [[None, "cap"]] * 20}):
        assert fingerprint(value) == ()


def test_a_run_copied_by_a_whole_class_is_named_and_takes_no_time():
    """Each of 3000 copies stands in a pair; the pairs grow with the copies, not their square."""
    one = fingerprint({"actions": hands(1)})
    copies = {("u", "q", f"l{n:04d}"): one for n in range(3000)}
    found = alike(copies)
    assert {id for pair in found for id in (pair.one, pair.other)} == {id for _, _, id in copies}
    assert len(found) < 13 * len(copies)
    assert all(pair.share == 1 for pair in found)


def test_the_order_of_the_runs_changes_nothing():
    """Pairs come in one order, whoever was read first."""
    own = prints(hands(1), hands(2), hands(1), hands(2), hands(3))
    assert alike(own) == alike(dict(reversed(own.items())))
    assert len(alike(own)) == 2


def test_pairs_are_those_that_sets_of_passages_give():
    """Small groups, drawn passages: every pair and its share as Python's own sets count them."""
    chance = random.Random(3)  # noqa: S311
    for _ in range(50):
        size = chance.randrange(1, 12)
        drawn = {
            ("u", "q", f"l{n:03d}"): sorted(
                {chance.randrange(2**47 if chance.random() < 0.3 else 9) for _ in range(8)}
            )
            for n in range(size)
        }
        expected = {
            (one[2], other[2]): len({*a} & {*b}) / min(len(a), len(b))
            for (one, a), (other, b) in combinations(drawn.items(), 2)
        }
        found = {(pair.one, pair.other): pair.share for pair in alike(drawn)}
        assert found == {pair: share for pair, share in expected.items() if share >= ALIKE}
