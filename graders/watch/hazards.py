"""The hazards of a run: each with when it was, how much, and whether the hand mended it at once.

All are worked out in closed form from how the controls stood; where that raises a suspicion of too
much pressure or volume, the run is replayed on the model, and only what the model shows counts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from graders.watch.care import Care, Inflation
from graders.watch.limits import KINDS, Bounds, Hazard
from workbook.bench import DIALS
from workbook.bench.story import LEAD, Stretch, reading
from workbook.taps.rhythm import DOUBLE

_LEAK = list(DIALS).index("leak")
EXACT = 1e-6  # s: what a sum of times may be off by
SMALL = 7 / 8  # of the least wanted volume: a click or two less is no still chest


def hazards(care: Care, within: Bounds) -> tuple[Hazard, ...]:
    """Return every hazard of a run, the gravest kinds first."""
    found = [hazard for seek in _SOUGHT for hazard in seek(care, within)]
    return tuple(sorted(found, key=lambda each: (KINDS.index(each.kind), each.start)))


# --- whether, when and how long the baby was ventilated


def _given(care: Care, within: Bounds) -> list[Inflation]:
    """Return the inflations that reach the baby."""
    return _whole([each for each in care.inflations if each.highest >= within.least])


def _whole(inflations: Sequence[Inflation]) -> list[Inflation]:
    """Return inflations with each bounce of a finger taken into the one before it."""
    kept: list[Inflation] = []
    for each in inflations:
        if kept and each.start - kept[-1].start < DOUBLE:
            last = kept[-1]
            highest, brings = max(last.highest, each.highest), max(last.brings, each.brings)
            turned = last.turned or each.turned
            kept[-1] = Inflation(last.start, each.end, highest, brings, turned)
        else:
            kept.append(each)
    return kept


def _gaps(care: Care, within: Bounds) -> Iterator[Hazard]:
    given = _given(care, within)
    for begin, end in care.needs:
        spans = [(each.start, each.end) for each in given if each.end > begin and each.start < end]
        marks = [(begin, begin), *spans, (end, end)]
        for n, (one, two) in enumerate(pairwise(marks)):
            first_or_last = n in (0, len(marks) - 2)
            limit, pause = within.ends if first_or_last else within.pause, two[0] - one[1]
            if pause > limit:
                mended = two[0] < end and pause <= limit + within.mended
                yield Hazard("gap", one[1], two[0], pause, limit, pause, mended)


def _spells(
    starts: Sequence[float], within: Bounds, is_bad: Callable[[int, int], bool]
) -> Iterator[tuple[int, int]]:
    """Yield (first, last) inflation of each longest spell whose every part of a spell is bad."""
    first, last = -1, -1
    j = 0
    for i in range(len(starts)):
        j = max(j, i)
        while j < len(starts) and starts[j] - starts[i] < within.spell:
            j += 1
        if j == len(starts):
            break
        if not is_bad(i, j):
            continue
        if first >= 0 and i <= last:
            last = j
            continue
        if first >= 0:
            yield first, last
        first, last = i, j
    if first >= 0:
        yield first, last


def _sequences(given: Sequence[Inflation], within: Bounds) -> Iterator[list[Inflation]]:
    """Yield the inflations between two stops or long ones, which are hazards of their own."""
    run: list[Inflation] = []
    for each in given:
        stopped = run and each.start - run[-1].end > within.pause
        if stopped or (run and run[-1].length > within.long):
            yield run
            run = []
        run.append(each)
    if run:
        yield run


def _rates(care: Care, within: Bounds) -> Iterator[Hazard]:
    if within.rate is None:
        return
    low, high = within.rate
    ordinary = _given(care, within)[_opening(care, within) :]
    for given in _sequences(ordinary, within):
        starts = [each.start for each in given]
        gaps = [two - one for one, two in pairwise(starts)]
        if not gaps or 60 / high + EXACT < min(gaps) <= max(gaps) < 60 / low - EXACT:
            continue  # no spell of these can be too fast or too slow

        def rate(i: int, j: int, starts: list[float] = starts) -> float:
            return 60 * (j - i) / (starts[j] - starts[i])

        for kind, is_bad, limit in (
            ("fast", lambda i, j, of=rate: of(i, j) > high, high),
            ("slow", lambda i, j, of=rate: of(i, j) < low, low),
        ):
            for i, j in _spells(starts, within, is_bad):
                lasted = starts[j] - starts[i]
                mended = j < len(starts) - 1 and lasted <= within.spell + within.mended
                worst = rate(i, j)
                yield Hazard(kind, starts[i], starts[j], worst, limit, lasted, mended)  # type: ignore[arg-type]


def _opening(care: Care, within: Bounds) -> int:
    """Return how many long inflations a run begins with, as its edition asks."""
    count, longest = within.first
    opening = 0
    for each in _whole(care.inflations)[:count]:
        if not within.long < each.length <= longest:
            break
        opening += 1
    return opening


def _long(care: Care, within: Bounds) -> Iterator[Hazard]:
    """Yield each inflation far too long, and each spell of inflations mostly too long."""
    given = _whole(care.inflations)[_opening(care, within) :]
    if all(each.length <= within.longest for each in given):
        return
    far = [each for each in given if each.length > within.long + EXACT]
    if far:
        worst = max(each.length for each in far)
        # Who turns a control meanwhile holds on purpose.
        once = len(far) == 1 and far[0] != given[-1] and not far[0].turned
        mended = once and worst <= within.long + within.mended
        total = sum(each.length for each in far)
        yield Hazard("long", far[0].start, far[-1].end, worst, within.long, total, mended)
    starts = [each.start for each in given]
    over = [each.length > within.longest for each in given]

    def mostly(i: int, j: int) -> bool:
        return over[i] and 2 * sum(over[i:j]) > j - i

    for i, j in _spells(starts, within, mostly):
        worst = max(each.length for each in given[i:j])
        lasted = starts[j] - starts[i]
        yield Hazard("long", starts[i], given[j - 1].end, worst, within.longest, lasted)


# --- what it met at the T-piece


def _pressures(care: Care, within: Bounds) -> Iterator[Hazard]:
    """Yield the time above the ceiling at the baby, as the model has it."""
    limit = within.pressure
    if limit is None:
        return
    suspects = [s for s in care.on_baby if s.reading > limit]
    if not suspects:
        return
    above = _above(care, suspects, limit)
    total = sum(lasted for *_, lasted in above)
    if total <= within.brief:
        return
    last = care.on_baby[-1]
    back = Stretch(0.0, 0.0, last.positions, True, "lung").reading <= limit
    # At once is one go: a pressure that comes back later was not mended.
    mended = above[-1][1] - above[0][0] <= within.mended and back
    worst = max(highest for _, _, highest, _ in above)
    yield Hazard("pressure", above[0][0], above[-1][1], worst, limit, total, mended)


def _above(
    care: Care, suspects: Sequence[Stretch], limit: float
) -> list[tuple[float, float, float, float]]:
    """Return (begin, end, highest, how long in all) of the time above a pressure."""
    found = []
    for begin, end in _together(suspects):
        times, met = care.met(begin, end)
        ends = [*times[1:], end]
        over = [n for n, pressure in enumerate(met) if pressure > limit]
        if over:
            lasted = sum(max(0.0, ends[n] - max(begin, times[n])) for n in over)
            first, last = max(begin, times[over[0]]), ends[over[-1]]
            found.append((first, last, max(met[n] for n in over), lasted))
    return found


def _together(suspects: Sequence[Stretch]) -> list[tuple[float, float]]:
    """Return the spans (s) of stretches, those close together as one, each to be replayed once."""
    spans: list[tuple[float, float]] = []
    for each in suspects:
        if spans and each.start - spans[-1][1] < LEAD:
            spans[-1] = (spans[-1][0], each.end)
        else:
            spans.append((each.start, each.end))
    return spans


def _peeps(care: Care, within: Bounds) -> Iterator[Hazard]:
    """Yield PEEP far below or above the one wanted for a spell while the baby is attached."""
    if within.peep is None:
        return
    low, high = within.peep
    resting = [s for s in care.on_baby if not s.held]
    for kind, limit, wrong in (
        ("peep-lost", low, [s for s in resting if s.reading < low]),
        ("peep-high", high, [s for s in resting if s.reading > high]),
    ):
        total = sum(s.length for s in wrong)
        if total > within.spell / 2:
            choose = min if kind == "peep-lost" else max
            worst = choose(s.reading for s in wrong)
            mended = wrong[-1] is not resting[-1] and total <= within.spell / 2 + within.mended
            yield Hazard(kind, wrong[0].start, wrong[-1].end, worst, limit, total, mended)  # type: ignore[arg-type]


def _unread(care: Care, within: Bounds) -> Iterator[Hazard]:
    """Yield each time the baby was attached to pressures not read where they stand.

    Where pressures are set before the baby, ``settled`` bounds what may be turned on it: more
    than that brings pressures that nobody has read before the baby meets them.
    """
    stretches, left, known = care.stretches, None, None
    for n in range(1, len(stretches)):
        before, there = stretches[n - 1], stretches[n]
        if before.outlet == "lung" and (there.outlet != "lung" or left is None):
            left = _pressures_at(before)
        if there.outlet != "lung":
            continue
        fixed = known is None or within.settled is None or there.touched not in DIALS
        if before.outlet == "lung" and fixed:
            continue
        stands = _pressures_at(there)
        if before.outlet == "lung":
            # Turned on the baby: further than a mending click or two, once for the first such turn.
            if known is not None and within.settled is not None and _differ(known, stands, within):
                yield _met_unread(there, within)
                known = None
            continue
        # A mask that comes off and goes on again meets pressures that were in use already.
        known = stands
        if left != stands and not all(
            _was_read(stretches[:n], stands, within, held=held) for held in (True, False)
        ):
            yield _met_unread(there, within)
            known = None


def _met_unread(there: Stretch, within: Bounds) -> Hazard:
    met = Stretch(0.0, 0.0, there.positions, True, "lung").reading
    return Hazard("unread", there.start, there.start, met, within.look, 0.0)


def _pressures_at(stretch: Stretch) -> tuple[int, ...]:
    """Return how the controls of flow and pressures stand; the seal of a mask is none of them."""
    return stretch.positions[:_LEAK] + stretch.positions[_LEAK + 1 :]


def _differ(known: tuple[int, ...], stands: tuple[int, ...], within: Bounds) -> bool:
    """Say whether PIP or PEEP stands further from what was read than may be turned."""
    one, other = ((*each[:_LEAK], 0, *each[_LEAK:]) for each in (known, stands))
    return any(
        abs(reading(one, held=held) - reading(other, held=held)) > (within.settled or 0.0)
        for held in (True, False)
    )


def _was_read(
    before: Sequence[Stretch], stands: tuple[int, ...], within: Bounds, *, held: bool
) -> bool:
    """Say whether PIP (held) or PEEP could be read with every control as it stands now."""
    seconds = 0.0
    for stretch in before:
        same = (
            stretch.held is held and stretch.outlet != "open" and _pressures_at(stretch) == stands
        )
        seconds = seconds + stretch.length if same else 0.0
        if seconds >= within.look - 1e-9:
            return True
    return False


def _volumes(care: Care, within: Bounds) -> Iterator[Hazard]:
    """Yield a spell of inflations that each bring too much, as the model has it."""
    if within.volume is None:
        return
    high = within.volume[1]
    big = [each for each in care.inflations if each.brings > high]
    big = [each for each in big if _brought(care, each) > high]
    if not big or big[-1].end - big[0].start <= within.spell / 2:
        return
    lasted = big[-1].end - big[0].start
    mended = big[-1] != care.inflations[-1] and lasted <= within.spell / 2 + within.mended
    worst = max(_brought(care, each) for each in big)
    yield Hazard("volume", big[0].start, big[-1].end, worst, high, lasted, mended)


def _brought(care: Care, each: Inflation) -> float:
    """Return what an inflation brought (mL): the rise of the lung's volume in it."""
    if care.trace is None:
        return 0.0
    start, end = care.trace.at((each.start, each.end), "volume")
    return end - start


def _weak(care: Care, within: Bounds) -> Iterator[Hazard]:
    """Yield a spell of inflations too small to move a chest that had moved before."""
    if within.volume is None:
        return
    (least, most), given = within.volume, _given(care, within)
    low = least * SMALL
    # Overfilled once by mistake, a chest has not yet moved as it should.
    allowed = within.pressure or float("inf")
    moved = next(
        (n for n, each in enumerate(given) if least <= each.brings <= most
         and each.highest <= allowed), None,
    )  # fmt: skip
    if moved is None:
        return
    after = given[moved + 1 :]
    starts, small = [each.start for each in after], [each.brings < low for each in after]
    for i, j in _spells(starts, within, lambda i, j: all(small[i:j])):
        worst, lasted = min(each.brings for each in after[i:j]), starts[j] - starts[i]
        mended = j < len(after) - 1 and lasted <= within.spell + within.mended
        yield Hazard("weak", starts[i], starts[j], worst, low, lasted, mended)


_SOUGHT: tuple[Callable[[Care, Bounds], Iterator[Hazard]], ...] = (
    _unread, _pressures, _volumes, _long, _gaps, _weak, _rates, _peeps,
)  # fmt: skip
