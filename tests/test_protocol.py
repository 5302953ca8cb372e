"""The local protocol: an overlay that replaces rules, and every mistake in its file at once."""

from __future__ import annotations

from datetime import date

import pytest

from workbook.core.quantities import convert
from workbook.rules import RuleError, RuleFileError, editions, rulebook
from workbook.rules.site.protocol import EXAMPLE, overlay, template
from workbook.rules.site.protocolfile import check_protocol, read_protocol
from workbook.rules.site.replaceable import locked, sane_limit

TODAY = date(2027, 1, 1)
HEAD = """[protocol]
title = "Protocol of a hospital that does not exist"
edition = "aha-2020"
source = "sheet 1"
approved_by = "nobody real"
review_by = 2030-01-31
"""


def write(tmp_path, body, head=HEAD):
    path = tmp_path / "protocol.toml"
    path.write_text(head + body, encoding="utf-8")
    return path


def replacing(**keys):
    lines = (f"{key} = {value if key not in WORDS else repr(value)}" for key, value in keys.items())
    return "\n".join(["\n[[replace]]", *lines, ""])


WORDS = {"rule", "population", "says", "unit", "locator"}


def problems(tmp_path, body, head=HEAD):
    checked = check_protocol(write(tmp_path, body, head), TODAY)
    assert checked.protocol is None
    return "\n".join(checked.problems)


def warnings(tmp_path, body, head=HEAD):
    checked = check_protocol(write(tmp_path, body, head), TODAY)
    assert checked.protocol is not None, checked.problems
    return "\n".join(checked.warnings)


def test_a_site_rule_stands_in_for_the_edition_and_shows_both():
    """The lesson gets the site's number, source and approver, and the edition's beside it."""
    book = overlay(rulebook("aha-2020"), read_protocol(EXAMPLE))
    rule = book["pip.start"]
    assert rule.value == 22
    assert rule.shown == "your site: 22 cmH2O (edition: 20 to 25 cmH2O)"
    assert book["flow.start"].shown == "your site: 10 L/min (common practice: 8 L/min)"
    assert "Invented Hospital of Nowhere" in str(rule)
    assert "approved by the invented newborn committee" in str(rule)
    assert "published source" not in str(rule)
    assert book.protocol.startswith("Example Protocol")


def test_a_blank_of_the_edition_can_be_filled_by_the_site():
    """The edition of 2020 gives no PEEP; the site does, and the blank is still shown."""
    book = overlay(rulebook("aha-2020"), read_protocol(EXAMPLE))
    assert book["peep.start"].value == 6
    assert "edition: not stated here" in book["peep.start"].shown


def test_a_protocol_is_laid_only_over_its_own_edition():
    """Another edition, even one that builds on it, is refused."""
    with pytest.raises(RuleError, match="is written for aha-2020, not for aha-2023"):
        overlay(rulebook("aha-2023"), read_protocol(EXAMPLE))


TEN_MISTAKES = """[protocol]
title = "Protocol of a hospital that does not exist"
edition = "aha-2020"
source = "sheet 1"
review_by = "2030-01-31"
approver = "nobody real"

[[replace]]
rule = "pip.strat"
unit = "cmH2O"
value = 22

[[replace]]
rule = "pip.start"
unit = "L/min"
value = 22

[[replace]]
rule = "peep.start"
says = "Start with this PEEP."
unit = "cmH2O"
value = 50

[[replace]]
rule = "rate"
unit = "1/min"
low = 60
high = 40

[[replace]]
rule = "oxygen.start"
unit = "percent"
value = 30

[[replace]]
rule = "inflation-time"
unit = "s"
low = 0.5

[[replace]]
rule = "fact.leak-untrained"
unit = "percent"
value = 10

[[replace]]
rule = "flow.start"
value = 8

[[replace]]
rule = "flow.limit"
unit = "L/min"
high = "ten"

[[replace]]
rule = "relief.limit"
population = "below 32 weeks"
unit = "cmH2O"
value = 30

[[replace]]
rule = "relief.limit"
population = "below 32 weeks"
unit = "cmH2O"
value = 31

[[replace]]
rule = "flow.first"
value = 3
"""


