"""The coordinator's page: whole, escaped, and right in every kind of group."""

from __future__ import annotations

import csv
import re
from base64 import b64encode
from dataclasses import replace
from hashlib import sha256
from itertools import pairwise
from pathlib import Path

import pytest

from graders.cohort.group import Cohort, cohort
from graders.lab.record import LabResult
from graders.lab.sheet import Seen
from graders.marks.verdict import Finding
from graders.report import frame, page, write_csv, write_report
from graders.report.frame import title_of, when_of
from graders.report.page import summary
from tests.report_base import (
    COURSE,
    GROUPS,
    MADE_AT,
    RIGHT,
    SLIP,
    UNIT,
    UNSAFE,
    group,
    html_of,
    line_of,
    section,
    tags,
    text_of,
    two_units,
    work,
)
from workbook.course.settings import Course

HERE = Path(frame.__file__).parent


@pytest.mark.parametrize("made", GROUPS.values(), ids=GROUPS)
def test_every_kind_of_group_makes_a_whole_page(made: Cohort, tmp_path: Path) -> None:
    """Each edge case has a page with one title and every section, and a table with its lines."""
    html = html_of(made)
    headings = [int(tag[1]) for tag, _ in tags(html) if re.fullmatch(r"h\d", tag)]
    assert headings.count(1) == 1
    assert headings.count(2) == 8
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
    """No address and no other file: the page can be mailed and opened anywhere."""
    html = html_of(GROUPS["all wrong"])
    found = tags(html)
    assert not {tag for tag, _ in found} & {"img", "link", "iframe", "object"}
    for tag, attributes in found:
        assert not [name for name in attributes if name.startswith("on") or name == "src"]
        assert (attributes.get("href") or "#").startswith("#"), tag
        assert "action" not in attributes
    assert "default-src 'none'" in html
    assert "form-action 'none'" in html
    assert "url(" not in html


def test_one_script_runs_and_it_is_ours() -> None:
    """The policy names the hash of the sorting script, and there is no other on the page."""
    html = html_of(GROUPS["all wrong"])
    (script,) = re.findall(r"<script>(.*?)</script>", html, re.DOTALL)
    assert script == (HERE / "sort.js").read_text(encoding="utf-8")
    hashed = b64encode(sha256(script.encode()).digest()).decode()
    assert f"script-src 'sha256-{hashed}'" in html
    for asks in ("fetch", "XMLHttp", "import(", "eval", "innerHTML", "localStorage", "cookie"):
        assert asks not in script


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
    assert [tag for tag, _ in tags(html)].count("script") == 1
    assert "<i>Title" not in html
    assert "<b a=" not in html
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
    for ids, named in (("ab", False), ("abc", True)):
        html = html_of(group(*(work(id, RIGHT, SLIP) for id in ids), roster=roster))
        found = section(html, "beliefs")
        assert ("Name-a" in found) is named
        assert f"{len(ids)} of {len(ids)} learners (100 %)" in found


def test_who_may_have_slipped_is_counted_apart_and_led_to_the_belief() -> None:
    """The group's part says of how many; a learner's line leads to the belief itself."""
    perhaps = replace(SLIP, misconception=f"a-slip/{SLIP.misconception}")
    html = html_of(group(work("a", RIGHT, SLIP), work("b", RIGHT, perhaps)))
    assert "2 of 2 learners (100 %), 1 perhaps by a slip" in section(html, "beliefs")
    assert f'<a href="#m-{SLIP.misconception}">A slip or Falls to zero</a>' in html
    assert "shows in 2 of 2, 1 perhaps by a slip." in text_of(html)


def test_the_same_unsafe_act_stands_once_with_everyone_who_showed_it() -> None:
    """An act is one line with the number of learners and their names."""
    html = html_of(GROUPS["all wrong"])
    part = section(html, "unsafe-acts")
    assert part.count("The bag was overlooked.") == 1
    assert "2 : a , b" in text_of(part)


def test_the_pass_mark_shows_where_it_comes_from() -> None:
    """The rules' pass mark shows its citation; the course's own says so."""
    citation = str(COURSE.book["pass-mark"].citation)
    assert citation in text_of(html_of(GROUPS["one learner"]))
    own = html_of(group(work("a", RIGHT), course=Course("t", "T", units=(UNIT,), pass_mark=0.9)))
    assert "90 % of the points. Set for this course, in course.toml." in text_of(own)
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


