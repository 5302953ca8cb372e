"""Cards and tables: every number with its source and basis, the same in words and on screen."""

from __future__ import annotations

from dataclasses import replace
from html.parser import HTMLParser

import pytest

from workbook.display import cards
from workbook.rules import Basis, Rule, RuleBook, editions, rulebook
from workbook.rules.site.protocol import EXAMPLE, overlay
from workbook.rules.site.protocolfile import read_protocol


class Seen(HTMLParser):
    """What a reader sees with every fold closed, and what is inside the folds."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.open, self.folded, self.tags = "", "", []
        self._inside: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag, attrs):
        """Note each tag, and what folds away what is inside it."""
        self.tags.append((tag, dict(attrs)))
        if tag in ("details", "summary", "style"):
            self._inside.append(tag)

    def handle_endtag(self, tag):
        """Close a fold; tags must be nested rightly."""
        if tag in ("details", "summary", "style"):
            assert self._inside.pop() == tag

    def handle_data(self, data):
        """Sort text into what is open and what is folded."""
        if "style" in self._inside:
            return
        if self._inside[-1:] == ["details"]:
            self.folded += data
        else:
            self.open += data

    def all(self, tag: str) -> list[dict[str, str]]:
        """Return the attributes of every tag of one kind."""
        return [attrs for name, attrs in self.tags if name == tag]


def seen(shown: cards.Shown) -> Seen:
    return Seen(shown._repr_mimebundle_()["text/html"])


def is_folded_where_it_says_more(source: str, page: Seen) -> bool:
    """Tell whether a source stands in the fold exactly if it is not read without opening it."""
    return (source in page.folded) != (source in page.open)


def every_rule() -> list[tuple[str, str]]:
    return [(e, id) for e in editions() for id in sorted({r.id for r in rulebook(e)})]


@pytest.mark.parametrize("edition", list(editions()))
def test_a_card_shows_the_sentence_and_number_of_every_rule_and_its_source(edition: str):
    """Sentence, number, basis are open to see; the source lies in the fold, if it says more."""
    book = rulebook(edition)
    for id in {rule.id for rule in book}:
        card = cards.rule_card(book, id)
        page = seen(card)
        assert book.all(id)[0].says in page.open
        for rule in book.all(id):
            assert rule.text in page.open
            assert rule.text in card.text
            if rule.blank and rule.unit is not None:  # its line says that it is not stated, once
                assert str(rule.citation.source) in card.text
                continue
            assert rule.citation.says in page.open
            assert is_folded_where_it_says_more(str(rule.citation), page)
            assert str(rule.citation) in card.text


def test_a_blank_beside_numbers_of_one_publication_denies_none_of_them():
    """Some weeks are blank, others not: the card never says that nothing was read there."""
    mixed = 0
    for edition, id in every_rule():
        rules = rulebook(edition).all(id)
        blank, held = ({r.citation.source for r in rules if r.blank == kind} for kind in (1, 0))
        if not blank or not blank <= held:
            continue
        mixed += 1
        card = cards.rule_card(rulebook(edition), id)
        assert "We have not read it there." not in card.text
        assert card.text.count("not stated here") == sum(rule.blank for rule in rules)
    assert mixed > 3


def test_a_value_from_memory_says_so_without_opening_anything():
    """The warning stands on the card itself, for exactly the rules that are from memory."""
    checked = {True: 0, False: 0}
    for edition, id in every_rule():
        book = rulebook(edition)
        from_memory = any(r.citation.basis is Basis.MEMORY and not r.blank for r in book.all(id))
        card = cards.rule_card(book, id)
        assert ("From memory" in seen(card).open) == from_memory, (edition, id)
        checked[from_memory] += 1
    assert min(checked.values()) > 10


def test_a_rule_told_apart_by_population_names_each(book: RuleBook):
    """Two limits for two populations are never shown as one."""
    text = cards.rule_card(book, "relief.limit").text
    for rule in book.all("relief.limit"):
        assert f"{rule.population.says}: {rule.text}" in text


def test_a_rule_replaced_by_a_site_shows_both(book: RuleBook):
    """Whoever reads a site's number also reads the edition's own."""
    edition = book["pip.example"]
    site = replace(edition, low=22.0, high=22.0, replaces=edition)
    rules = tuple(site if rule is edition else rule for rule in book)
    card = cards.rule_card(replace(book, rules=rules, protocol="Invented Hospital"), "pip.example")
    assert "22 cmH2O" in card.text
    assert f"Common practice says: {edition.text}." in seen(card).open
    assert "Invented Hospital" in card.text


def test_a_step_card_gives_the_reason_and_the_source(book: RuleBook):
    """A step is never shown without why it is done."""
    for step in book.procedure("set-up"):
        card = cards.step_card(step)
        assert step.reason in seen(card).open
        assert is_folded_where_it_says_more(str(step.citation), seen(card))


def test_what_rules_say_is_text_and_never_markup(book: RuleBook):
    """A sign of markup in a rule is shown as it is."""
    odd: Rule = replace(book["flow.start"], says="a < b & <script>alert(1)</script>")
    rules = tuple(odd if rule.id == "flow.start" else rule for rule in book)
    card = cards.rule_card(replace(book, rules=rules), "flow.start")
    assert "<script>" not in card.html
    assert odd.says in seen(card).open


def test_a_procedure_becomes_a_table_with_caption_and_headers(book: RuleBook):
    """Each step stands once, in a table that says what its columns and rows are."""
    procedure = book.procedure("set-up")
    ids = procedure.ids
    table = cards.procedure_table(procedure, {"First": ids[:2], "Then": ids[2:]})
    page = seen(table)
    assert len(page.all("caption")) == 1
    scopes = [cell["scope"] for cell in page.all("th")]
    assert scopes.count("col") == 2
    assert scopes.count("row") == len(procedure)
    assert scopes.count("rowgroup") == 2
    for step in procedure:
        assert table.text.count(step.says) == page.open.count(step.says) == 1
        assert step.reason in page.open
        assert str(step.citation) in page.folded


def test_readings_say_the_same_in_words_and_in_the_table():
    """The text twin of a table of readings holds each cell."""
    rows = [cards.Reading("one", "One.", 10.0, 2.26), cards.Reading("two", "Two.", 20.04, 0.04)]
    table = cards.readings_table("Title", rows, "A note.")
    assert table.text.splitlines() == [
        "Title",
        "1. One. Occluded: 10 cmH2O. Released: 2.5 cmH2O.",
        "2. Two. Occluded: 20 cmH2O. Released: 0 cmH2O.",
        "A note.",
    ]
    page = seen(table)
    for cell in ("1. One.", "10 cmH2O", "2.5 cmH2O", "0 cmH2O", "A note."):
        assert cell in page.open


@pytest.mark.parametrize(
    ("pressure", "said"), [(0.0, "0 cmH2O"), (-0.1, "0 cmH2O"), (5.26, "5.5 cmH2O")]
)
def test_a_reading_is_said_as_a_person_reads_a_gauge(pressure: float, said: str):
    """Readings are rounded to the nearest half; there is no minus zero."""
    assert cards.shown(pressure) == said


def test_hints_are_folded_and_open_one_by_one():
    """No hint is seen before it is asked for."""
    made = cards.hints(["where", "which", "almost"])
    page = seen(made)
    assert len(page.all("details")) == 3
    assert all(
        word in page.folded and word not in page.open for word in ("where", "which", "almost")
    )
    assert "Hint 2 of 3" in page.open
    assert "Hint 2 of 3: which" in made.text


def test_all_that_takes_the_focus_keeps_its_keys(book: RuleBook):
    """Each summary carries the mark without which JupyterLab takes the key."""
    made = cards.stack(
        [
            cards.rule_card(book, "pip.ceiling"),
            cards.folded("More", cards.note("inside")),
            cards.hints(["one"]),
            cards.procedure_table(book.procedure("set-up"), {"All": book.procedure("set-up").ids}),
        ]
    )
    summaries = seen(made).all("summary")
    assert len(summaries) == 4
    assert all("data-lm-suppress-shortcuts" in attrs for attrs in summaries)


def test_what_is_folded_is_not_told_in_the_text_twin():
    """The twin of a fold names it only: what is inside would give the result away."""
    made = cards.folded("Open after your prediction", cards.note("The gauge shows it."))
    assert made.text == "Open after your prediction"
    assert "The gauge shows it." in seen(made).folded


def test_a_site_that_replaces_one_population_says_which_number_is_whose():
    """The site's number, the other population's, and what was replaced cannot be mixed up."""
    card = cards.rule_card(overlay(rulebook("aha-2020"), read_protocol(EXAMPLE)), "relief.limit")
    assert "below 32 weeks: 28 cmH2O (your site)" in card.text
    assert "term, 37 weeks or more: 40 cmH2O\n" in card.text
    assert "Below 32 weeks: common practice says: 30 cmH2O." in card.text


def test_a_wide_table_names_each_cell_where_its_head_is_out_of_sight():
    """From four columns on a telephone shows a row as a list; three stay a table."""
    narrow, wide = (
        cards.rows_table("T", [f"c{n}" for n in range(count)], [[f"v{n}" for n in range(count)]])
        for count in (cards.WIDE - 1, cards.WIDE)
    )
    assert "data-label" not in narrow.html
    assert "tpiece-wide" not in narrow.html
    assert 'class="tpiece-table tpiece-wide"' in wide.html
    assert '<td data-label="c3:">v3</td>' in wide.html
    asks = cards.rows_table("T", ["a", "b", "c", "Agrees?"], [["1", "2", "3", "4"]])
    assert 'data-label="Agrees?"' in asks.html
