"""A trial: its signs to the digits worked out beforehand, what tells look-alikes apart, its record.

The table of signs was worked out by hand-made changes of the circuit at 8 L/min, 25/5, relief 30,
and typed from there; a trial reaches them by its own way, with controls in clicks.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.trial_base import drawn, facts, scene
from workbook.rules import rulebook
from workbook.trial import (
    FAMILIES,
    NAMED,
    State,
    Trial,
    TrialError,
    named_in,
    read_trial,
    tables,
    tells,
)
from workbook.trial.apart import (
    READ_OFF,
    confused,
    differ,
    look_alikes,
    read_off,
    shown,
    states,
    told_apart,
)
from workbook.trial.moves import may
from workbook.trial.tells import chest, sign_of
from workbook.units.faults.case.questions import seconds

pytestmark = pytest.mark.slow

BOOK = rulebook("aha-2025")
SECONDS, LIMIT = seconds(BOOK), BOOK["trial.limit"].band[1]

# fault: needle at rest, held, with the mask off (cmH2O), and how the chest moves
SIGNS = {
    "no-gas": (0.0, 0.0, 0.0, "none"),
    "hose-off": (0.0, 0.0, 0.0, "none"),
    "flow-low": (0.8, 21.7, 0.1, "good"),
    "gas-fading": (0.8, 21.7, 0.1, "good"),
    "flow-high": (17.1, 27.6, 0.7, "little"),
    "leak-some": (4.0, 23.7, 0.4, "good"),
    "leak-large": (1.7, 6.7, 0.4, "little"),
    "cap-under-finger": (0.6, 25.0, 0.3, "good"),
    "cap-beside-finger": (1.7, 6.7, 0.3, "little"),
    "hole-narrow": (22.8, 25.0, 0.4, "none"),
    "hose-kinked": (12.7, 25.0, 8.1, "good"),
    "hose-blocked": (25.0, 25.0, 25.0, "none"),
    "outlet-open": (0.4, 0.4, 0.4, "none"),
    "relief-low": (5.0, 20.0, 0.4, "little"),
    "pip-open": (5.0, 30.0, 0.4, "good"),
    "limits-fail": (5.0, 80.0, 0.4, "good"),
    "needle-sticks": (25.0, 25.0, 25.0, "good"),
    "needle-off-zero": (8.0, 28.0, 3.4, ""),
    "gauge-blocked": (0.0, 0.0, 0.0, "good"),
    "airway-blocked": (5.0, 25.0, 0.4, "none"),
    "lung-stiff": (5.0, 25.0, 0.4, "little"),
    "oxygen-out": (5.0, 25.0, 0.4, "good"),
}
# A click of PIP or relief moves the needle by a quarter, one of the hole by a fortieth of PEEP.
CLICK = 0.2


def test_every_fault_that_can_be_named_is_in_the_table() -> None:
    """No fault is asked whose signs nobody worked out."""
    assert set(SIGNS) == set(NAMED)


@pytest.mark.parametrize("fault", SIGNS)
def test_signs_in_a_trial_are_those_worked_out(fault: str) -> None:
    """To the digit, but for the click to which the controls stand."""
    rest, held, off, moves = SIGNS[fault]
    of = scene(fault, NAMED[fault].settings[-1])
    state = of.start
    assert of.needle(state, held=False) == pytest.approx(rest, abs=CLICK)
    assert of.needle(state, held=True) == pytest.approx(held, abs=CLICK)
    opened = of.after(state, "open")
    assert of.needle(opened, held=False) == pytest.approx(off, abs=CLICK)
    if moves:
        assert chest(of, state) == moves


def test_a_right_device_shows_what_was_set_and_moves_a_whole_chest() -> None:
    """The fault is all that is wrong."""
    of = scene("no-gas").with_fault("")
    assert of.needle(of.start, held=False) == pytest.approx(5, abs=CLICK)
    assert of.needle(of.start, held=True) == pytest.approx(25, abs=CLICK)
    assert of.brings(of.start) == 1
    assert not of.present(of.start)


# fault, its look-alike, the move that tells them, with the hole covered
PAIRS = [
    ("no-gas", "hose-off", "look-flow", False),
    ("no-gas", "hose-off", "look-supply", False),
    ("no-gas", "gauge-blocked", "look-flow", False),
    ("hose-off", "gauge-blocked", "follow-hose", False),
    ("hose-off", "gauge-blocked", "listen-box", False),
    ("no-gas", "outlet-open", "look-flow", False),
    ("hose-off", "outlet-open", "follow-hose", False),
    ("outlet-open", "gauge-blocked", "cap", True),
    ("no-gas", "gauge-blocked", "chest", True),
    ("needle-sticks", "hose-blocked", "listen-t", False),
    ("needle-sticks", "hose-blocked", "chest", True),
    ("needle-sticks", "hole-narrow", "open", False),
    ("hole-narrow", "hose-blocked", "open", False),
    ("cap-under-finger", "flow-low", "look-flow", False),
    ("cap-under-finger", "gas-fading", "look-supply", False),
    ("flow-low", "gas-fading", "look-supply", False),
    ("flow-high", "pip-open", "look-flow", False),
    ("flow-high", "limits-fail", "look-flow", False),
    ("flow-high", "hose-kinked", "look-flow", False),
    ("pip-open", "limits-fail", "needle", True),
    ("hose-kinked", "pip-open", "open", False),
    ("hose-kinked", "hole-narrow", "open", False),
    ("leak-some", "cap-under-finger", "cap", False),
    ("leak-large", "cap-beside-finger", "cap", True),
    ("leak-large", "airway-blocked", "needle", True),
    ("airway-blocked", "lung-stiff", "bag", False),
    ("airway-blocked", "lung-stiff", "chest", True),
    ("leak-some", "airway-blocked", "listen-mask", True),
    ("leak-some", "airway-blocked", "chest", True),
    ("leak-some", "lung-stiff", "listen-mask", True),
    ("relief-low", "oxygen-out", "look-blender", False),
    ("relief-low", "oxygen-out", "needle", True),
    ("needle-off-zero", "relief-low", "needle", True),
]


@pytest.mark.parametrize(("one", "other", "by", "held"), PAIRS)
def test_look_alikes_are_told_apart_by_their_test_in_200_draws(
    one: str, other: str, by: str, held: bool
) -> None:
    """Over lungs, flows, settings and editions."""
    both = set(NAMED[one].settings) & set(NAMED[other].settings)
    tried = 0
    for n in range(600):
        of = drawn(one, n)
        if of.setting not in both or (by in ("chest", "bag") and of.setting == "before"):
            continue
        acts = [(by, None)] if by in ("cap", "open") else []
        look = "needle" if acts else by
        seen = [shown(s, states(s, acts)[-1], look, held=held) for s in (of, of.with_fault(other))]
        assert differ(*seen, look, 2.0), (n, seen)
        tried += 1
        if tried == 200:
            break
    assert tried == 200


def test_every_pair_of_look_alikes_has_a_test_in_the_table() -> None:
    """Within each family, and in each setting: none is left to guessing."""
    told = {frozenset(pair[:2]) for pair in PAIRS}
    for family in FAMILIES:
        for fault in named_in("baby", family):
            for other in named_in("baby", family):
                pair = frozenset((fault, other))
                if len(pair) == 2 and not _far_apart(*pair):
                    assert pair in told, pair


def _far_apart(one: str, other: str) -> bool:
    """Say whether the needle at rest or held tells two faults anyhow."""
    return any(abs(a - b) >= 2 for a, b in zip(SIGNS[one][:2], SIGNS[other][:2], strict=True))


@pytest.mark.parametrize("fault", NAMED)
def test_some_move_tells_a_fault_from_every_other(fault: str) -> None:
    """In each of 20 drawn settings; where none did, the fault would not be asked."""
    for n in range(20):
        assert confused(drawn(fault, n), 2.0) == []


@pytest.mark.parametrize("fault", NAMED)
def test_what_is_read_off_at_the_beginning_follows_from_fault_and_flow_alone(fault: str) -> None:
    """In drawn scenes: it is kept for all pressures, babies and editions of one flow."""
    for n in range(30):
        asked = drawn(fault, n)
        looks = [id for id in READ_OFF if may(id, asked.setting)]
        assert looks
        begun = asked.start
        for held in (False, True):
            assert read_off(asked, fault) == tuple(
                sign_of(asked, begun, id, held=held) for id in looks
            )


def test_a_fault_that_no_move_tells_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two names for one crack could never be told apart, and then neither is asked."""
    monkeypatch.setitem(NAMED, "leak-some", NAMED["cap-under-finger"])  # type: ignore[arg-type]
    assert confused(scene("leak-some"), 2.0) == ["cap-under-finger"]
    assert not told_apart(scene("leak-some", flow=9.0), 2.0)


