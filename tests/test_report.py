"""The coordinator's page and table: whole, escaped, and right in every kind of group."""

from __future__ import annotations

import csv
import re
from datetime import UTC, datetime
from html import unescape
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest

from graders.cohort import Cohort, cohort
from graders.coursefolder import Person
from graders.grade import Graded
from graders.report import COLUMNS, ReportError, page, write_csv, write_report
from graders.report.export import harmless
from graders.report.frame import title_of, when_of
from graders.report.page import summary
from graders.verdict import Finding, Verdict
from workbook.course import Course

UNIT = "1_setup_order"
COURSE = Course("test", "Invented course", units=(UNIT,))
MADE_AT = datetime(2026, 5, 5, 9, tzinfo=UTC)
RIGHT = Finding("q", True, "Right.", 10, 10)
UNSAFE = Finding(
    "q", False, "The bag was overlooked.", 0, 0, True, "ready-bag", "", "bag-not-needed"
)
SLIP = Finding("q", False, "Not zero.", 0, 1, rule="set-peep", misconception="falls-to-zero")


def work(
    learner: str, *findings: Finding, problems: tuple[str, ...] = (), when: str = ""
) -> Graded:
    verdicts = (Verdict("q", findings),)
    digest = "abc" if findings else ""
    return Graded(learner, UNIT, COURSE.edition, verdicts, problems, when, digest, "1.0")


def group(*graded: Graded, roster: dict[str, str] | None = None, course: Course = COURSE) -> Cohort:
    people = {id: Person(id, name) for id, name in (roster or {}).items()}
    return cohort(graded, people, course)


def html_of(made: Cohort) -> str:
    return page(made, made_at=MADE_AT, version="1.0")


def text_of(html: str) -> str:
    body = re.sub(r"<style>.*?</style>", "", html, flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", body)).split())


class Outline(HTMLParser):
    """Collects the tags of a page in order."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Remember a tag and its attributes."""
        self.tags.append((tag, dict(attrs)))


def tags(html: str) -> list[tuple[str, dict[str, str | None]]]:
    outline = Outline()
    outline.feed(html)
    return outline.tags


GROUPS = {
    "nobody at all": group(),
    "nobody handed in": group(roster={"a": "Aster Demo", "b": ""}),
    "one learner": group(work("a", RIGHT)),
    "all right": group(work("a", RIGHT), work("b", RIGHT), roster={"a": "A", "b": "B"}),
    "all wrong": group(work("a", SLIP, UNSAFE), work("b", SLIP, UNSAFE)),
    "broken file": group(work("a", problems=("The file is cut off.",)), roster={"a": ""}),
    "names": group(work("a", RIGHT), roster={"a": "ハシバミ 見本", "b": "خزامى"}),
}


@pytest.mark.parametrize("made", GROUPS.values(), ids=GROUPS)
def test_every_kind_of_group_makes_a_whole_page(made: Cohort, tmp_path: Path) -> None:
    """Each edge case has a page with one title and every section, and a table with its lines."""
    html = html_of(made)
    headings = [int(tag[1]) for tag, _ in tags(html) if re.fullmatch(r"h\d", tag)]
    assert headings.count(1) == 1
    assert headings.count(2) == 7
    assert all(b - a <= 1 for a, b in pairwise(headings))
    write_csv(made, tmp_path / "t.csv")
    lines = list(csv.DictReader((tmp_path / "t.csv").open(encoding="utf-8-sig", newline="")))
    assert [line["learner"] for line in lines] == [row.learner for row in made.rows]


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("nobody at all", "Nothing was handed in, and there is no roster to say who should."),
        ("nobody handed in", "0 of 2 handed in; nothing can be said of the group yet."),
        ("one learner", "1 of 1 handed in; 1 is ready for the lab; nobody showed an unsafe act."),
        ("all right", "2 of 2 handed in; 2 are ready for the lab; nobody showed an unsafe act."),
        ("all wrong", "2 of 2 handed in; nobody is ready for the lab; 2 showed an unsafe act."),
        ("names", "1 of 2 handed in; 1 is ready for the lab; nobody showed an unsafe act."),
    ],
)
def test_the_summary_says_it_in_one_sentence(name: str, says: str) -> None:
    """The first sentence holds how many handed in, are ready, and showed an unsafe act."""
    assert summary(GROUPS[name]) == says
    assert says in text_of(html_of(GROUPS[name]))


