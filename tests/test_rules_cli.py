"""The commands `tpiece rules` and `tpiece protocol`."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from graders.commands.rules import protocol, rules
from workbook.rules import editions
from workbook.rules.files import published
from workbook.rules.site.protocol import EXAMPLE


def run(group, *arguments):
    return CliRunner().invoke(group, [str(each) for each in arguments])


def said(group, *arguments):
    result = run(group, *arguments)
    assert result.exit_code == 0, result.output
    return result.output


def refused(group, *arguments):
    result = run(group, *arguments)
    assert result.exit_code != 0
    assert "Traceback" not in result.output
    return result.output


def test_list_names_the_editions_and_then_the_rules_of_one():
    """First what there is to ask, then one edition in full."""
    text = said(rules, "list")
    assert all(edition in text for edition in [*editions(), "sizes", "gas"])
    listed = said(rules, "list", "--edition", "aha-2020")
    assert len(listed.splitlines()) == len(published("aha-2020").rules)
    assert "rate: Give inflations at this rate. [40 to 60 a minute] (memory)" in listed


def test_search_finds_by_id_sentence_and_source():
    """All words must be there; nothing found is said in words."""
    assert "tube.weight" in said(rules, "search", "tube", "weight")
    found = said(rules, "search", "hawkes", "--edition", "practice")
    assert "fact.flow-shift.peep" in found
    assert "No rule holds" in refused(rules, "search", "unicorn")


def test_show_prints_source_and_basis_for_one_baby():
    """The number for this baby, where it is from, and that it is from memory."""
    text = said(rules, "show", "oxygen.start", "--edition", "aha-2020", "--gestation", "30+2")
    assert "21 to 30 %" in text
    assert "From memory: check it against the printed edition" in text
    assert "35 weeks or more" not in text
    assert "35 weeks or more" in said(rules, "show", "oxygen.start")
    assert "did you mean 210 days, which is 30 weeks?" in refused(
        rules, "show", "oxygen.start", "--gestation", "210"
    )
    assert "Did you mean 'pip.start'?" in refused(rules, "show", "pip.strat")


def test_show_lays_a_protocol_over_its_edition():
    """Both numbers are printed."""
    text = said(rules, "show", "pip.start", "--protocol", EXAMPLE)
    assert "your site: 22 cmH2O (edition: 20 to 25 cmH2O)" in text
    told = refused(rules, "show", "pip.start", "--protocol", EXAMPLE, "--edition", "aha-2025")
    assert "written for aha-2020, not for aha-2025" in told


def test_compare_prints_the_editions_and_writes_a_picture(tmp_path):
    """Conflicts are in the words; the picture is a file of the kind its name says."""
    path = tmp_path / "rate.svg"
    text = said(rules, "compare", "rate", "--picture", path)
    assert "conflicts: erc-2015, erc-2021" in text
    assert b"<svg" in path.read_bytes()
    told = refused(rules, "compare", "rate", "--picture", tmp_path / "rate.doc")
    assert "must end in .png or .svg" in told
    two = said(rules, "compare", "rate", "--edition", "aha-2020", "--edition", "erc-2021")
    assert "who-2012" not in two
    assert "your site" in said(rules, "compare", "pip.start", "--protocol", EXAMPLE)


def test_unverified_prints_memory_and_blanks():
    """The two lists an educator checks against the printed edition."""
    text = said(rules, "unverified", "--edition", "aha-2025")
    memory, blank = text.split("\nBlank, ")
    assert "pip.start: Start inflations" in memory
    assert "peep.start" in blank
    assert "  rate:" not in text
    assert "(secondary)" not in text


def test_a_new_protocol_is_a_template_and_overwrites_nothing(tmp_path):
    """The first check of a fresh template says what to fill in."""
    path = tmp_path / "ours.toml"
    assert f"tpiece protocol check {path}" in said(protocol, "new", path, "--edition", "erc-2021")
    assert 'edition = "erc-2021"' in path.read_text()
    assert "exists already" in refused(protocol, "new", path)
    told = refused(protocol, "check", path)
    assert "4 problems" in told
    assert "line 11, protocol: title is missing" in told
    assert "no edition 'moon'" in refused(protocol, "new", tmp_path / "b.toml", "--edition", "moon")
    assert not (tmp_path / "b.toml").exists()


def test_the_example_protocol_passes_its_check(tmp_path):
    """The invented hospital's protocol is complete and in use until its review."""
    path = tmp_path / "example.toml"
    said(protocol, "new", path, "--example")
    text = said(protocol, "check", path)
    assert "Invented Hospital of Nowhere" in text
    assert "Rules replaced: 5." in text


def test_an_expired_protocol_passes_with_a_warning(tmp_path):
    """The warning comes first, with its line; the exit is good."""
    path = tmp_path / "old.toml"
    path.write_text(EXAMPLE.read_text().replace("2030-01-31", "2020-01-31"))
    text = said(protocol, "check", path)
    assert text.startswith("Warning: line 10, protocol: the review date 2020-01-31 has passed")
    assert "1 to look at" in text


@pytest.mark.parametrize("name", [*rules.commands, *protocol.commands])
def test_every_command_has_help_with_an_example(name):
    """The help says what the command does and shows it once."""
    group = rules if name in rules.commands else protocol
    assert "Example: tpiece" in said(group, name, "--help")
