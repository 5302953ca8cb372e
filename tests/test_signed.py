"""Numbers that people of a site read in print: from the sheet to the learner, and the fall."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from graders.marking.exercise import mark_all, model_answers
from graders.marking.personas import answers_of, played
from graders.marks.checks import source_of
from graders.reading.sheet import sheet
from graders.reading.signed import SignError, read_signed
from graders.reading.signing import MARK, NAMES, sign
from tests.signing_base import every_rule, line_of, rows, sheet_on, signed, written
from workbook.cases import case, exercises
from workbook.course.settings import FILE, PROTOCOL, Course, read_course
from workbook.display import cards
from workbook.rules import Basis, compare, editions, rulebook
from workbook.rules.files import digest, file, shipped
from workbook.rules.reader.rulefile import RuleFileError
from workbook.rules.rule import ReadBy
from workbook.rules.signed import Numbers, Signature, digest_of, following, in_force, under
from workbook.rules.site.protocolfile import check_protocol, read_protocol
from workbook.rules.site.signedfile import fallen

TODAY = date(2026, 11, 29)
SAYS = "Read in the printed edition by nurse educator, 2026-11-20."
MEMORY = Basis.MEMORY.says
BOTH = ("textbook-2021", "aha-2020")


def course_in(folder, edition="textbook-2021"):
    """Return a course that lies in a folder, as tpiece assign makes it."""
    folder.mkdir(exist_ok=True)
    made = Course("may", "May course", edition, exercises(), folder=folder)
    (folder / FILE).write_text(made.text(), encoding="utf-8")
    return read_course(folder)


def signed_course(folder, lines, edition="textbook-2021"):
    """Return a course whose sheet was filled in and taken back."""
    course = course_in(folder, edition)
    path = written(folder / "sheet.csv", lines)
    sign(folder, course, read_signed(path, edition, TODAY), TODAY)
    return read_course(folder)


@pytest.mark.parametrize("edition", editions())
def test_a_sheet_signed_whole_leaves_nothing_from_memory_in_any_edition(edition, tmp_path):
    """Every card of the edition says who read it; our own data and its basis stay as they were."""
    before = digest()
    made = sheet_on(edition)
    course = signed_course(tmp_path / "course", [signed(line) for line in rows(made)], edition)
    book = course.book
    for rule in book:
        held = next(
            r for r in shipped(edition) if (r.id, r.population) == (rule.id, rule.population)
        )
        assert rule.citation.basis is held.citation.basis
        assert held.citation.read is None
    for id in {line.rule.id for line in made.lines if line.rule in shipped(edition).rules}:
        shown = cards.rule_card(book, id)
        assert SAYS in shown.text
        assert "From memory" not in shown.text + shown.html
        assert "page S532" in shown.text
        assert "Ada" not in shown.text + shown.html
    again = sheet(course, every_rule(edition))
    assert again.lines == ()
    assert again.done == len(made.lines)
    assert digest() == before


@pytest.mark.parametrize("edition", editions())
def test_confirming_changes_no_draw_and_no_point(edition, tmp_path):
    """Only the sources that findings show change: from memory to who read it."""
    lines = [signed(line) for line in rows(sheet_on(edition))]
    course = signed_course(tmp_path / "course", lines, edition)
    plain = rulebook(edition)
    for unit in exercises():
        mine, theirs = (case("may", unit, "ada", book) for book in (course.book, plain))
        assert _asked(mine) == _asked(theirs)
        for belief in ("", *played(unit)[:3]):
            answers = answers_of(theirs, plain, belief)
            got = mark_all(mine, answers, course.book)
            want = mark_all(theirs, answers, plain)
            assert [v.earned for v in got] == [v.earned for v in want]
    assert in_force() == ()


def _asked(drawn):
    """Return what a case asks; a case from birth carries the book it was drawn by, too."""
    return [replace(q, facts={**q.facts, "book": None}) for q in drawn.questions]


def test_findings_show_who_read_it(tmp_path):
    """A wrong start is told with its source: the role and the day, for sizes too; never a name."""
    edition = "textbook-2021"
    lines = [signed(line) for line in rows(sheet_on(edition))]
    course = signed_course(tmp_path / "course", lines, edition)
    told = {True: [], False: []}
    for read, book in {True: course.book, False: rulebook(edition)}.items():
        for unit in exercises()[1:]:
            mine = case("may", unit, "ada", book)
            for belief in played(unit):
                marked = mark_all(mine, answers_of(mine, book, belief), book)
                told[read] += [f.source for v in marked for f in v.findings]
    before = [says for says in told[False] if MEMORY in says and "Textbook" in says]
    after = [says for says in told[True] if SAYS in says]
    assert len(before) > 5
    assert len(after) >= len(before)
    assert not [says for says in told[True] if MEMORY in says and "Textbook" in says]
    assert "Ada" not in "".join(told[True])


def test_a_corrected_number_is_used_and_both_are_shown(tmp_path):
    """In the rules, on the card, in the source of a finding, in the key of a case."""
    line = line_of(sheet_on("textbook-2021"), "pip.start", edition="textbook-2021")
    course = signed_course(tmp_path / "course", [signed(line, prints="26 to 28", read="")])
    rule = course.book["pip.start"]
    assert rule.band == (26, 28)
    assert rule.corrected
    assert not rule.from_site
    assert rule.shown == "26 to 28 cmH2O (as read in print; before, here: 20 to 25 cmH2O)"
    assert rule.shown in source_of(rule)
    assert SAYS in source_of(rule)
    assert "Corrected from print; before, here: 20 to 25 cmH2O." in str(rule)
    card = cards.rule_card(course.book, "pip.start")
    assert "26 to 28 cmH2O" in card.text
    assert "Read in print; before, here: 20 to 25 cmH2O." in card.text
    assert "Rule of your site" not in card.text
    answers = [
        str(model_answers(case("may", exercises()[1], who, book), book))
        for book in (course.book, rulebook("textbook-2021"))
        for who in ("ada", "bo", "cy")
    ]
    assert answers[:3] != answers[3:]


def test_a_number_outside_the_edition_is_read_and_corrected_for_its_course_only(tmp_path):
    """Sizes and other editions belong to no course: they follow the one that is marked."""
    made = sheet_on("aha-2020")
    tube = line_of(made, "tube.weight", "below 1000 g")
    pip = line_of(made, "pip.step", edition="textbook-2021")
    lines = [signed(tube, prints="3 mm", read=""), signed(pip, prints="6 to 9", read="")]
    course = signed_course(tmp_path / "course", lines, "aha-2020")
    drawn = case("may", exercises()[3], "ada", course.book)
    with following(course.book.signed):
        assert file("sizes").find("tube.weight", weight=800).value == 3
        assert rulebook("textbook-2021")["pip.step"].band == (6, 9)
        assert "6 to 9 cmH2O" in compare("pip.step").text
        assert SAYS in cards.rule_card(rulebook("textbook-2021"), "pip.step").text
    assert file("sizes").find("tube.weight", weight=800).value == 2.5
    assert rulebook("textbook-2021")["pip.step"].band == (5, 10)
    again = case("may", exercises()[3], "ada", rulebook("aha-2020"))
    assert again == case("may", exercises()[3], "ada", shipped("aha-2020"))
    assert len(drawn.questions) == len(again.questions)


def test_a_corrected_size_makes_the_corrected_answer_right():
    """What is kept of the sizes is kept by whose signatures are in force."""
    from workbook.units.sizing.case.tubes import sizes_by_weight

    rule = file("sizes").find("tube.weight", weight=800)
    read = ReadBy("nurse", "2026-11-20", "3")
    key = rule.edition, rule.id, rule.population.says
    made = Signature(*key, digest_of(rule), read, Numbers(3.0, 3.0))
    before = sizes_by_weight(800.0)
    with following((made,)):
        assert sizes_by_weight(800.0) != before
        assert 3.0 in sizes_by_weight(800.0)
    assert sizes_by_weight(800.0) == before


def test_a_band_read_in_part_says_so_and_stays_from_memory(tmp_path):
    """The one end is told; the warning stays, and the sheet asks again."""
    line = line_of(sheet_on("textbook-2021"), "pip.start", edition="textbook-2021")
    course = signed_course(tmp_path / "course", [signed(line, read="low")])
    card = cards.rule_card(course.book, "pip.start")
    assert "nurse educator, 2026-11-20: the lower end. The rest: from memory: check it" in card.text
    assert "tpiece-beware" in card.html
    left = sheet(course, every_rule("textbook-2021"))
    assert "pip.start" in {each.rule.id for each in left.lines}


def test_a_name_stays_in_the_sites_own_file(tmp_path):
    """Learners receive the protocol; the name is not in it, nor in any page."""
    line = line_of(sheet_on("textbook-2021"), "pip.start", edition="textbook-2021")
    course = signed_course(tmp_path / "course", [signed(line, name="Zoë Ångström")])
    text = (course.folder / PROTOCOL).read_text(encoding="utf-8")
    assert "Zo" not in text
    assert "Zoë Ångström" in (course.folder / NAMES).read_text(encoding="utf-8-sig")
    assert "Zo" not in str(course.book["pip.start"])


def change(monkeypatch, **new):
    """Let our own data say something else of one rule from now on."""
    from workbook.rules.site import signedfile

    real = signedfile.shipped

    def changed(name):
        book = real(name)
        rules = (replace(r, **new) if r.id == "pip.start" else r for r in book)
        return replace(book, rules=tuple(rules))

    monkeypatch.setattr(signedfile, "shipped", changed)
    return changed


def test_a_signature_falls_when_its_rule_changes(tmp_path, monkeypatch):
    """It is told, the number shows from memory again, and the sheet asks again."""
    line = line_of(sheet_on("textbook-2021"), "pip.start", edition="textbook-2021")
    course = signed_course(tmp_path / "course", [signed(line, prints="26 to 28")])
    (signature,) = course.book.signed
    assert fallen(signature) == ""
    changed = change(monkeypatch, low=22)
    says = fallen(signature)
    assert "has changed since it was signed" in says
    assert "has fallen" in says
    assert "shows 'from memory' again" in says
    rule = changed("textbook-2021")["pip.start"]
    (now,) = under([rule], [signature])
    assert now is rule
    assert now.band == (22, 25)
    assert now.citation.from_memory
    checked = check_protocol(course.folder / PROTOCOL, TODAY)
    assert checked.protocol is not None
    assert any("has fallen" in doubt for doubt in checked.warnings)
    again = sheet(course, every_rule("textbook-2021"))
    (asked,) = [
        e for e in again.lines if e.rule.id == "pip.start" and e.rule.edition == "textbook-2021"
    ]
    assert "has fallen" in asked.fell


@pytest.mark.parametrize("basis", [Basis.PRIMARY, Basis.PRACTICE])
def test_a_signature_is_not_shown_where_our_own_data_needs_none(basis):
    """A rule that we read ourselves later says so itself."""
    rule = shipped("textbook-2021")["pip.start"]
    surer = replace(rule, citation=replace(rule.citation, basis=basis))
    key = rule.edition, rule.id, rule.population.says
    made = Signature(*key, digest_of(rule), ReadBy("nurse", "2026-11-20", "3"))
    assert under([surer], [made]) == (surer,)


def test_a_sheet_joins_a_protocol_and_leaves_its_text_alone(tmp_path):
    """Comments stay; a later signature of the same rule takes the place of the earlier."""
    folder = tmp_path / "course"
    course_in(folder)
    own = (
        '# Our own words.\n[protocol]\ntitle = "Ours"\nedition = "textbook-2021"\n'
        'source = "sheet 7"\napproved_by = "nobody real"\nreview_by = 2030-01-31\n\n'
        '[[replace]]\nrule = "peep.start"\nunit = "cmH2O"\nvalue = 6\n'
    )
    (folder / PROTOCOL).write_text(own, encoding="utf-8")
    with_site = replace(read_course(folder), protocol=PROTOCOL)
    (folder / FILE).write_text(with_site.text(), encoding="utf-8")
    made = sheet_on("textbook-2021")
    pip = line_of(made, "pip.start", edition="textbook-2021")
    for line in (signed(pip), signed(pip, role="neonatologist", date="2026-11-21")):
        course = read_course(folder)
        path = written(tmp_path / "sheet.csv", [line])
        done = sign(folder, course, read_signed(path, course.edition, TODAY), TODAY)
    assert (done.new, done.again) == (0, 1)
    text = (folder / PROTOCOL).read_text(encoding="utf-8")
    assert text.startswith(own.rstrip())
    assert text.count(MARK) == 1
    protocol = read_protocol(folder / PROTOCOL)
    assert [each.read.role for each in protocol.signed] == ["neonatologist"]
    assert len((folder / NAMES).read_text(encoding="utf-8-sig").splitlines()) == 3
    book = read_course(folder).book
    assert book["peep.start"].from_site
    assert "neonatologist, 2026-11-21" in book["pip.start"].citation.says


def test_a_site_rule_stays_the_sites_and_what_it_replaced_may_be_read(tmp_path):
    """The site's number is used; the edition's beside it says who read it."""
    rule = shipped("textbook-2021")["pip.start"]
    source = replace(rule.citation.source, approved_by="the committee")
    ours = replace(rule, low=22.0, citation=replace(rule.citation, source=source), replaces=rule)
    key = rule.edition, rule.id, rule.population.says
    made = Signature(*key, digest_of(rule), ReadBy("nurse", "2026-11-20", "3"))
    (got,) = under([ours], [made])
    assert got.low == 22
    assert got.from_site
    assert "nurse" in got.replaces.citation.says


def test_a_protocol_that_cannot_be_used_keeps_everything_out(tmp_path):
    """Broken, laid there but not used, or with signatures by hand: no file is touched."""
    folder = tmp_path / "course"
    course = course_in(folder)
    line = line_of(sheet_on("textbook-2021"), "pip.start", edition="textbook-2021")
    made = read_signed(written(tmp_path / "sheet.csv", [signed(line)]), course.edition, TODAY)
    (folder / PROTOCOL).write_text("not a protocol", encoding="utf-8")
    with pytest.raises(SignError, match="the course does not use it"):
        sign(folder, course, made, TODAY)
    (folder / FILE).write_text(replace(course, protocol=PROTOCOL).text(), encoding="utf-8")
    with pytest.raises(SignError, match="must be mended first"):
        sign(folder, read_course(folder), made, TODAY)
    assert (folder / PROTOCOL).read_text(encoding="utf-8") == "not a protocol"
    assert not (folder / NAMES).exists()


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('page = "S532"', 'page = ""', "page is missing"),
        ('role = "nurse educator"', "", "role is missing"),
        ("date = 2026-11-20", 'date = "2026-11-20"', "without quotation marks"),
        ("digest = ", "digest = 5 # ", "digest must be a text"),
        ('page = "S532"', 'page = "S532"\nparts = ["middle"]', "parts is a list of low, high"),
        ('page = "S532"', 'page = "S532"\nvalue = 90', "90 cmH2O is outside what can be meant"),
        ('page = "S532"', 'page = "S532"\nname = "Ada"', "unknown key 'name'"),
        ('role = "nurse educator"', f'role = "{"r" * 81}"', "at most 80 plain characters"),
    ],
)
def test_a_signature_changed_by_hand_is_checked_like_any_rule(old, new, says, tmp_path):
    """Every mistake is named with its line."""
    line = line_of(sheet_on("textbook-2021"), "pip.start", edition="textbook-2021")
    course = signed_course(tmp_path / "course", [signed(line)])
    path = course.folder / PROTOCOL
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(RuleFileError) as caught:
        read_protocol(path)
    assert says in str(caught.value)
    assert "line " in str(caught.value)


def test_a_protocol_with_signatures_is_written_and_read_the_same(tmp_path):
    """Parts, corrected bands, ends and typical values come back as they were."""
    lines = rows(sheet_on("textbook-2021"))
    filled = [
        signed(line, read="low") if "low" in line["parts"] else signed(line) for line in lines
    ]
    wide = line_of(sheet_on("textbook-2021"), "peep.start", edition="textbook-2021")
    filled = [f for f in filled if f["rule"] != "peep.start"]
    course = signed_course(tmp_path / "c", [*filled, signed(wide, prints="5 to 6, typical 5.5")])
    protocol = read_protocol(course.folder / PROTOCOL)
    path = tmp_path / "again.toml"
    path.write_text(protocol.text(), encoding="utf-8")
    assert read_protocol(path) == protocol


def test_no_page_asks_our_own_basis_where_a_signature_may_stand():
    """What shows a basis asks the citation, which knows who read it; only lists of rules do not."""
    from pathlib import Path

    import workbook

    for path in sorted(Path(workbook.__file__).parent.rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        if not {"rules", "cases"} & set(path.relative_to(Path(workbook.__file__).parent).parts):
            assert "citation.basis" not in text, path