def test_the_page_needs_nothing_else() -> None:
    """No script, no address, no other file: the page can be mailed and opened anywhere."""
    found = tags(html_of(GROUPS["all wrong"]))
    assert not {tag for tag, _ in found} & {"script", "img", "link", "iframe", "object", "form"}
    for tag, attributes in found:
        assert not [name for name in attributes if name.startswith("on") or name == "src"]
        assert (attributes.get("href") or "#").startswith("#"), tag
    assert "default-src 'none'" in html_of(GROUPS["all wrong"])
    assert "url(" not in html_of(GROUPS["all wrong"])


def test_every_link_leads_somewhere_and_no_id_stands_twice() -> None:
    """Links on the page point at ids of the page."""
    for made in GROUPS.values():
        found = tags(html_of(made))
        ids = [a["id"] for _, a in found if "id" in a]
        assert len(ids) == len(set(ids))
        assert {(a["href"] or "")[1:] for _, a in found if "href" in a} <= set(ids)


def test_names_files_and_titles_are_escaped() -> None:
    """Markup in whatever people typed is shown as text and never becomes markup."""
    bad = "<script>alert('x')</script><b a=\"1\">&amp;"
    course = Course("test", "<i>Title</i>", units=(UNIT,))
    finding = Finding("q", False, bad, 0, 1, True, "set-pip")
    graded = work("a", finding, problems=(bad,), when=bad)
    html = html_of(group(graded, roster={"a": bad, "b": bad}, course=course))
    assert not {tag for tag, _ in tags(html)} & {"script", "i"}
    assert text_of(html).count("<script>alert('x')</script>") >= 5
    assert "<title>&lt;i&gt;Title" in html


def test_control_characters_never_reach_the_page(tmp_path: Path) -> None:
    """A name with control characters or half a character is shown, and the files are written."""
    made = group(work("a", RIGHT), roster={"a": "As\x00ter\x1b \ud800"})
    paths = write_report(made, tmp_path, made_at=MADE_AT, version="1.0")
    assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]", paths[0].read_text(encoding="utf-8"))


def test_tables_have_captions_and_header_cells() -> None:
    """Each table is named by a caption, and each header cell says what it heads."""
    found = tags(html_of(GROUPS["all wrong"]))
    names = [tag for tag, _ in found]
    assert names.count("table") == names.count("caption") >= 3
    assert all(a.get("scope") in ("col", "row") for tag, a in found if tag == "th")
    regions = [a for _, a in found if a.get("role") == "region"]
    assert len(regions) == names.count("table")
    assert all(a["tabindex"] == "0" and a["aria-labelledby"] for a in regions)


def test_the_page_says_ready_is_not_competent() -> None:
    """Whoever reads the page reads what ready does not mean, and what comes first."""
    for made in GROUPS.values():
        text = text_of(html_of(made))
        assert "Ready for the lab is not competent." in text
        assert "Local protocol, the device's own instructions and licensed practice" in text


def test_a_belief_of_few_names_nobody_in_the_groups_part() -> None:
    """Two holders are a count there; three are named."""
    roster = {id: f"Name-{id}" for id in "abc"}
    part = re.compile(r'<section id="beliefs".*?</section>', re.DOTALL)
    for ids, named in (("ab", False), ("abc", True)):
        html = html_of(group(*(work(id, RIGHT, SLIP) for id in ids), roster=roster))
        found = part.search(html)
        assert found is not None
        assert ("Name-a" in found[0]) is named
        assert f"{len(ids)} of {len(ids)} learners (100 %)" in found[0]


def test_the_same_unsafe_act_stands_once_with_everyone_who_showed_it() -> None:
    """An act is one line with the number of learners and their names."""
    html = html_of(GROUPS["all wrong"])
    assert html.count("The bag was overlooked.") == 1
    assert "2 : a , b" in text_of(html)


def test_the_pass_mark_shows_where_it_comes_from() -> None:
    """The rules' pass mark shows its citation; the course's own says so."""
    citation = str(COURSE.book["pass-mark"].citation)
    assert citation in text_of(html_of(GROUPS["one learner"]))
    own = html_of(group(work("a", RIGHT), course=Course("t", "T", units=(UNIT,), pass_mark=0.9)))
    assert "90 % of the points. Set by the course." in text_of(own)
    assert citation not in text_of(own)


def test_a_human_score_is_shown_as_one() -> None:
    """A score changed in the gradebook stands on the page beside what the marking gave."""
    made = cohort([work("a", RIGHT, SLIP)], {}, COURSE, scores={("a", UNIT): 11.0})
    text = text_of(html_of(made))
    assert "Scored by a person" in text
    assert "11 in the gradebook, 10 by the marking." in text


def test_another_version_of_the_marking_is_named() -> None:
    """Verdicts of another version than the report's are called out."""
    assert "Some verdicts were made by 1.0" in text_of(
        page(GROUPS["one learner"], made_at=MADE_AT, version="2.0")
    )


