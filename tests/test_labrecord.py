"""The record of the lab: the last word of each day, nothing lost, nobody called competent."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graders.lab.checklist import DONE, checklist
from graders.lab.plan import LabError
from graders.lab.record import RECORD, REPLACED, lab_results, take
from graders.lab.sheet import Seen
from tests.lab_course import COURSE

MADE = checklist(COURSE.book)
STEPS = tuple(item.id for item in MADE.items)
TODAY = date(2026, 5, 5)
HEAD = "learner,step,done,by,date,note\n"


CELL = st.text(st.characters(categories=("L", "N", "P", "S")), max_size=10)
SEEN = st.builds(
    Seen,
    st.sampled_from(["ada", "ben", "@cy"]),
    st.sampled_from(STEPS),
    st.sampled_from(DONE),
    st.sampled_from(["AB", "Ö"]),
    st.dates(date(2026, 1, 1), TODAY).map(date.isoformat),
    CELL.filter(lambda text: not re.search(r"(^|;)'", text)),  # it would be taken for a guard
)


@pytest.mark.parametrize("note", ["=1", "fine;=1", "a; -b", ";;=", "＝1", "baby's; mother's"])
def test_a_note_comes_back_as_it_was_written(tmp_path: Path, note: str) -> None:
    """What keeps it from being a formula in a spreadsheet is no part of it."""
    seen = Seen("ada", STEPS[0], DONE[0], "AB", "2026-05-04", note)
    take(tmp_path, [seen])
    take(tmp_path, [replace(seen, learner="ben")])  # the record is read and written again
    assert _rows(tmp_path / RECORD)[0] == seen


@given(st.lists(st.lists(SEEN, max_size=6), min_size=1, max_size=4))
@settings(max_examples=60, deadline=None)
def test_the_record_holds_the_last_word_on_each_day_and_loses_nothing(
    tmp_path_factory: pytest.TempPathFactory, files: list[list[Seen]]
) -> None:
    """After any files the record is what a plain dictionary would be; all else is kept aside."""
    folder = tmp_path_factory.mktemp("record")
    wanted: dict[tuple[str, str, str], Seen] = {}
    said: list[Seen] = []
    for seen in files:
        take(folder, seen)
        for each in seen:
            if wanted.get(each.key) != each:
                said.append(each)
            wanted[each.key] = each
    kept = _rows(folder / RECORD)
    assert kept == [wanted[key] for key in sorted(wanted)]
    gone = _rows(folder / REPLACED) if (folder / REPLACED).is_file() else []
    assert sorted(map(repr, [*kept, *gone])) == sorted(map(repr, said))


def _rows(path: Path) -> list[Seen]:
    from graders.lab.record import _read

    return [seen for seen, _ in _read(path)]


def test_the_same_learner_step_and_day_is_replaced_and_other_days_stay(tmp_path: Path) -> None:
    """A corrected sheet counts; what it replaced is kept; an earlier day stays in the record."""
    first = Seen("ada", STEPS[0], "no", "AB", "2026-05-01")
    second = Seen("ada", STEPS[0], "no", "AB", "2026-05-04")
    mended = Seen("ada", STEPS[0], "yes", "CD", "2026-05-04")
    done = take(tmp_path, [first, second])
    assert (done.added, done.replaced, done.same) == (2, 0, 0)
    done = take(tmp_path, [mended, first])
    assert (done.added, done.replaced, done.same) == (0, 1, 1)
    assert _rows(tmp_path / RECORD) == [first, mended]
    assert _rows(tmp_path / REPLACED) == [second]
    result = lab_results(tmp_path, MADE)["ada"]
    assert (result.date, result.latest[STEPS[0]].done) == ("2026-05-04", "yes")


def test_a_result_says_what_was_seen_and_never_that_anybody_is_competent(tmp_path: Path) -> None:
    """Counts of done, with help and not done; critical steps to be seen again; nothing more."""
    day = "2026-05-04"
    take(tmp_path, [
        Seen("ada", "set-up/set-pip", "yes", "AB", day),
        Seen("ada", "set-up/ready-bag", "with help", "AB", day),
        Seen("ada", "count/rate", "no", "CD", day),
        Seen("ben", "set-up/set-pip", "yes", "AB", day),
    ])  # fmt: skip
    found = lab_results(tmp_path, MADE)
    assert found["ada"].says == (
        f"Observed hands-on, last on 2026-05-04: 1 of {len(STEPS)} steps done, 1 with help, 1 not "
        f"done, {len(STEPS) - 3} not yet observed. Critical, to be seen again: set-up/ready-bag."
    )
    assert found["ada"].by == ("AB", "CD")
    assert found["ben"].critical == ()
    assert "competent" not in "".join(each.says for each in found.values())


def test_without_a_record_nobody_was_observed(tmp_path: Path) -> None:
    """A course before its lab has no results, and that is no mistake."""
    assert lab_results(tmp_path) == {}


def test_a_step_that_the_checklist_lost_is_left_out(tmp_path: Path) -> None:
    """A record of an older checklist still reads; what is no step any more is not counted."""
    take(tmp_path, [Seen("ada", "set-up/old-step", "yes", "AB", "2026-05-04")])
    assert lab_results(tmp_path, MADE) == {}


@pytest.mark.parametrize("text", ["", "learner,step\nada,x\n", HEAD + "ada,x\n"])
def test_a_damaged_record_is_named_and_never_overwritten(tmp_path: Path, text: str) -> None:
    """A record that lost its head or was cut stays as it is, and the sentence says which."""
    path = tmp_path / RECORD
    path.write_text(text, encoding="utf-8")
    seen = Seen("ada", STEPS[0], "yes", "AB", "2026-05-04")
    with pytest.raises(LabError, match="is damaged"):
        take(tmp_path, [seen])
    with pytest.raises(LabError, match="is damaged"):
        lab_results(tmp_path, MADE)
    assert path.read_text(encoding="utf-8") == text


def test_a_full_disk_leaves_the_record_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When the writing fails half-way, the earlier record is whole and no draft is left."""
    take(tmp_path, [Seen("ada", STEPS[0], "no", "AB", "2026-05-04")])
    before = (tmp_path / RECORD).read_bytes()
    write = Path.write_text

    def full(self: Path, text: str, **how: str) -> int:
        if REPLACED in self.name:
            raise OSError(28, "No space left on device")
        return write(self, text, **how)

    monkeypatch.setattr(Path, "write_text", full)
    with pytest.raises(LabError, match="No space left on device"):
        take(tmp_path, [Seen("ada", STEPS[0], "yes", "AB", "2026-05-04")])
    assert (tmp_path / RECORD).read_bytes() == before
    assert not list(tmp_path.glob(".*.part"))


def test_a_formula_in_a_note_is_harmless_in_the_record(tmp_path: Path) -> None:
    """A note that a spreadsheet would run is kept from it, and reads back as it was."""
    seen = Seen("ada", STEPS[0], "yes", "AB", "2026-05-04", "=HYPERLINK(1)")
    take(tmp_path, [seen])
    assert "'=HYPERLINK" in (tmp_path / RECORD).read_text(encoding="utf-8-sig")
    assert _rows(tmp_path / RECORD) == [seen]
