"""The rules module: provenance, look-up, and every mistake of a file at once."""

from __future__ import annotations

import pytest

from workbook import quantity
from workbook.rules import (
    Basis,
    Citation,
    Population,
    Rule,
    RuleBook,
    RuleError,
    RuleFileError,
    Source,
    editions,
    read_procedures,
    read_rules,
    rulebook,
)

SOURCE = Source("s", "A body", "A title", "2020", 2020)
CITATION = Citation(SOURCE, Basis.MEMORY, "table 1", "high")


def rule(**changes):
    given = {
        "id": "x", "says": "Do this.", "unit": "cmH2O", "low": 20.0, "high": 25.0,
        "citation": CITATION, "edition": "e",
    }  # fmt: skip
    return Rule(**{**given, **changes})


def book_of(*rules):
    return RuleBook(editions()["aha-2020"], rules)


def test_a_rule_cannot_exist_without_its_source():
    """There is no default for where a number comes from."""
    with pytest.raises(TypeError):
        Rule("x", "Do this.", "cmH2O", 1, 1, edition="e")


def test_a_rule_says_its_number_source_and_basis():
    """Printed, a rule tells all a reader needs to judge it."""
    text = str(rule())
    assert "20 to 25 cmH2O" in text
    assert "A body, A title, 2020, table 1" in text
    assert "From memory: check it against the printed edition" in text
    assert "Confidence: high" in text


@pytest.mark.parametrize(
    ("low", "high", "says"),
    [
        (25, 25, "25 cmH2O"),
        (None, 10, "up to 10 cmH2O"),
        (5, None, "5 cmH2O or more"),
        (None, None, "not stated here; see the printed edition"),
    ],
)
def test_bands_are_said_in_words(low, high, says):
    """One value, an upper limit, a lower limit and a blank each read well."""
    assert rule(low=low, high=high).text == says


def test_a_blank_number_raises_when_it_is_asked_for():
    """No silent default: the error is a sentence a lesson can show."""
    with pytest.raises(RuleError, match="not stated here; see the printed edition"):
        _ = rule(low=None, high=None).value


def test_a_band_is_not_one_value_unless_it_has_a_typical_one():
    """Asking a band for its value says that it is a band."""
    with pytest.raises(RuleError, match="is a band, 20 to 25 cmH2O"):
        _ = rule().value
    assert rule(typical=22.0).quantity() == quantity("22 cmH2O")


def test_both_ends_of_a_band_belong_to_it():
    """20 to 25 holds 20 and 25."""
    assert rule().holds(20)
    assert rule().holds(25)
    assert not rule().holds(25.01)
    assert rule().quantities()[1] == quantity("25 cmH2O")


PRETERM = Population("under 32 weeks", gestation=(None, 32))
TERM = Population("32 weeks or more", gestation=(32, None))


def test_the_rule_for_the_baby_at_hand_is_found():
    """Gestation as a quantity or in weeks; 32 weeks counts as the older group."""
    book = book_of(rule(population=PRETERM), rule(population=TERM, low=30.0, high=30.0))
    assert book.find("x", gestation=quantity("31 week")).text == "20 to 25 cmH2O"
    assert book.find("x", gestation=32).text == "30 cmH2O"
    assert book.find("x", gestation=quantity("224 day")).text == "30 cmH2O"


def test_populations_that_only_touch_share_no_baby():
    """Below 32 weeks and 32 weeks or more; everybody shares one with either."""
    assert not PRETERM.overlaps(TERM)
    assert not TERM.overlaps(PRETERM)
    assert PRETERM.overlaps(Population("28 to 31 weeks", gestation=(28, 32)))
    assert Population().overlaps(TERM)


def test_missing_and_doubled_populations_are_named():
    """What is missing, what matched twice, and what there is, each in one sentence."""
    two = book_of(rule(population=PRETERM), rule(population=PRETERM))
    with pytest.raises(RuleError, match="needs the baby's gestation"):
        two["x"]
    with pytest.raises(RuleError, match="has 2 rules for a baby of gestation 30 weeks"):
        two.find("x", gestation=30)
    with pytest.raises(RuleError, match="has no rule for a baby of gestation 40 weeks"):
        two.find("x", gestation=40)