def test_every_mistake_is_told_at_once_with_its_line(tmp_path):
    """Fifteen mistakes of different kinds, each with the line to go to."""
    told = problems(tmp_path, "", TEN_MISTAKES)
    for sentence in (
        "line 6, protocol: unknown key 'approver'",
        "protocol: approved_by is missing",
        "line 5, protocol: review_by must be a date like 2027-06-30",
        "line 9, replace[0]: There is no rule 'pip.strat' in aha-2020. Did you mean 'pip.start'?",
        "line 15, replace[1]: pip.start: L/min measures flow, but pressure in cmH2O is wanted",
        "line 22, replace[2]: peep.start: 50 cmH2O is outside what can be meant, 0 to 15 cmH2O",
        "line 27, replace[3]: low 60 is above high 40",
        "replace[4]: name the population of oxygen.start, one of: 35 weeks or more; below 35",
        "replace[5]: inflation-time is an upper limit, up to 1 s: give high",
        "line 41, replace[6]: fact.leak-untrained cannot be replaced: it is what a study found",
        'replace[7]: a number needs its unit: flow.start has unit = "L/min"',
        "line 52, replace[8]: high must be a number, not 'ten'",
        "replace[10]: relief.limit for below 32 weeks stands twice",
        "replace[11]: says is missing",
        "replace[11]: flow.first is a sentence: it takes says and no number",
    ):
        assert sentence in told, told
    assert len(told.splitlines()) == 15


def test_reading_raises_what_checking_reports(tmp_path):
    """A file with mistakes is never used."""
    with pytest.raises(RuleFileError, match="15 problems"):
        read_protocol(write(tmp_path, "", TEN_MISTAKES))


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (replacing(rule="pip.start", unit="kPa", value=25), "did you mean 25 cmH2O?"),
        (replacing(rule="pip.start", unit="cmH2O"), "has no number"),
        (replacing(rule="pip.start", unit="blub", value=25), "'blub'|blub measures nothing known"),
        (replacing(rule="pip.start", unit="cmH2O", value=22, low=20), "one or the other"),
        (replacing(rule="pip.start", unit="cmH2O", high=22, below=23), "give one of them"),
        (replacing(rule="pip.start", unit="cmH2O", low=20, high=25, typical=30),
         "typical 30 is outside the band 20 to 25 cmH2O"),
        (replacing(rule="flow.start", unit="L/min", low=8, high=10), "used as one number"),
        (replacing(rule="pip.start", unit="cmH2O", value=22, sorce=1), "unknown key 'sorce'"),
        (replacing(rule="pip.ceiling", unit="cmH2O", value=30), "says is missing"),
        (replacing(rule="beat.40", unit="s", value=0.6), "it is computed from other rules"),
        (replacing(rule="pip.start", population="giants", unit="cmH2O", value=22),
         "name the population of pip.start, one of: every newborn"),
        ("\n[replace]\nrule = 'pip.start'\n", "two brackets"),
        ("\n[extra]\nx = 1\n", "unknown table 'extra'"),
        ("\n[[replace]\n", "it is not TOML"),
    ],
)  # fmt: skip
def test_each_kind_of_mistake_has_its_sentence(tmp_path, body, says):
    """A wrong unit, a changed shape, a computed rule, a slip in the file itself."""
    told = problems(tmp_path, body)
    assert any(part in told for part in says.split("|")), told


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"aha-2020"', '"aha-1999"', "There is no edition 'aha-1999'; there are aha-2015"),
        ('"aha-2020"', '"moon"', "rules are not checked while the edition is unknown"),
        ('"nobody real"', '""', "approved_by is missing"),
        ('source = "sheet 1"\n', "", "source is missing"),
        ("[protocol]", "[protocoll]", "the [protocol] table is missing"),
    ],
)
def test_a_protocol_names_edition_source_and_approver(tmp_path, old, new, says):
    """Nothing is replaced without someone who answers for it."""
    body = replacing(rule="pip.start", unit="cmH2O", value=22)
    assert says in problems(tmp_path, body, HEAD.replace(old, new))


