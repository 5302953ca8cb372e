"""The baby: check numbers of a second writing, directions that must hold, hidden courses."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tests.baby_base import AIR, APNOEA, BREATHES, BY_HAND, chance, played, shown
from workbook.physics.baby import (
    BREATHING,
    KINDS,
    TONE,
    Drive,
    advance,
    born,
    breathing,
    constants,
    drawn,
    healthy,
    inflations,
    k,
    preterm,
    term,
    tone,
)
from workbook.rules import Basis, RuleError
from workbook.rules.files import file

pytestmark = pytest.mark.slow


def bagged(pip, oxygen):
    return inflations(pip, 6, 40, 0.5, oxygen)


# (name, baby, parts, [(heart rate, saturation) at the end of each]): written down by a second
# writing of the equations with another way to step (Runge-Kutta of second order), to whole beats
# and tenths; a dash where it gives none.
CHECKS = [
    ("healthy", healthy(3), [(t, BREATHES) for t in (60, 120, 300, 600)],
     [(165, 66.0), (165, 73.1), (165, 89.0), (165, 94.9)]),
    ("no breath", term(3), [(60, APNOEA), *((t, BY_HAND) for t in (75, 90, 120, 300))],
     [(84, 32.5), (87, 42.0), (113, 42.2), (163, 50.6), (165, 86.5)]),
    ("deeper", term(3, depth=0.5), [(60, APNOEA), (120, BY_HAND)], [None, (130, 38.2)]),
    ("deep", term(3, depth=0.8), [(60, APNOEA), (120, BY_HAND)], [None, (85, 32.8)]),
    ("deepest, compressions", term(3, depth=0.97), [
        (60, APNOEA), (120, BY_HAND),
        (240, replace(inflations(30, 5, 30, 0.5, 1.0, compressions=True), effort=0.0))],
     [None, None, (89, 89.1)]),
    ("deepest, none", term(3, depth=0.97), [
        (60, APNOEA), (120, BY_HAND),
        (240, replace(inflations(30, 5, 30, 0.5, 1.0), effort=0.0))], [None, None, (53, 83.2)]),
    *((f"below 32 weeks, {oxygen:g}", preterm(1.2, breath=15),
       [(45, Drive(oxygen=oxygen)), (300, bagged(25, oxygen))], [None, (None, end)])
      for oxygen, end in ((AIR, 54.0), (0.3, 88.2), (1.0, 99.0))),
    ("gas fails", term(3),
     [(60, APNOEA), (90, BY_HAND), (105, APNOEA), (115, BY_HAND), (130, BY_HAND)],
     [None, (113, 42.2), (101, 31.1), (100, 43.3), (147, 46.8)]),
    ("apnoea on PEEP", healthy(3),
     [(600, BREATHES),
      *((600 + t, Drive(peep=5, oxygen=AIR, effort=0.0)) for t in (10, 20, 30, 60))],
     [None, (164, 89), (151, 80), (134, 73), (93, 55)]),
]  # fmt: skip


@pytest.mark.parametrize(("name", "nature", "parts", "ends"), CHECKS, ids=[c[0] for c in CHECKS])
@pytest.mark.parametrize("step", [0.05, 0.1])
def test_the_baby_agrees_with_a_second_writing_of_its_equations(name, nature, parts, ends, step):
    """Within a beat and half a point; the second writing is rounded to whole beats."""
    for state, end in zip(played(nature, parts, step), ends, strict=True):
        for found, wanted in zip(shown(state), end or (None, None), strict=True):
            assert wanted is None or found == pytest.approx(wanted, abs=1.0)
            if step < 0.1 and wanted is not None:
                assert found == pytest.approx(wanted, abs=0.75)


def test_a_step_is_short_enough():
    """Against steps of a tenth, nowhere in a play is the error more than a beat or a point."""
    for _, nature, parts, _ in CHECKS:
        every = [(until, drive) for until, drive in parts]
        for one, two in zip(played(nature, every, 0.1), played(nature, every, 0.01), strict=True):
            for a, b in zip(shown(one), shown(two), strict=True):
                assert a == pytest.approx(b, abs=1.0)


def test_the_same_draw_and_the_same_acts_give_the_same_bits():
    """Nothing but the draw and what is done decides."""
    babies = [drawn(id, 3.0, 25.0, chance(7)) for id in KINDS for _ in range(2)]
    for one, two in zip(babies[::2], babies[1::2], strict=True):
        assert one == two
        parts = [(60, APNOEA), (180, BY_HAND)]
        assert played(one.nature, parts) == played(two.nature, parts)


# --- directions


def heart_at(nature, *parts):
    return played(nature, parts)[-1].heart


@pytest.mark.parametrize("depth", [0.0, 0.2, 0.5, 0.8])
def test_ventilation_raises_a_heart_and_its_lack_does_not(depth):
    """Half a minute on, the baby who is ventilated is the faster; depth makes it later."""
    nature = term(3, depth=depth)
    with_it = heart_at(nature, (60, APNOEA), (105, BY_HAND))
    assert with_it > heart_at(nature, (60, APNOEA), (105, APNOEA)) + 2
    deeper = term(3, depth=depth + 0.1)
    assert with_it >= heart_at(deeper, (60, APNOEA), (105, BY_HAND))


def test_a_heart_has_not_yet_risen_after_fifteen_seconds_of_a_moving_lung():
    """So somebody who goes on is right: the rise of a slow heart comes after twenty seconds."""
    nature = term(3, depth=0.5)
    slow, still, later = played(nature, [(60, APNOEA), (75, BY_HAND), (120, BY_HAND)])
    assert still.heart < slow.heart + 10
    assert still.aerated > 0.4
    assert later.heart > 100


@pytest.mark.parametrize("pip", [6.0, 6.4, 6.8, 7.2, 7.4, 7.6, 8.0, 9.0, 10.0])
def test_there_is_no_cliff_in_pressure(pip):
    """A little more pressure is a little more heart rate: a centimetre moves it by 20 at most."""
    a, b = (
        heart_at(term(3), (60, APNOEA), (120, replace(inflations(p, 5, 40, 0.5, AIR), effort=0)))
        for p in (pip, pip + 0.2)
    )
    assert 0 <= b - a < 4 + 1e-9


def test_a_shut_airway_is_no_ventilation():
    """Pressure behind a tongue aerates nothing and moves no heart."""
    shut = replace(BY_HAND, patent=0.0)
    _, there = played(term(3, depth=0.3), [(60, APNOEA), (120, shut)])
    _, nothing = played(term(3, depth=0.3), [(60, APNOEA), (120, replace(APNOEA, peep=5))])
    assert there.aerated == 0
    assert there.heart == pytest.approx(nothing.heart, abs=0.5)


def test_peep_keeps_a_lung_open_and_its_lack_lets_it_close():
    """After a minute of no inflations the lung held by PEEP has lost nothing."""
    parts = [(60, APNOEA), (120, BY_HAND)]
    held = played(term(3), [*parts, (150, replace(APNOEA, peep=5))])[-1]
    lost = played(term(3), [*parts, (150, APNOEA)])[-1]
    at = played(term(3), parts)[-1].aerated
    assert held.aerated == pytest.approx(at)
    assert lost.aerated == pytest.approx(at * math.exp(-0.5), rel=1e-6)


def test_oxygen_acts_on_saturation_and_hardly_on_the_heart():
    """Below 32 weeks oxygen is worth much saturation, and the heart goes about the same way."""
    air, pure = (
        played(preterm(1, breath=15), [(45, Drive(oxygen=o)), (120, bagged(25, o))])[-1]
        for o in (AIR, 1.0)
    )
    assert pure.saturation > air.saturation + 0.3
    assert pure.heart == pytest.approx(air.heart, abs=8)


@pytest.mark.parametrize("depth", [0.0, 0.3, 0.97])
def test_left_alone_a_baby_is_slow_and_never_dead(depth):
    """Ten minutes of nothing: every state stays finite and within its bounds, the heart beats."""
    state = played(term(3, depth=depth), [(600, APNOEA)])[-1]
    assert 45 <= state.heart <= 70
    assert all(math.isfinite(value) for value in state)
    for name in ("aerated", "vessels", "returning", "stretch", "depth", "saturation", "rise"):
        assert 0 <= getattr(state, name) <= 1, name


@pytest.mark.parametrize("pip", [0.0, 5.0, 30.0, 80.0])
@pytest.mark.parametrize("oxygen", [AIR, 1.0])
@pytest.mark.parametrize("depth", [0.0, 0.98])
def test_a_baby_stays_within_its_bounds_whatever_reaches_it(pip, oxygen, depth):
    """The most and the least a circuit can give leave no state out of bounds."""
    wild = inflations(pip, 0, 120, 0.4, oxygen)
    for nature in (term(5, depth=depth), preterm(0.5, depth=depth)):
        for state in played(nature, [(until, wild) for until in range(20, 420, 20)]):
            assert all(math.isfinite(value) for value in state)
            assert 0 <= state.saturation <= k("most")
            assert 45 <= state.heart <= 170


# --- own breathing, tone


def test_own_breathing_comes_back_later_the_deeper_the_asphyxia():
    """It comes back after the heart has been fast for a while, and grows."""
    came = []
    for depth in (0.1, 0.4, 0.7):
        nature, kept = term(3, depth=depth), []
        state = advance(nature, born(nature), APNOEA, 60)
        advance(nature, state, replace(BY_HAND, effort=None), 420, kept.append)
        came.append(next(s.time for s in kept if s.effort > 0))
        assert breathing(nature, kept[-1], 5.0) in ("breathes", "weak")
    assert came == sorted(came)
    assert came[0] < 200
    assert came[-1] > came[0] + 60


def test_breathing_and_tone_are_told_in_a_few_words():
    """Each word is met in some state, and in no state anything else."""
    seen, toned = set(), set()
    for depth in (0.1, 0.5, 0.95):
        nature, kept = term(3, depth=depth), []
        advance(nature, born(nature), Drive(oxygen=AIR), 60, kept.append)
        advance(nature, kept[-1], replace(BY_HAND, effort=None), 420, kept.append)
        seen |= {breathing(nature, state, 0.0) for state in kept}
        toned |= {tone(state) for state in kept}
    small, kept = preterm(1, breath=15), []
    advance(small, born(small), Drive(oxygen=AIR), 60, kept.append)
    seen |= {breathing(small, state, 0.0) for state in kept}
    assert seen == set(BREATHING)
    assert toned == set(TONE)
    assert breathing(small, kept[-1], 6.0) == "breathes"  # with PEEP it draws in no more


# --- hidden courses, rules


@pytest.mark.parametrize("id", KINDS)
def test_each_course_draws_babies_that_differ(id):
    """Depth lies within its limits, the gas fails where it should and nowhere else."""
    babies = [drawn(id, 3.0, 25.0, chance((id, n))) for n in range(60)]
    assert len({b.nature for b in babies}) == len(babies)
    for baby in babies:
        assert (baby.fails is not None) == baby.kind.fails
        assert (baby.leak is not None) == bool(baby.kind.seals)
        assert (baby.nature.breath is not None) == baby.kind.breathes
        if not baby.kind.breathes:
            low, high = file("baby")[f"baby.course.{id}"].band
            assert low <= baby.nature.depth <= high
        assert baby.nature.preterm == baby.kind.very_preterm


@pytest.mark.parametrize("start", [20.0, 25.0, 30.0])
def test_a_stiff_lung_opens_slowly_at_the_start_and_well_at_ten_more(start):
    """Whatever an edition starts with, a stiff lung needs more for the same heart."""
    nature = drawn("stiff", 3.0, start, chance(1)).nature
    rates = [
        played(nature, [(60, APNOEA), (120, replace(inflations(p, 5, 40, 0.5, AIR), effort=0.0))])
        for p in (start, start + 10)
    ]
    slow, well = (each[-1].aerated for each in rates)
    assert slow < 0.6
    assert well > slow + 0.15


def test_every_constant_has_a_source_and_what_is_assumed_says_so():
    """No number of the model is without one; an assumption claims no publication."""
    for rule in file("baby"):
        assert rule.id.startswith("baby.")
        assert rule.stated
        own = rule.citation.source.key == "assumption"
        assert own == (rule.citation.basis is Basis.ASSUMPTION), rule.id
        assert own or rule.citation.locator, rule.id
    assert len(constants()) > 80
    with pytest.raises(RuleError):
        _ = file("baby")["baby.nothing"]


def test_every_constant_is_used():
    """A constant that nothing asks for would be an ornament."""
    from pathlib import Path

    import workbook.physics.baby as package

    code = "".join(p.read_text() for p in Path(package.__file__).parent.glob("*.py"))
    patterns = {"oximeter.": 'f"{kind}.', "leads.": 'f"{kind}.', "course.": 'f"course.{id}'}
    for id in (rule.id.removeprefix("baby.") for rule in file("baby")):
        by_part = any(id.startswith(p) and code.count(f) for p, f in patterns.items())
        assert f'"{id}"' in code or by_part, id
