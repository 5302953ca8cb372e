"""Rule files: blanks, limits that leave their end outside, and sources a file brings itself."""

from __future__ import annotations

import subprocess
import sys

import pytest

from workbook.course.settings import Course
from workbook.rules import (
    DEFAULT_EDITION,
    RuleError,
    RuleFileError,
    editions,
    read_rules,
    rulebook,
    superseded,
)
from workbook.rules.files import DEFAULT_BODY, RULE_FILES, file, published

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
    assert "We have not read it there." in str(rule)
    with pytest.raises(RuleError, match="not stated here"):
        _ = rule.value


@pytest.mark.parametrize("id", ["pip.start", "corrective.order"])
def test_a_blank_of_an_unread_edition_claims_no_memory(id):
    """The European edition of 2025 was not read, and no value is remembered from it."""
    assert "From memory" not in str(published("erc-2025")[id])


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


# --- what stands in for a blank

LENT = {
    "corrective.order": "textbook-2021", "corrective.try": "textbook-2021",
    "hr.first-check": "textbook-2021", "hr.ventilate": "aha-2015", "hr.compress": "erc-2021",
    "hr.reassess": "erc-2021", "ventilation.priority": "aha-2020", "ventilation.sign": "aha-2020",
    "ppv.within": "aha-2025",
}  # fmt: skip


@pytest.mark.parametrize("edition", editions())
@pytest.mark.parametrize("id", LENT)
def test_what_every_lesson_needs_is_stated_by_the_edition_or_lent_by_another(id, edition):
    """A lent rule keeps its own edition and says that it stands in; the blank stays published."""
    rule = rulebook(edition)[id]
    assert rule.stated
    own = id in published(edition) and published(edition)[id].stated
    assert rule.stands_in == (not own)
    assert ("It is used here" in str(rule)) == rule.stands_in
    if rule.stands_in:
        assert rule.edition == LENT[id]
        assert rule.citation == published(LENT[id])[id].citation


def test_only_what_is_named_is_lent():
    """No pressure, oxygen or saturation of one edition is asked about as another's."""
    assert {r.id for e in editions() for r in rulebook(e) if r.stands_in} == set(LENT)
    assert not rulebook("erc-2025").all("oxygen.start")[0].stated


@pytest.mark.parametrize("lends", ["3", '["rate"]', '{ aha-2020 = "rate" }', "{ aha-2020 = [1] }"])
def test_what_an_edition_lends_is_a_list_for_each_edition(tmp_path, lends):
    """Anything else is one sentence with its line."""
    with pytest.raises(RuleFileError, match=r"line 4, edition: lends must give a list of rules"):
        rules_of(tmp_path, f"lends = {lends}\n")


# --- which edition took the place of which

OF = 'title = "{id}"\nbody = "B"\npublished = "{published}"\n'


def folder_of(tmp_path, **told):
    """Write an edition file for each (published, superseded_by), and return the folder."""
    for id, (when, heir) in told.items():
        text = f'[edition]\nid = "{id}"\n' + OF.format(id=id, published=when)
        text += f'superseded_by = "{heir}"\n' if heir else ""
        (tmp_path / f"{id}.toml").write_text(text + '[[rule]]\nid = "never read here"\n')
    return tmp_path


@pytest.mark.parametrize(
    ("told", "says"),
    [
        (
            {"a": ("2015", "z"), "b": ("2020", None)},
            "a.toml: 1 problem\n  line 6, edition: there is no edition 'z'; there are a, b",
        ),
        (
            {"a": ("2015", "b"), "b": ("2020", "a")},
            "line 6, edition: a and b would supersede each other in a circle",
        ),
        ({"a": ("2015", "a")}, "line 6, edition: a and a would supersede each other in a circle"),
        (
            {"a": ("2020-10", "b"), "b": ("2020-09-30", None)},
            "line 6, edition: b of 2020-09-30 is not newer than a of 2020-10",
        ),
        (
            {"a": ("2020", "b"), "b": ("2020-10", None)},
            "line 6, edition: b of 2020-10 is not newer than a of 2020",
        ),
        (
            {"a": ("2020", None), "b": ("2025", None)},
            "line 4, edition: b of the same body is newer, so superseded_by must name its",
        ),
        ({"a": ("2020-13", None)}, "line 5, edition: published '2020-13' is no date such as 2025"),
        ({"a": ("soon", None)}, "line 5, edition: published 'soon' is no date such as 2025"),
    ],
)
def test_a_successor_that_cannot_be_right_is_one_sentence_with_its_place(tmp_path, told, says):
    """An unknown one, a circle, an older one, one forgotten, a date that is none."""
    with pytest.raises(RuleFileError) as caught:
        editions(folder_of(tmp_path, **told))
    assert len(caught.value.problems) == 1
    assert says in str(caught.value)


def test_a_successor_of_another_body_is_refused(tmp_path):
    """A council does not supersede an association."""
    folder = folder_of(tmp_path, a=("2015", "b"), b=("2020", None))
    other = (folder / "b.toml").read_text().replace('body = "B"', 'body = "C"')
    (folder / "b.toml").write_text(other)
    with pytest.raises(RuleFileError, match="b is of another body: 'C'"):
        editions(folder)


def test_a_title_or_body_that_is_no_text_is_refused(tmp_path):
    """Each mistake of the [edition] table has its line."""
    with pytest.raises(RuleFileError, match=r"line 4, edition: body must be a text"):
        rules_of(tmp_path, "body = 5\n")


def test_the_default_is_the_newest_edition_of_its_body():
    """It is in force, and every older edition of the body leads to it."""
    known = editions()
    default = known[DEFAULT_EDITION]
    assert default.body == DEFAULT_BODY
    assert superseded(default) == ""
    older = [e for e in known.values() if e.body == DEFAULT_BODY and e is not default]
    assert older
    assert all(default.title in superseded(each) for each in older)
    assert rulebook().edition == default == rulebook(Course().edition).edition


def test_every_guideline_names_its_body_and_its_date():
    """Only the customs of the field have neither."""
    lacking = {e.id for e in editions().values() if not (e.body and e.published)}
    assert lacking == {"practice"}


@pytest.mark.parametrize(
    ("edition", "says"),
    [
        ("aha-2015", "This edition is superseded by American Heart Association and American "
         "Academy of Pediatrics 2025 of 22 October 2025."),
        ("erc-2021", "This edition is superseded by European Resuscitation Council 2025."),
        ("textbook-2021", "This edition builds on American Heart Association 2020, which is "
         "superseded by American Heart Association and American Academy of Pediatrics 2025 of 22 "
         "October 2025."),
        ("aha-2025", ""),
        ("who-2012", ""),
        ("practice", ""),
    ],
)  # fmt: skip
def test_what_superseded_an_edition_is_one_sentence(edition, says):
    """It names the newest of the body, not the next in line, and its date where it is known."""
    assert superseded(editions()[edition]) == says


@pytest.mark.parametrize(
    "name", ["", ".sizes", ".gas", ".timing", ".compare", ".site.protocolfile"]
)
def test_importing_the_rules_loads_nothing_heavy(name):
    """A learner's browser has no numpy, scipy, matplotlib or pint ready at import."""
    heavy = "{'numpy', 'scipy', 'matplotlib', 'pint', 'pandas'}"
    code = f"import sys, workbook.rules{name}; print({heavy} & set(sys.modules))"
    result = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert result.stdout.strip() == "set()", result.stderr
