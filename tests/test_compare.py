"""Editions side by side: what they say, where they conflict, and the picture of it."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest

from workbook.display.plots import SIGNS, comparison_picture
from workbook.rules import RuleError, editions, rulebook
from workbook.rules.compare import COLUMNS, _touch, compare
from workbook.rules.site.protocol import EXAMPLE, overlay
from workbook.rules.site.protocolfile import read_protocol


def row(comparison, edition, whom="every newborn"):
    found = [r for r in comparison.rows if r.edition == edition and whom in r.rule.population.says]
    assert len(found) == 1
    return found[0]


def test_every_edition_is_a_row_or_named_as_missing():
    """No edition is left out in silence."""
    made = compare("rate")
    assert {r.edition for r in made.rows} | set(made.missing) == set(editions())
    assert made.missing == ("practice",)
    assert compare("supraglottic.weight").missing


def test_a_rate_conflicts_where_no_number_suits_both():
    """AHA 2020: 40 to 60; AHA and AAP 2025: 30 to 60; ERC 2021: 30; WHO 2012: 40."""
    made = compare("rate", ["aha-2020", "aha-2025", "erc-2021", "who-2012"])
    assert row(made, "aha-2020").mark == "conflicts"
    assert row(made, "aha-2020").against == ("erc-2021",)
    assert row(made, "aha-2025").mark == "differs"
    assert "conflicts: aha-2020, who-2012" in made.text
    assert made.summary == "The same baby has different right answers: name the edition."


def test_a_band_that_ends_below_a_number_conflicts_with_one_that_begins_there():
    """Below 5 and 5 or more have no number in common; up to 5 and 5 or more have one."""
    five = replace(compare("rate").rows[0].rule, low=None, high=5.0, typical=None)
    above = replace(five, low=5.0, high=None)
    assert _touch(five, above)
    assert not _touch(replace(five, below=True), above)


def test_only_populations_that_share_a_baby_are_set_against_each_other():
    """ERC 2021 below 32 weeks has nothing to do with ERC 2015 at term."""
    made = compare("pip.start", ["erc-2015", "erc-2021"])
    assert row(made, "erc-2021", "below 32 weeks").against == ()
    assert row(made, "erc-2021", "32 weeks or more").against == ("erc-2015",)
    assert row(made, "erc-2015", "37 weeks or more").mark == "agrees"


def test_a_blank_says_so_and_has_no_basis():
    """An edition not read is neither agreement nor conflict, nor a memory."""
    blank = row(compare("rate"), "erc-2025")
    assert blank.cells[2:] == ("not stated here; see the printed edition", "none", "not stated")


def test_memory_and_inheritance_are_told_in_the_row():
    """The focused update takes its rate from the edition it builds on."""
    cells = row(compare("rate"), "aha-2023").cells
    assert cells[2] == "40 to 60 a minute (as in aha-2020)"
    assert cells[3] == "from memory, high confidence"


def test_editions_in_other_units_are_drawn_in_one():
    """Grams and kilograms of the same limit agree."""
    made = compare("supraglottic.weight")
    assert {r.rule.unit for r in made.rows} == {"g"}
    assert all(r.mark == "agrees" for r in made.rows)


def test_sentences_are_left_to_the_reader():
    """No program says whether two sentences conflict."""
    assert "compared by reading" in row(compare("backup-bag"), "aha-2023").remark


def test_a_site_stands_beside_the_editions():
    """The local protocol is one more row, and can conflict like any other."""
    site = overlay(rulebook("aha-2020"), read_protocol(EXAMPLE))
    made = compare("pip.start", ["aha-2020", "erc-2021"], site)
    assert row(made, "your site").rule.value == 22
    assert row(made, "your site").mark == "conflicts"


def test_an_unknown_rule_is_answered_with_the_nearest():
    """A slip of the keyboard gets what was probably meant."""
    with pytest.raises(RuleError, match=r"no rule 'rat' in any edition asked. Did you mean 'rate'"):
        compare("rat")


def test_the_table_has_a_caption_and_headers():
    """A screen reader can name each column and each row."""
    html = compare("rate")._repr_html_()
    tree = ElementTree.fromstring(f"<div>{html}</div>")  # noqa: S314 (our own text)
    table = tree.find("table")
    assert table.find("caption").text == "rate, edition by edition"
    assert [cell.text for cell in table.findall("thead/tr/th")] == list(COLUMNS)
    assert all(tr.find("th").get("scope") == "row" for tr in table.findall("tbody/tr"))


@pytest.fixture(scope="module")
def picture():
    """Return the picture of the rate."""
    return comparison_picture(compare("rate"))


def test_a_picture_writes_every_number_and_mark(picture):
    """Each row has its name, its number, and its mark as a shape and a word."""
    axes = picture.figure.axes[0]
    said = [text.get_text() for text in axes.texts]
    rows = compare("rate").rows
    labels = [label.get_text() for label in axes.get_yticklabels()]
    assert labels == [f"{r.edition}, {r.rule.population.says}" for r in rows]
    for r in rows:
        assert ("not stated" if r.mark == "blank" else r.rule.text) in said
    assert said.count(f"{SIGNS['conflicts']} conflicts") == len(compare("rate").conflicts)
    assert said.count("not stated") == 3


def test_a_picture_is_told_apart_without_colour(picture):
    """Every ink is a grey; memory has a dashed edge, and each mark its own shape."""
    axes = picture.figure.axes[0]
    for patch in axes.patches:
        red, green, blue, _ = patch.get_facecolor()
        assert red == green == blue
    styles = {patch.get_linestyle() for patch in axes.patches}
    assert len(styles) == 2
    assert len(set(SIGNS.values())) == len(SIGNS)


def test_a_band_is_drawn_where_its_numbers_are(picture):
    """The bars end at the numbers of the rules."""
    ends = {(p.get_x(), p.get_x() + p.get_width()) for p in picture.figure.axes[0].patches}
    assert (30, 60) in ends
    assert (40, 60) in ends


def test_texts_of_a_picture_do_not_cover_each_other(picture):
    """Rendered, no two texts overlap, and none leaves the page."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    canvas = FigureCanvasAgg(picture.figure)
    canvas.draw()
    axes = picture.figure.axes[0]
    texts = [t for t in [*axes.texts, *axes.get_yticklabels()] if t.get_text()]
    boxes = [text.get_window_extent(canvas.get_renderer()) for text in texts]
    page = picture.figure.bbox
    assert all(page.x0 <= box.x0 and box.x1 <= page.x1 for box in boxes)
    assert not any(a.overlaps(b) for n, a in enumerate(boxes) for b in boxes[n + 1 :])


def test_a_picture_carries_its_text(picture):
    """In a notebook the image has the whole comparison as its alternative text."""
    bundle = picture._repr_mimebundle_()
    assert bundle["text/plain"] == compare("rate").text
    assert 'alt="rate, edition by edition' in bundle["text/html"]
    assert "data-lm-suppress-shortcuts" in bundle["text/html"]
    assert picture.png(40).startswith(b"\x89PNG")


@pytest.mark.parametrize("id", ["pip.start", "oxygen.start", "inflation-time", "spo2.5min"])
def test_open_ends_and_many_rows_can_be_drawn(id):
    """Bands without an end are drawn to the edge of the axis."""
    axes = comparison_picture(compare(id)).figure.axes[0]
    left, right = axes.get_xlim()
    assert all(
        left <= p.get_x() and p.get_x() + p.get_width() <= right + 1e-9 for p in axes.patches
    )


def test_what_has_no_number_is_not_drawn():
    """A sentence is read as a table instead."""
    with pytest.raises(RuleError, match="no number to draw"):
        comparison_picture(compare("backup-bag"))