def test_somebody_not_on_the_roster_is_marked() -> None:
    """Work from outside the roster is counted, and said to be."""
    text = text_of(html_of(group(work("x", RIGHT), roster={"a": ""})))
    assert "1 of 2 handed in" in text
    assert "Counted here but not on the roster: x." in text
    assert "x Not on the roster" in text


def test_titles_and_times_read_well() -> None:
    """Ids become titles; a time is shown to the minute, and text that is no time is not."""
    assert title_of("peep-before-pip") == "PEEP before PIP"
    assert title_of("order-is-habit") == "Order is habit"
    assert when_of("2026-05-04 10:11:12.123456 UTC") == "2026-05-04 10:11 UTC"
    assert when_of("2026-05-04T10:11:12Z") == "2026-05-04 10:11"
    assert when_of("<b>now</b>") == ""


def test_the_table_holds_every_documented_column(tmp_path: Path) -> None:
    """The header is COLUMNS, in order, and each has a meaning in words."""
    graded = work("a", RIGHT, SLIP, UNSAFE, problems=("Cut, off.",), when="2026-05-04 10:11:12 UTC")
    write_csv(group(graded, roster={"a": "", "b": ""}), tmp_path / "t.csv")
    assert (tmp_path / "t.csv").read_bytes().startswith(b"\xef\xbb\xbflearner,")
    header, *lines = csv.reader((tmp_path / "t.csv").open(encoding="utf-8-sig", newline=""))
    assert header == list(COLUMNS)
    assert all(meaning.endswith(".") for meaning in COLUMNS.values())
    assert lines[0] == [
        "a", UNIT, COURSE.edition, "2026-05-04 10:11:12 UTC", "no", "10.0", "11", "90.9", "no",
        "The bag was overlooked.", "falls-to-zero | bag-not-needed", "Cut, off.",
        "Unsafe act first: read 1_setup_order.ipynb, When the gas fails.", "", "", "",
    ]  # fmt: skip
    assert lines[1][:9] == ["b", UNIT, "", "no", "no", "", "", "", "no"]


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"])
def test_no_cell_starts_a_formula(start: str) -> None:
    """A text cell a spreadsheet would run gets an apostrophe; a number stays a number."""
    assert str(harmless(f"{start}1+1")).startswith("'")
    assert harmless(-1.5) == -1.5


def test_no_formula_hides_behind_another_separator(tmp_path: Path) -> None:
    """Opened where semicolons part the cells, no part of a sentence becomes a formula."""
    graded = work("@a", RIGHT, problems=("It names '; =1+1', ;-2 and\t@x.",))
    write_csv(group(graded), tmp_path / "t.csv")
    text = (tmp_path / "t.csv").read_text(encoding="utf-8-sig")
    line = text.splitlines()[1]
    assert line.startswith("'@a,")
    for cell in re.split(r"[;\t]", line)[1:]:
        assert not re.match(r"\s*[=+\-@]", cell)


def test_a_plain_sentence_is_left_alone() -> None:
    """Ordinary text, with signs inside, is written as it is."""
    plain = "PIP 20-25; read again | it's 5 = 5"
    assert harmless(plain) == plain


def test_both_files_are_written_whole_and_nothing_is_left_over(tmp_path: Path) -> None:
    """A second report replaces the first; no draft stays behind."""
    for made in (GROUPS["all wrong"], GROUPS["one learner"]):
        paths = write_report(made, tmp_path, made_at=MADE_AT, version="1.0")
    assert [path.name for path in paths] == ["report.html", "report.csv"]
    assert sorted(tmp_path.iterdir()) == sorted(paths)
    assert "The bag was overlooked." not in paths[0].read_text(encoding="utf-8")


@pytest.mark.parametrize("where", ["missing", "file"])
def test_a_folder_that_cannot_be_written_is_one_sentence(tmp_path: Path, where: str) -> None:
    """The error names the file and what to do, and is no traceback for the reader."""
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(ReportError, match=r"report\.html cannot be written") as told:
        write_report(GROUPS["one learner"], tmp_path / where, made_at=MADE_AT, version="1.0")
    assert str(told.value).count(". ") == 0


def test_a_table_open_elsewhere_leaves_the_old_one(tmp_path: Path) -> None:
    """A file that cannot be replaced is named, and no draft is left beside it."""
    (tmp_path / "report.csv" / "held").mkdir(parents=True)
    with pytest.raises(ReportError, match=r"report\.csv cannot be written"):
        write_report(GROUPS["one learner"], tmp_path, made_at=MADE_AT, version="1.0")
    assert not list(tmp_path.glob(".*.part"))