@pytest.mark.parametrize("fault", NAMED)
def test_mending_it_mends_it_and_mending_another_does_not(fault: str) -> None:
    """Both pressures are right again, and nothing else makes them so."""
    of = scene(fault, NAMED[fault].settings[-1])
    assert of.present(of.start)
    after = of.after(of.start, "mend", fault)
    assert not of.present(after)
    if fault != "lung-stiff":
        assert of.needle(after, held=True) == pytest.approx(25, abs=CLICK)
        assert of.needle(after, held=False) == pytest.approx(5, abs=CLICK)
        assert of.brings(after) == pytest.approx(1, abs=0.1)
    others = [id for id in look_alikes(of) if NAMED[id].mend != NAMED[fault].mend]
    for other in others:
        if not (NAMED[other].device or (NAMED[other].dial and NAMED[fault].dial)):
            assert of.present(of.after(of.start, "mend", other)), other


@pytest.mark.parametrize(
    ("fault", "act"),
    [
        ("hole-narrow", "swap-t"), ("cap-under-finger", "swap-t"), ("cap-beside-finger", "swap-t"),
        ("leak-some", "swap-mask"), ("leak-large", "swap-mask"), ("airway-blocked", "reposition"),
        ("airway-blocked", "ease-hold"),
    ],
)  # fmt: skip
def test_a_new_part_or_a_better_hold_mends_what_lay_in_it_and_nothing_else(
    fault: str, act: str
) -> None:
    """The needle and the chest follow, without a name."""
    of = scene(fault)
    after = of.after(of.start, act)
    assert not of.present(after)
    assert of.brings(after) == pytest.approx(1, abs=0.05)
    other = scene("hose-kinked")
    assert other.present(other.after(other.start, act))