def test_an_unknown_rule_or_edition_is_named_with_the_nearest():
    """A slip of the keyboard is answered with what was probably meant."""
    with pytest.raises(RuleError, match=r"no rule 'pip.strat' .* Did you mean 'pip.start'"):
        rulebook("aha-2020")["pip.strat"]
    with pytest.raises(RuleError, match="no edition 'aha-1999'; there are aha-2015"):
        rulebook("aha-1999")
    with pytest.raises(RuleError, match=r"no edition '\.\./data/aha-2020'"):
        rulebook("../data/aha-2020")


def test_what_an_edition_leaves_open_comes_from_practice_and_says_so():
    """No guideline number passes for another's: practice is named as practice."""
    assert rulebook("aha-2020")["flow.start"].citation.basis is Basis.PRACTICE
    assert rulebook("aha-2020")["flow.start"].edition == "practice"


TEN_MISTAKES = """
[edition]
id = "bad"
titel = "A slip"

[[rule]]
id = "a"
says = "A unit nobody knows."
unit = "blub"
value = 1
source = "practice"
basis = "practice"

[[rule]]
id = "b"
says = "Low above high."
unit = "cmH2O"
low = 30
high = 20
source = "practice"
basis = "practice"

[[rule]]
id = "c"
unit = "cmH2O"
value = 5
source = "nowhere"
basis = "hearsay"

[[rule]]
id = "d"
says = "A number without a unit."
value = 5
sorce = "practice"
basis = "practice"

[[rule]]
id = "e"
says = "A text for a number."
unit = "cmH2O"
value = "five"
source = "practice"
basis = "practice"
"""


def test_every_mistake_of_a_file_is_reported_at_once_with_its_line(tmp_path):
    """Ten different mistakes, ten sentences, each with the line to go to."""
    path = tmp_path / "bad.toml"
    path.write_text(TEN_MISTAKES)
    with pytest.raises(RuleFileError) as caught:
        read_rules(path)
    told = "\n".join(caught.value.problems)
    for sentence in (
        "line 4, edition: unknown key 'titel'",
        "edition: title is missing",
        "line 9, rule[0]: 'blub' is not a unit",
        "line 18, rule[1]: low 30 is above high 20",
        "rule[2]: says is missing",
        "line 27, rule[2]: source 'nowhere' is not in sources.toml",
        "line 28, rule[2]: basis 'hearsay' is not one of",
        "line 34, rule[3]: unknown key 'sorce'",
        "rule[3]: source is missing",
        "rule[3]: a number needs a unit",
        "line 41, rule[4]: value must be a number, not 'five'",
    ):
        assert sentence in told, told
    assert str(caught.value).startswith("bad.toml: ")


@pytest.mark.parametrize(
    ("content", "says"),
    [(b"[[rule", "it is not TOML"), (b"\xff\xfe", "it is not UTF-8 text")],
)
def test_a_file_that_is_no_toml_says_so(tmp_path, content, says):
    """The first thing wrong is the only thing said."""
    path = tmp_path / "bad.toml"
    path.write_bytes(content)
    with pytest.raises(RuleFileError, match=says):
        read_rules(path)


def test_a_procedure_that_waits_for_itself_is_refused(tmp_path):
    """Steps in a circle and needs of unknown steps are named."""
    path = tmp_path / "procedures.toml"
    step = '[[p.step]]\nid = "{}"\nsays = "x"\nreason = "x"\nsource = "practice"\n'
    step += 'basis = "practice"\nneeds = [{{ step = "{}", why = "x" }}]\n'
    path.write_text('[p]\ntitle = "x"\n' + step.format("a", "b") + step.format("b", "a"))
    with pytest.raises(RuleFileError, match="steps wait for one another: a, b"):
        read_procedures(path)
    path.write_text('[p]\ntitle = "x"\n' + step.format("a", "gone"))
    with pytest.raises(RuleFileError, match="needs 'gone', which is not a step"):
        read_procedures(path)