def test_each_learner_has_one_line_with_every_unit_and_one_next_thing() -> None:
    """The worst unit is the status; what is critical is done first, then what is not handed in."""
    html = html_of(two_units())
    says = {id: text_of(line_of(html, id)) for id in "abcd"}
    assert says["a"].startswith(
        "Name of a a nurse, North, Hill Unsafe act Ready 100 % Unsafe 0 % 90.9 % "
        "Unsafe act first: read lesson 1_setup_order.ipynb, “When the gas fails”. What showed: 2"
    )
    assert says["b"] == "Name of b b nurse, North, Hill Ready Ready 100 % Ready 100 % 100 % " + (
        "Come to the lab."
    )
    assert "Not yet Not yet 0 % Missing 0 % Read lesson 1_setup_order.ipynb" in says["c"]
    assert "Not handed in Missing Missing None Open the exercise 1_setup_order.ipynb" in says["d"]
    order = re.findall(r'"id">(\w)<', section(html, "readiness"))
    assert order == ["a", "c", "d", "b"]


def test_the_filters_know_each_line_by_its_classes() -> None:
    """Status over all and by unit, and the site; every class a filter asks for is explained."""
    html = html_of(two_units())
    assert 'class="u00 u14 u20 s0"' in line_of(html, "a")
    assert 'class="u03 u13 u23 s1"' in line_of(html, "d")
    choices = re.search(r'<select id="f-site".*?</select>', html)
    assert choices is not None
    assert re.findall(r'"(\w+)">([^<]+)<', choices[0]) == [
        ("all", "Any site"), ("0", "Hill"), ("1", "Not given"), ("2", "Shore"),
    ]  # fmt: skip
    assert "f-ward" not in html  # one ward, nothing to choose
    rule = 'body:has(#f-site option[value="2"]:checked) .who tbody tr:not(.s2) { display: none; }'
    assert rule in html


def test_the_groups_part_has_no_small_site() -> None:
    """Sites of two, one and one learner are not set side by side."""
    part = section(html_of(two_units()), "parts")
    assert "Hill" not in part
    assert "nothing to set side by side" in part


def test_a_large_group_is_named_in_part_and_counted_in_full() -> None:
    """A thousand with the same unsafe act: thirty names, and how many more there are."""
    made = group(*(work(f"l{n:04d}", SLIP, UNSAFE) for n in range(1000)))
    html = html_of(made)
    assert "1000 : l0000 , l0001" in text_of(section(html, "unsafe-acts"))
    assert "l0029 and 970 more" in text_of(section(html, "unsafe-acts"))
    assert "1000 of 1000 learners (100 %)" in section(html, "beliefs")
    assert section(html, "beliefs").count("<bdi>") <= 60
    assert section(html, "readiness").count("<tr class=") == 1000


def test_what_was_seen_in_the_lab_stands_beside_and_makes_nobody_competent() -> None:
    """Steps done and critical ones to see again, for whom there are any; else no column at all."""
    seen = {"s/1": Seen("a", "s/1", "yes", "Instructor", "2026-05-06")}
    lab = {"a": LabResult("a", "2026-05-06", ("Instructor",), seen, 12, ("s/2",))}
    made = two_units()
    html = page(made, made_at=MADE_AT, version="1.0", lab=lab)
    assert "1 of 12 1 critical to see again" in text_of(line_of(html, "a"))
    assert "Not seen" in text_of(line_of(html, "b"))
    assert "it certifies nothing" in text_of(section(html, "readiness"))
    assert "Seen in the lab" not in html_of(made)


def test_one_unsafe_act_is_one_line_whatever_its_numbers() -> None:
    """Five learners' pressures differ; what they did does not."""
    acts = [
        Finding("q", False, f"PIP {20 + n}.5 stood at {n} s, before PEEP.", 0, 1, True, "set-pip")
        for n in range(5)
    ]
    made = group(*(work(id, act) for id, act in zip("abcde", acts, strict=True)))
    part = text_of(section(html_of(made), "unsafe-acts"))
    assert part.count("before PEEP") == 1
    assert "PIP … stood at … s, before PEEP. 5 : a , b" in part
    alone = text_of(section(html_of(group(work("a", acts[0]))), "unsafe-acts"))
    assert "PIP 20.5 stood at 0 s, before PEEP." in alone


def test_a_next_thing_names_a_question_in_words() -> None:
    """Not by what the program calls it."""
    missed = Finding("shift-check", False, "No answer.", 0, 1, True)
    asks = {"q": "Which of these is on your trolley?"}
    one = replace(work("a", missed), asks=asks)
    said = text_of(html_of(group(one)))
    assert "Answer the critical question “Which of these is on your trolley?”" in said
    lost = replace(work("b", Finding("q", False, "Not so.", 0, 4)), asks=asks)
    assert "Go over the question “Which of these is on your trolley?”" in text_of(
        html_of(group(lost))
    )