def test_what_a_look_tells_follows_the_model() -> None:
    """The same words would be a script; here numbers and loudness come from the circuit."""
    low = scene("flow-low")
    assert "3 L/min" in tells(low, low.start, "look-flow", held=False)
    fading = scene("gas-fading", flow=10.0)
    assert "3.8 L/min" in tells(fading, fading.start, "look-flow", held=False)
    assert "10 L/min" in tells(fading, fading.start, "look-flow", held=False)
    pip = scene("oxygen-out")
    assert sign_of(pip, pip.start, "listen-box", held=False) == "box-silent"
    assert sign_of(pip, pip.start, "listen-box", held=True) == "box-loud"
    assert tells(pip, pip.start, "occlude", held=True) == ""
    cracked = scene("cap-beside-finger")
    assert "beside your finger" in tells(cracked, cracked.start, "listen-t", held=True)
    assert "beside your finger" not in tells(cracked, cracked.start, "listen-t", held=False)


def test_the_page_s_tables_play_the_fault() -> None:
    """The needle of the tables at rest is the needle of the trial."""
    of = scene("hose-kinked")
    made = tables(of, of.start)
    assert made["joined"]
    well = tables(of.with_fault(""), of.start)
    assert made["manometer"] != well["manometer"]
    stuck = tables(scene("needle-sticks"), of.start)
    assert all(at == pytest.approx(25, abs=CLICK) for at in stuck["manometer"][1])


@pytest.mark.parametrize(
    "data",
    [
        None, {}, {"positions": {}}, {"positions": None, "outlet": "lung", "done": []},
        {"outlet": ["lung"], "done": []}, {"outlet": "moon", "done": []},
        {"outlet": "lung", "done": ["mend:unknown"]}, {"outlet": "lung", "done": "swap-t"},
    ],
)  # fmt: skip
def test_a_state_that_is_none_is_refused(data: Any) -> None:
    """One sentence, whatever a page sends."""
    good = scene("no-gas").start.to_data()
    given = (
        {**good, **data} if isinstance(data, dict) and data and "positions" not in data else data
    )
    with pytest.raises(ValueError, match=r"\.$"):
        State.read(given)
    assert State.read(good) == scene("no-gas").start


