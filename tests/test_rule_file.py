"""Rule files: blanks, limits that leave their end outside, and sources a file brings itself."""

from __future__ import annotations

import subprocess
import sys

import pytest

from workbook.rules import RuleError, RuleFileError, read_rules, rulebook
from workbook.rules.files import RULE_FILES, file

HEAD = '[edition]\nid = "x"\ntitle = "A file"\n'
CITED = 'source = "aha-2020"\nlocator = "not located"\nbasis = "memory"\n'


def rules_of(tmp_path, body):
    path = tmp_path / "x.toml"
    path.write_text(HEAD + body)
    return read_rules(path)[1]


def test_a_blank_sentence_needs_no_unit_and_gives_nothing(tmp_path):
    """It is not stated, says where to look, and claims no memory of a value."""
    (rule,) = rules_of(tmp_path, f'[[rule]]\nid = "a"\nsays = "Not here."\nblank = true\n{CITED}')
    assert not rule.stated
    assert rule.text == "not stated here; see the printed edition"
    assert "From memory" not in str(rule)
    assert "No value from it is held here." in str(rule)
    with pytest.raises(RuleError, match="not stated here"):
        _ = rule.value


@pytest.mark.parametrize("id", ["pip.start", "corrective.order"])
def test_a_blank_of_an_unread_edition_claims_no_memory(id):
    """The European edition of 2025 was not read, and no value is remembered from it."""
    assert "From memory" not in str(rulebook("erc-2025")[id])


def test_below_leaves_the_end_outside(tmp_path):
    """Below 5 holds 4.9 and not 5; from 2 to below 5 is said as such."""
    body = '[[rule]]\nid = "a"\nsays = "Less."\nunit = "s"\nbelow = 5\n' + CITED
    (rule,) = rules_of(tmp_path, body)
    assert (rule.text, rule.holds(4.9), rule.holds(5)) == ("below 5 s", True, False)


def test_below_beside_high_is_refused(tmp_path):
    """A band has one upper end."""
    body = '[[rule]]\nid = "a"\nsays = "Less."\nunit = "s"\nbelow = 5\nhigh = 6\n' + CITED
    with pytest.raises(RuleFileError, match="give high, or below where the end is outside"):
        rules_of(tmp_path, body)


def test_a_file_may_bring_a_source_but_not_replace_one(tmp_path):
    """A known key is refused with its line; an incomplete source too."""
    body = '[source.aha-2020]\nbody = "b"\ntitle = "t"\n[source.new]\nbody = "b"\n'
    with pytest.raises(RuleFileError) as caught:
        rules_of(tmp_path, body)
    told = "\n".join(caught.value.problems)
    assert "line 4, source.aha-2020: source 'aha-2020' stands in sources.toml already" in told
    assert "line 7, source.new: title is missing" in told


def test_a_file_that_is_no_edition_is_asked_for_by_name():
    """Sizes, gas and limits; anything else is named with what there is."""
    assert all(file(name).edition.id == name for name in RULE_FILES)
    with pytest.raises(RuleError, match="no rule file 'size'; there are sizes, gas, limits"):
        file("size")
    with pytest.raises(RuleError, match="no edition 'example-protocol'"):
        rulebook("example-protocol")


@pytest.mark.parametrize("name", ["", ".sizes", ".gas", ".timing", ".compare", ".protocolfile"])
def test_importing_the_rules_loads_nothing_heavy(name):
    """A learner's browser has no numpy, scipy, matplotlib or pint ready at import."""
    heavy = "{'numpy', 'scipy', 'matplotlib', 'pint', 'pandas'}"
    code = f"import sys, workbook.rules{name}; print({heavy} & set(sys.modules))"
    result = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert result.stdout.strip() == "set()", result.stderr
