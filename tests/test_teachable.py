"""A protocol that cannot be taught is refused, by rule and question; one that can is not."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from graders.cli import main
from graders.course.settings import Wanted, changed
from graders.marking.teachable import doubts, impossible
from workbook.cases import case
from workbook.core.errors import PlainError
from workbook.course.settings import CourseError
from workbook.rules import rulebook
from workbook.rules.files import shipped
from workbook.rules.site.protocol import EXAMPLE, Protocol, overlay
from workbook.rules.site.protocolfile import check_protocol

pytestmark = pytest.mark.slow

HEAD = """\
[protocol]
title = "Invented"
edition = "aha-2020"
source = "made up"
approved_by = "nobody"
review_by = 2099-01-31
"""


def rule(id: str, unit: str, value: float, *more: str) -> str:
    rows = [f'rule = "{id}"', f'unit = "{unit}"', f"value = {value:g}", 'locator = "1"', *more]
    return "\n".join(["[[replace]]", *rows, ""])


PEEP = 'says = "Start with this PEEP."'
RELIEF_LOW = "".join(
    rule("relief.limit", "cmH2O", 6, f'population = "{each.population.says}"')
    for each in shipped("aha-2020").all("relief.limit")
)

PEEP_ABOVE = rule("pip.start", "cmH2O", 5) + rule("peep.start", "cmH2O", 8, PEEP)


def written(path: Path, text: str) -> Path:
    path.write_text(HEAD + text)
    return path


def read(path: Path) -> Protocol:
    checked = check_protocol(path, date(2026, 1, 1))
    assert checked.protocol is not None, checked.problems
    return checked.protocol


@pytest.mark.parametrize(
    ("text", "rules"),
    [
        (PEEP_ABOVE, "peep.start and pip.start"),
        (rule("pip.drawn", "cmH2O", 5), "peep.drawn and pip.drawn"),
        (RELIEF_LOW, "pip.start and relief.limit"),
        (RELIEF_LOW, "pip.drawn and relief.limit"),
    ],
)
def test_numbers_that_exclude_each_other_are_named(tmp_path, text, rules):
    """PEEP above PIP, a relief below every PIP: both rules stand in the sentence."""
    found = impossible(read(written(tmp_path / "p.toml", text)), learners=1, answered=0)
    assert any(one.says.startswith(rules) for one in found), found


def test_a_question_that_cannot_be_drawn_is_named_with_its_rule(tmp_path):
    """The rule is the one without which it could; what else the site set is not blamed."""
    text = RELIEF_LOW + rule("flow.start", "L/min", 9)
    found = impossible(read(written(tmp_path / "p.toml", text)), learners=3, answered=0)
    drawn = [one for one in found if "can be drawn" in one.why]
    assert drawn
    assert {one.rules for one in drawn} == {("relief.limit",)}


def test_a_draw_that_finds_nothing_ends_by_itself(tmp_path):
    """Also where no clock can stop it, as in a thread: one sentence, and soon."""
    book = overlay(shipped("aha-2020"), read(written(tmp_path / "p.toml", RELIEF_LOW)))
    with pytest.raises(PlainError, match="no two of them can be set wrong"):
        [case("check", "3_pressure_targets", f"check-{n}", book) for n in range(20)]


def test_the_example_can_be_taught():
    """Every unit is drawn, and its right answers earn every point."""
    assert impossible(read(EXAMPLE), learners=10, answered=1) == ()


def test_the_command_refuses_it_and_so_does_giving_out(tmp_path):
    """Each sentence names a rule; nothing of the course is changed."""
    path = written(tmp_path / "p.toml", RELIEF_LOW)
    done = CliRunner().invoke(main, ["protocol", "check", str(path)])
    assert done.exit_code == 1
    assert "It cannot be taught. pip.start and relief.limit" in done.output
    with pytest.raises(CourseError, match=r"cannot be taught: .*relief\.limit"):
        changed(tmp_path / "may", Wanted(protocol=path))
    assert not (tmp_path / "may").exists()


def test_a_pass_mark_of_one_percent_is_questioned(tmp_path):
    """It can be taught, so it is asked about, once, and can be meant."""
    path = written(tmp_path / "p.toml", rule("pass-mark", "percent", 1))
    checked = check_protocol(path, date(2026, 1, 1))
    if checked.protocol is None:  # the sane limits refuse it
        assert any("pass-mark" in says for says in checked.problems)
        return
    book = overlay(rulebook("aha-2020"), checked.protocol)
    assert "a pass mark of 1 % lets nearly everybody pass" in next(doubts(book))
    with pytest.raises(CourseError, match=r"lets nearly everybody pass.*--even-so"):
        changed(tmp_path / "may", Wanted(protocol=path))
    assert changed(tmp_path / "may", Wanted(protocol=path, even_so=True)).course.needed == 0.8
