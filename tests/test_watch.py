"""The watch: each harm is found wherever it is put in, and a careful hand is never accused."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from random import Random

import pytest

from graders import watch
from graders.marking.exercise import mark, model_answers
from graders.units.rate import tap_marks
from graders.units.rate.marks import POINTS
from graders.units.setup import bench as setup_bench
from graders.units.targets import raise_pip
from graders.watch.findings import _told, words
from graders.watch.limits import KINDS
from tests.harm import PLACES, around, by_human, harm, inflations, put, stands_at
from workbook.bench import DIALS, Bench, Hands, Touch, read_hands
from workbook.bench.story import reading
from workbook.cases import case
from workbook.cases.pace import first_inflations, rate_band
from workbook.rules import editions, rulebook
from workbook.taps import read_taps

pytestmark = pytest.mark.slow

EDITIONS = list(editions())
MANY = 200
# What a harm is found as.
FOUND = {"flow": "pressure", "mask off": "gap", "one long": "long", "all long": "long",
         "most long": "long"}  # fmt: skip
AT_BENCH = ("pressure", "flow", "one long", "all long", "most long", "gap", "mask off", "fast",
            "slow", "peep-high", "peep-lost")  # fmt: skip
TAPPED = ("one long", "all long", "gap", "fast", "slow")
UNITS = {"raise": "3_pressure_targets", "bench": "1_setup_order", "tap": "4_rate_counting"}


@cache
def drawn(task: str, n: int):
    """Return (case, question, an expert's run, book) of learner n, the editions in turn.

    After a set-up the expert goes on to ventilate for half a minute, so that harm has a place.
    """
    book = rulebook(EDITIONS[n % len(EDITIONS)])
    made = case("watch", UNITS[task], f"learner{n}", book)
    model = model_answers(made, book)[task]
    if task == "bench":
        model = ventilating(model, book)
    return made, made[task], model, book


def ventilating(model, book):
    hands, period = read_hands(model), 120 / sum(rate_band(book))
    care, lasts = inflations(int(30 / period), period, period / 3)
    later = [replace(t, time=t.time + hands.duration - 1) for t in care]
    return Hands(hands.duration + lasts - 1, (*hands.touches, *later)).to_data()


def seen(task: str, asked, answer, book):
    """Return the hazards that the watch finds in a run at the bench."""
    marks = raise_pip if task == "raise" else setup_bench
    bench = Bench.from_data(asked.facts["bench"])
    care = watch.of_run(bench, read_hands(answer), ventilates=task == "raise")
    return watch.hazards(care, marks.watched(asked, book))


def places(n: int) -> tuple[str, bool]:
    """Return the place of a harm in case n and whether it is mended, so that all pairs come."""
    return PLACES[n // len(EDITIONS) % 3], bool(n // (3 * len(EDITIONS)) % 2)


def harmed(task: str, kind: str, n: int):
    """Return (question, run with a harm, book, place, whether it is mended) of case n."""
    _, asked, model, book = drawn(task, n)
    place, mended = places(n)
    hands = read_hands(model)
    stands = stands_at(asked, hands.touches, place)
    begins = first_inflations(book)[0] > 0
    part = harm(kind, stands, rate_band(book), place=place, mended=mended, begins=begins)
    return asked, put(hands, part, place), book, place, mended


@pytest.mark.parametrize("task", ["raise", "bench"])
@pytest.mark.parametrize("kind", AT_BENCH)
def test_each_harm_at_the_bench_is_found_wherever_it_is_put_in(task, kind):
    """In 200 cases of all editions: at the start, in the middle, at the end, mended or not."""
    wanted = FOUND.get(kind, kind)
    missed, wrong = [], []
    for n in range(MANY):
        asked, run, book, place, mended = harmed(task, kind, n)
        if task == "bench" and place == "start" and wanted == "gap":
            continue  # before its first inflation nobody says that this baby needs one
        found = [each for each in seen(task, asked, run, book) if each.kind == wanted]
        if not found:
            missed.append((n, place, mended))
        elif not mended and any(each.mended for each in found):
            wrong.append((n, place))
    assert not missed
    assert not wrong  # what went on is never told as mended


@pytest.mark.parametrize("task", ["raise", "bench"])
@pytest.mark.parametrize("kind", ["pressure", "one long", "gap", "mask off"])
def test_a_harm_ended_at_once_is_told_apart(task, kind):
    """Where the care goes on after it: mended, and no other harm is found in the run."""
    told = 0
    for n in range(3 * len(EDITIONS), 5 * len(EDITIONS)):
        asked, run, book, place, _ = harmed(task, kind, n)
        if place == "start" and (first_inflations(book)[0] or task == "bench"):
            continue  # an edition's own long inflations; a baby that nobody has begun to ventilate
        wanted = FOUND.get(kind, kind)
        found = [each for each in seen(task, asked, run, book) if each.kind != "unread"]
        assert [(each.kind, each.mended) for each in found] == [(wanted, True)], (n, place, found)
        told += 1
    assert told >= len(EDITIONS)


def weaker(asked, stands, period):
    """Return inflations at a PIP that brings less than the chest needs, then PIP turned back."""
    facts = asked.facts
    wanted = facts["peep"] + 0.7 * (facts["rises"] - facts["peep"])

    def shows(pip):
        return reading(tuple({**stands, "pip": pip}[dial] for dial in DIALS), held=True)

    pip = min(range(stands["pip"]), key=lambda at: abs(shows(at) - wanted))
    return around(inflations(int(16 / period), period, period / 3), stands, pip=pip)


@pytest.mark.parametrize("place", ["middle", "end"])
def test_a_chest_that_moved_and_then_lies_still_is_found(place):
    """As soon as it has moved, and at the end; before it moves there is nothing to lose."""
    for n in range(MANY):
        _, asked, model, book = drawn("raise", n)
        period, hands = 120 / sum(rate_band(book)), read_hands(model)
        care = inflations(12, period, period / 3)
        stands = stands_at(asked, hands.touches, "end")
        run = put(hands, weaker(asked, stands, period), "end")
        if place == "middle":
            run = put(read_hands(run), care, "end")
        assert "weak" in {each.kind for each in seen("raise", asked, run, book)}, n


@pytest.mark.parametrize("place", PLACES)
def test_inflations_that_overfill_the_lung_are_found(place):
    """PIP below its ceiling, and yet twice the volume: the lung is softer, the hands the same."""
    for n in range(0, MANY, 5):
        _, asked, model, book = drawn("raise", n)
        facts, high = asked.facts, book["volume.window"].band[1]
        hands, bench = read_hands(model), facts["bench"]
        there = {"start": 8, "middle": len(hands.touches) // 2 + 8, "end": len(hands.touches)}
        last = hands.touches[: there[place]][-1].time + 0.2
        cut = Hands(last + 12, tuple(t for t in hands.touches if t.time <= last))
        care = inflations(8, 1.4, 0.9)
        compliance = 2.5 * high * bench["weight"] / (facts["pip"] - facts["peep"])
        soft = replace(asked, facts={**facts, "bench": {**bench, "compliance": compliance}})
        run = put(cut, care, "end")
        assert "volume" in {each.kind for each in seen("raise", soft, run, book)}, n


# --- the set-up, and the moment a baby is attached


def turned_after_reading(model):
    """Read everything, turn PIP once more, attach."""
    hands = read_hands(model)
    at = next(n for n, t in enumerate(hands.touches) if t.kind == "connect")
    pip = [t for t in hands.touches if t.kind == "pip"][-1]
    turn = replace(hands.touches[at], kind="pip", position=pip.position + 6)
    later = [replace(t, time=t.time + 0.5) for t in hands.touches[at:]]
    return Hands(hands.duration + 0.5, (*hands.touches[:at], turn, *later)).to_data()


def set_on_the_baby(model, *, reads: bool):
    """Turn each control a click and back, perhaps look, attach, then set everything."""
    hands = read_hands(model)
    idle = [Touch(0.2, "cap")]
    for n, dial in enumerate(("flow", "relief", "pip", "peep")):
        at = next(t for t in hands.touches if t.kind == dial)
        idle += [replace(at, time=0.3 + 0.2 * n, position=10), replace(at, time=0.4 + 0.2 * n,
                 position=11)]  # fmt: skip
    if reads:
        idle += [Touch(2.0, "occlude"), Touch(4.0, "release")]
    idle += [Touch(6.0, "connect")]
    body = [replace(t, time=t.time + 7) for t in hands.touches if t.kind not in ("connect", "cap")]
    return Hands(hands.duration + 7, (*idle, *body)).to_data()


def test_a_baby_attached_to_pressures_that_nobody_read_is_found():
    """Turned after the last look; set on the baby after idle clicks, with and without a look."""
    for n in range(MANY):
        _, asked, model, book = drawn("bench", n)
        plays = (turned_after_reading(model), set_on_the_baby(model, reads=False),
                 set_on_the_baby(model, reads=True))  # fmt: skip
        run = plays[n // len(EDITIONS) % 3]
        assert "unread" in {each.kind for each in seen("bench", asked, run, book)}, n


def test_a_mask_put_on_again_after_a_turn_is_found():
    """While raising PIP: mask off, PIP turned, mask on, and nobody has read what comes now."""
    for n in range(MANY):
        _, asked, model, book = drawn("raise", n)
        hands, place = read_hands(model), places(n)[0]
        stands = stands_at(asked, hands.touches, place)
        part = [Touch(0.2, "open"), Touch(0.8, "pip", stands["pip"] + 6), Touch(1.6, "connect")]
        found = seen("raise", asked, put(hands, (part, 2.0), place), book)
        assert "unread" in {each.kind for each in found}, n
        off = [Touch(0.2, "open"), Touch(1.6, "connect")]
        assert not seen("raise", asked, put(hands, (off, 2.0), place), book), n


def test_a_set_up_without_a_baby_earns_nothing_and_harms_nobody():
    """Untouched, or set up and never attached: the watch has nothing to see, and says so."""
    for n in range(len(EDITIONS)):
        made, _, _, book = drawn("bench", n)
        model = read_hands(model_answers(made, book)["bench"])
        left = Hands(model.duration, tuple(t for t in model.touches if t.kind != "connect"))
        for run in (Hands(5.0, ()), left):
            finding = mark(made, "bench", run.to_data(), book).findings[-1]
            assert (finding.criterion, finding.met, finding.earned) == ("bench-watch", False, 0)
            assert finding.possible == watch.worth("bench")
            assert not finding.critical
            assert "never at the T-piece" in finding.says


# --- tapped counts


def counted(n: int):
    """Return (question, book, the expert's events) of a tapped count, the editions in turn."""
    book = rulebook(EDITIONS[n % len(EDITIONS)])
    made = case("watch", UNITS["tap"], f"learner{n}", book)
    asked = made[("tap-alone", "tap-distracted")[n % 2]]
    return asked, book, tap_marks.model_taps(asked, book)


def tapped_with(kind: str, n: int):
    """Return (question, a count of a steady hand with one harm in it, book)."""
    asked, book, model = counted(n)
    duration, place = float(asked.facts["duration"]), places(n)[0]
    band = asked.facts["low"], asked.facts["high"]
    part, lasts = harm(kind, {}, band, place=place, mended=True, begins=asked.facts["begins"])
    begin = {"start": 0.0, "middle": (duration - lasts) / 2, "end": duration - lasts - 0.1}[place]
    events, down = [], False
    for time, what in model["events"]:  # as the expert does, but for the time of the harm
        if not begin <= time < begin + lasts and (what == "press" or down):
            down = what == "press"
            events.append([time, what])
        elif down and what == "release":
            events.append([round(min(time, begin + 0.2), 4), what])
            down = False
    if down:
        events.append([duration, "release"])
    names = {"occlude": "press", "release": "release"}
    events += [[round(t.time + begin, 4), names[t.kind]] for t in part]
    return asked, model | {"events": sorted(events, key=lambda row: row[0])}, book


@pytest.mark.parametrize("kind", TAPPED)
def test_each_harm_of_a_tapped_count_is_found(kind):
    """In 200 cases of all editions, in the first, the middle and the last seconds."""
    for n in range(MANY):
        asked, taps, book = tapped_with(kind, n)
        found = watch.hazards(watch.of_taps(read_taps(taps)), tap_marks.watched(asked, book))
        assert FOUND.get(kind, kind) in {each.kind for each in found}, (n, places(n)[0], found)


# --- careful hands


@pytest.mark.parametrize("task", ["raise", "bench"])
def test_a_careful_human_hand_at_the_bench_is_never_a_hazard(task):
    """200 experts who come early and late, bounce, overshoot and mend, and stop to think."""
    for n in range(MANY):
        made, asked, model, book = drawn(task, n)
        run = by_human(model, Random(n))  # noqa: S311 a simulated hand
        assert not seen(task, asked, run, book), (n, seen(task, asked, run, book))
        if n < 2 * len(EDITIONS):
            verdict = mark(made, task, run, book)
            assert not [f for f in verdict.unsafe if "watch" in f.criterion]
            assert verdict.findings[-1].earned == watch.worth(task)


@pytest.mark.parametrize("pace", [0.97, 1.0, 1.03])
def test_a_careful_human_hand_that_taps_is_never_a_hazard(pace):
    """Also at the very top and bottom of the band, with the spread of a hand."""
    for n in range(MANY):
        asked, book, model = counted(n)
        edge = {0.97: asked.facts["low"], 1.0: asked.facts["rate"], 1.03: asked.facts["high"]}[pace]
        chance = Random(n)  # noqa: S311 a simulated hand
        period = 60 / edge
        long = tap_marks.begun(asked, book)
        model = tap_marks.tapped(asked, period / 3, edge / asked.facts["rate"], long)
        events, last = [], 0.0
        for time, what in model["events"]:
            last = max(last + 0.005, time + chance.gauss(0, 0.03))
            events.append([round(last, 4), what])
            if what == "press" and chance.random() < 0.03:
                events += [[round(last + 0.04, 4), "release"], [round(last + 0.09, 4), "press"]]
                last += 0.09
        kept = [row for row in events if row[0] <= model["duration"]]
        taps = read_taps(model | {"events": kept})
        assert not watch.hazards(watch.of_taps(taps), tap_marks.watched(asked, book)), n


# --- what is said, and what it costs


def test_every_hazard_has_words_and_a_rule():
    """No kind of hazard without a sentence, and no sentence without a kind."""
    assert set(words()["hazard"]) == set(KINDS)
    for edition in EDITIONS:
        for table in words()["hazard"].values():
            assert rulebook(edition)[table["rule"]].says


@pytest.mark.parametrize("kind", AT_BENCH)
def test_harm_costs_marks_and_keeps_from_the_lab_however_the_run_ends(kind):
    """Full marks are lost in every edition, when and how much is said, the replay has its needle.

    Half of the watch's points stay, and nothing is critical, where the hand mended all at once.
    """
    for n in range(len(EDITIONS)):
        made, asked, model, book = drawn("raise", n)
        for mended in (False, True):
            hands = read_hands(model)
            part = harm(kind, stands_at(asked, hands.touches, "middle"), rate_band(book),
                        place="middle", mended=mended)  # fmt: skip
            verdict = mark(made, "raise", put(hands, part, "middle"), book)
            told = [f for f in verdict.findings if "-watch" in f.criterion]
            assert sum(f.possible for f in told) == watch.worth("raise")
            critical = any(f.critical for f in told)
            assert sum(f.earned for f in told) == (0 if critical else watch.worth("raise") / 2)
            assert critical or mended
            assert not any(f.met or "{" in f.says or not f.trace for f in told)
            assert verdict.earned < verdict.possible


LIMITS = {
    "pause": 5, "pause.ends": 10, "spell": 10, "mended": 2, "pressure": 0.1, "rate": 20,
    "length": 0.15, "first": 0.5, "least": 50, "peep.low": 50, "peep.high": 3,
}  # fmt: skip


@pytest.mark.parametrize("name", LIMITS)
def test_a_limit_of_the_watch_is_the_one_that_was_meant(name):
    """Typed a second time, and said to be assumed."""
    rule = rulebook()[f"watch.{name}"]
    assert rule.value == LIMITS[name]
    assert rule.citation.basis.value == "assumption"


def test_one_harm_that_went_on_costs_all_whatever_was_mended():
    """Pressure that was turned down at once, then no inflation for long: no point is left."""
    for n in range(4 * len(EDITIONS), 5 * len(EDITIONS)):
        made, asked, model, book = drawn("raise", n)
        hands, rate = read_hands(model), rate_band(book)
        stands = stands_at(asked, hands.touches, "middle")
        mended = harm("pressure", stands, rate, place="middle", mended=True)
        run = put(hands, mended, "middle")
        run = put(read_hands(run), harm("gap", stands, rate, place="end", mended=False), "end")
        told = [f for f in mark(made, "raise", run, book).findings if "-watch" in f.criterion]
        critical = {f.criterion.removeprefix("raise-watch-"): f.critical for f in told}
        assert critical == {"pressure": False, "gap": True}, n
        assert sum(f.earned for f in told) == 0


def test_a_volume_is_told_for_each_kilogram():
    """As its limit is said; the bench counts what this baby got."""
    _, asked, model, _ = drawn("raise", 0)
    bench = replace(Bench.from_data(asked.facts["bench"]), weight=2.5)
    care = watch.of_run(bench, read_hands(model), ventilates=True)
    told = _told(watch.Hazard("volume", 1.0, 12.0, 30.0, 20.0, 11.0), care)  # mL of 2.5 kg
    assert (told["worst"], told["limit"]) == ("12 mL/kg", "8 mL/kg")


def test_the_points_of_a_count_have_the_watch_in_them():
    """A steady hand earns all of it, and the watch's finding says that nothing was harmful."""
    for n in range(len(EDITIONS)):
        asked, book, model = counted(n)
        made = case("watch", UNITS["tap"], f"learner{n}", book)
        verdict = mark(made, asked.id, model, book)
        assert verdict.earned == POINTS[asked.id]
        assert verdict.findings[-1].says == words()["clear"]


def test_a_run_without_harm_is_worth_what_the_units_say() -> None:
    """Typed a second time: two points of a run at the bench, one of each run with taps."""
    assert {task: watch.worth(task) for task in ("bench", "raise", "tap")} == {
        "bench": 2.0, "raise": 2.0, "tap": 1.0,
    }  # fmt: skip