def test_a_missing_or_unreadable_file_says_so(tmp_path):
    """Neither is mistaken for an empty protocol."""
    gone, garbled = tmp_path / "gone.toml", tmp_path / "garbled.toml"
    garbled.write_bytes(b"\xff\xfe")
    assert "there is no file" in check_protocol(gone, TODAY).problems[0]
    assert "not UTF-8" in check_protocol(garbled, TODAY).problems[0]


def test_a_review_date_that_has_passed_is_a_warning_and_no_refusal(tmp_path):
    """The protocol still applies; someone must look at it."""
    body = replacing(rule="pip.start", unit="cmH2O", value=22)
    head = HEAD.replace("2030-01-31", "2026-12-31")
    assert "line 6, protocol: the review date 2026-12-31 has passed" in warnings(
        tmp_path, body, head
    )
    assert not warnings(tmp_path, body, head.replace("2026-12-31", "2027-01-01T08:00:00"))


def test_a_converted_unit_an_empty_protocol_and_a_low_relief_are_warned_of(tmp_path):
    """What is allowed but worth a second look is told with its line."""
    body = replacing(rule="pip.start", unit="kPa", value=2.5)
    assert "line 11, replace[0]: pip.start: 2.5 kPa is read as 25.49 cmH2O" in warnings(
        tmp_path, body
    )
    assert "replaces no rule" in warnings(tmp_path, "")
    low = replacing(rule="relief.limit", population="below 32 weeks", unit="cmH2O", value=15)
    assert "pip.start, 20 to 25 cmH2O, is above relief.limit, 15 cmH2O" in warnings(tmp_path, low)


def test_an_upper_limit_keeps_its_named_number(tmp_path):
    """Lessons ask for the one number of `up to 1 s`; a site's own limit answers too."""
    path = write(tmp_path, replacing(rule="inflation-time", unit="s", high=1.2))
    rule = read_protocol(path).rules[0]
    assert rule.text == "up to 1.2 s"
    assert rule.value == 1.2


def test_a_sentence_can_be_replaced_by_a_sentence(tmp_path):
    """A site may word a step its own way."""
    path = write(tmp_path, replacing(rule="flow.first", says="Set the flow first, at the wall."))
    rule = overlay(rulebook("aha-2020"), read_protocol(path))["flow.first"]
    assert rule.shown.startswith("your site: Set the flow first, at the wall.")


@pytest.mark.parametrize("edition", list(editions()))
def test_a_template_is_refused_until_filled_and_then_every_block_of_it_works(tmp_path, edition):
    """A fresh template has only the head to fill; each stated rule may restate itself."""
    text = template(edition)
    path = tmp_path / "protocol.toml"
    path.write_text(text)
    assert len(check_protocol(path, TODAY).problems) == 4
    head, *blocks = text.split("\n# [[replace]]\n")
    filled = [f"\n[[replace]]\n{_bare(block)}" for block in blocks if '"?"' not in block]
    path.write_text(HEAD.replace("aha-2020", edition) + "".join(filled))
    assert head.count("\n# ") > 3
    checked = check_protocol(path, TODAY)
    assert not checked.problems
    assert len(checked.protocol.rules) == len(filled) > 10


def _bare(block):
    lines = (line.removeprefix("# ") for line in block.split("\n\n")[0].splitlines())
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("edition", list(editions()))
def test_every_stated_number_lies_inside_its_own_sane_limit(edition):
    """The limits catch slips, never a published value."""
    for rule in rulebook(edition):
        if rule.unit is not None and rule.stated and not locked(rule):
            limit = sane_limit(rule)
            for end in (rule.low, rule.high):
                assert end is None or limit.holds(convert(end, rule.unit, limit.unit)), rule
