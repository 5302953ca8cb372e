"""A trial is given nonsense: it is read or refused in a sentence, and marked within its points."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graders.units.faults import marks
from tests.test_fault_finding import BOOK, alone
from workbook.trial import NAMED, State, TrialError, read_trial
from workbook.trial.moves import DIALLED, MOVES, SURE, may
from workbook.units.faults.case.questions import seconds

pytestmark = pytest.mark.slow

ANY = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(["format", "version", "duration", "moves", "positions", "outlet"]),
            inner,
        )
    ),
    max_leaves=12,
)
SECONDS, LIMIT = seconds(BOOK), BOOK["trial.limit"].band[1]
CASES = {(f, at): alone(f, at) for f in NAMED for at in NAMED[f].settings}


@given(ANY, st.sampled_from(["before", "baby"]))
def test_nonsense_is_refused_in_one_sentence(data: Any, setting: str) -> None:
    """As a record, as the moves of one, and as a state."""
    head = {"format": "tpiece-trial", "version": 1, "duration": 9000}
    for each in (data, {**head, "moves": data}, {**head, "moves": [data, [1, data, data]]}):
        _reads(lambda each=each: read_trial(each, setting, SECONDS, LIMIT), TrialError)
    _reads(lambda: State.read(data), ValueError)


def _reads(read: Callable[[], Any], refuses: type[Exception]) -> None:
    """Read something, or hear in a sentence why not; anything else breaks the test."""
    says = "."
    try:
        read()
    except refuses as error:
        says = str(error)
    assert says.endswith(".")


@st.composite
def played(draw: Any, setting: str) -> dict[str, Any]:
    """Return a trial that can have happened: any moves, one after another."""
    now, held, named, rows = 300, False, False, list[list[Any]]()
    for move in draw(st.lists(st.sampled_from(sorted(MOVES)), max_size=25)):
        hold = move in ("occlude", "release")
        if not may(move, setting) or (hold and held == (move == "occlude")):
            continue
        if (move in ("mend", "sure") and not named) or (move == "read" and held):
            continue
        held = move == "occlude" if hold else held
        named = named or move == "name"
        what: list[Any] = []
        if move == "name":
            what = [draw(st.sampled_from([*NAMED, "unknown"]))]
        elif move == "sure":
            what = [draw(st.sampled_from(sorted(SURE)))]
        elif move in DIALLED:
            what = [draw(st.integers(0, 30))]
        rows.append([now, move, *what])
        now += round(1000 * SECONDS[move]) + draw(st.integers(0, 900))
    rows = [row for row in rows if row[0] <= 89_000]
    ends = min(now, 90_000)
    return {"format": "tpiece-trial", "version": 1, "duration": ends, "moves": rows}


@given(st.data(), st.sampled_from(sorted(CASES)))
def test_whatever_can_have_happened_is_marked_within_its_points(
    data: Any, of: tuple[str, str]
) -> None:
    """No move in any order breaks the marking, earns more than there is, or less than nothing."""
    drawn, asked = CASES[of]
    value = data.draw(played(of[1]))
    verdict = marks.check(drawn, asked.id, value, BOOK)
    assert 0 <= verdict.earned <= verdict.possible == 10
    assert not verdict.findings[0].says.startswith("This answer could not be read")
    assert all("{" not in finding.says for finding in verdict.findings)
    for finding in verdict.findings:
        assert 0 <= finding.earned <= finding.possible or finding.possible == 0