# --- the record


def record(*moves: list[Any], duration: int = 30_000) -> dict[str, Any]:
    head = {"format": "tpiece-trial", "version": 1, "duration": duration}
    return {**head, "moves": list(moves)}


def read(data: Any, setting: str = "baby") -> Trial:
    return read_trial(data, setting, SECONDS, LIMIT)


GOOD = record(
    [1200, "occlude"], [2200, "release"], [3900, "bag"], [7300, "look-flow"], [9000, "pip", 90],
    [13_100, "name", "hose-off"], [13_900, "sure", "fairly"], [15_000, "mend"], [21_000, "read"],
)  # fmt: skip


def test_a_record_is_read_and_written_again() -> None:
    """There and back."""
    assert read(GOOD).to_data() == GOOD
    assert read(record()).acts == ()


WRONG = [
    (None, "no record of a trial"),
    ({**GOOD, "format": "tpiece-hands"}, "no record of a trial"),
    ({**GOOD, "version": 2}, "version '2'"),
    ({**GOOD, "moves": {}}, "no list of moves"),
    ({**GOOD, "duration": 12.5}, "no time in milliseconds"),
    ({**GOOD, "duration": True}, "no time in milliseconds"),
    ({**GOOD, "duration": 10**9}, "runs from 0 to 90 s"),
    (record([1, "fly"]), "nothing that can be done here"),
    (record([1, "bag", 3]), "cannot be said of it"),
    (record([1, "pip"]), "cannot be said of it"),
    (record([1, "pip", 10**6]), "cannot be said of it"),
    (record([1, "pip", True]), "cannot be said of it"),
    (record([1, "name", "gremlins"]), "cannot be said of it"),
    (record([1, "name", ["no-gas"]]), "cannot be said of it"),
    (record(["1", "bag"]), "no time in milliseconds"),
    (record([-1, "bag"]), "runs from 0"),
    (record([1]), "not a time and a move"),
    (record("bag"), "not a time and a move"),
    (record([1000, "bag"], [1500, "look-flow"]), "before the one before it has ended"),
    (record([2000, "call"], [1000, "call"]), "before the one before it has ended"),
    (record([29_000, "call"], [31_000, "occlude"]), "after the end of the trial"),
    (record([1, "occlude"], [2, "occlude"]), "is so already"),
    (record([1, "release"]), "is so already"),
    (record([1, "mend"]), "before anything was named"),
    (record([1, "sure", "sure"]), "before anything was named"),
    (record([1, "occlude"], [2, "read"]), "while the hole is covered"),
    (record(*([[1, "name", "no-gas"]] * 401)), "at most 400"),
]


@pytest.mark.parametrize(("data", "says"), WRONG)
def test_what_cannot_have_happened_is_one_sentence(data: Any, says: str) -> None:
    """What, where; nothing is guessed."""
    with pytest.raises(TrialError, match=says) as told:
        read(data)
    assert str(told.value).endswith(".")
    assert str(told.value).count(". ") == 0


@pytest.mark.parametrize("move", ["connect", "swap-mask", "listen-mask", "reposition", "ease-hold"])
def test_a_move_that_needs_a_baby_is_not_offered_before_birth(move: str) -> None:
    """A record that holds it did not come from this trial."""
    assert read(record([1, move]))
    with pytest.raises(TrialError, match="not offered"):
        read(record([1, move]), "before")


def test_a_page_is_never_given_the_fault() -> None:
    """Two faults with the same positions give the very same page."""
    from workbook.units.faults.case.questions import shows

    one, other = (shows(facts(f), "", "", BOOK) for f in ("hose-off", "gauge-blocked"))
    assert one == other


def test_set_right_a_device_moves_the_chest_neither_little_nor_too_far() -> None:
    """So a chest that moves otherwise tells of the fault; it stays up where it cannot empty."""
    low, high = BOOK["volume.window"].band
    met = [at for n in range(120) if (at := drawn("hole-narrow", n)).setting == "baby"]
    assert len(met) > 30
    for at in met:
        right = at.with_fault("")
        assert low <= right.swing(right.start) / at.bench.weight <= high
        above = at.needle(at.start, held=False) - right.needle(right.start, held=False)
        assert at.lung(at.start).compliance * above / at.bench.weight > low / 2
