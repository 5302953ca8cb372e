"""A hub as a hospital group runs it: three people, kills of every part, and closed doors."""

from __future__ import annotations

import os
import re
import tempfile
from pathlib import Path

import pytest
from playwright.sync_api import Route, expect

from graders.marking.exercise import model_answers, points
from graders.nbgrader.gradebook import Nbgrader
from graders.nbgrader.scores import totals
from tests.journey import hub_doors as doors
from tests.journey.accounts import kill, until
from tests.journey.hub import SCORES_PASSWORD, hub_of
from tests.journey.hub_people import PATIENCE, Person
from tests.journey.pages import UNIT
from workbook.cases import Kind
from workbook.course.result import find, marked
from workbook.course.settings import read_course

EXERCISE = f"{UNIT}/{UNIT}.ipynb"
ADA, BEA, CYD = NAMES = ("tphubada", "tphubbea", "tphubcyd")
HELD, RELEASED, OPEN = "gauge-held", "gauge-released", "gauge-open"
WRONG = {"text": "99", "unit": "cmH2O"}


@pytest.fixture(scope="module")
def hub():
    """Yield a running hub of a course whose scores are on a PostgreSQL server."""
    if os.geteuid() != 0:
        pytest.skip("a hub needs accounts of the machine: run this as root, as .ci/run does")
    with (
        tempfile.TemporaryDirectory(prefix="tpiece-hub-") as place,
        hub_of(Path(place), NAMES) as made,
    ):
        yield made


@pytest.fixture(scope="module")
def people(hub, chromium):
    """Return three people who came in at the same time, each with the unit open and ready."""
    made = {name: Person(hub, chromium, name) for name in NAMES}
    for person in made.values():
        person.sign_in("/" if person.name == ADA else f"/hub/user-redirect/doc/tree/{EXERCISE}")
    for person in made.values():
        person.arrive()
    yield made
    for person in made.values():
        person.page.context.close()


@pytest.fixture(scope="module")
def handed_in(hub, people):
    """Return what each person's right and wrong answers are worth, handed in by the button."""
    book, worth = hub.course.course.book, points(UNIT)
    due = {}
    for name, kinds, wrong in (
        (ADA, (Kind.CHOICE, Kind.NUMBER), ()),
        (BEA, (Kind.CHOICE, Kind.NUMBER), (HELD, RELEASED, OPEN)),
        (CYD, (Kind.NUMBER,), ()),
    ):
        person = people[name]
        right = person.wanted(model_answers(person.drawn, book), *kinds)
        for question, value in right.items():
            person.give(question, WRONG if question in wrong else value)
        person.hand_in()
        due[name] = sum(worth[question] for question in right if question not in wrong)
    return due


def number(text: str) -> dict[str, str]:
    return {"text": text, "unit": "cmH2O"}


def nothing_is_lost(people: dict[str, Person]) -> None:
    """See that each answer that any page called saved is on disk."""
    for person in people.values():
        assert person.kept() == person.saved


# --- kills in the middle


def test_while_the_hub_is_dead_people_work_on(hub, people):
    """kill -9 on the hub: answers are saved all the while; started again, it finds everybody."""
    servers = {name: person.server() for name, person in people.items()}
    people[ADA].give(HELD, number("11"))
    hub.kill()
    people[BEA].give(HELD, number("12"))
    people[CYD].give(HELD, number("13"))
    nothing_is_lost(people)
    hub.start()
    people[ADA].come_back()
    people[ADA].shows(HELD, "11")
    people[BEA].give(RELEASED, number("4"))
    nothing_is_lost(people)
    assert {name: person.server() for name, person in people.items()} == servers


def test_a_killed_proxy_comes_back_and_no_answer_is_lost(hub, people):
    """Nothing is called saved before it is; the hub starts another proxy by itself."""
    bea, before = people[BEA], hub.proxy
    bea.give(HELD, number("14"))
    kill(before)
    bea.part(HELD).get_by_role("textbox").fill("15")
    expect(bea.told(HELD)).to_contain_text(re.compile("Saving…|Not saved yet"))
    until(lambda: hub.proxy != before and hub.answers(), PATIENCE / 1000)
    bea.insist(HELD, number("15"))
    nothing_is_lost(people)


def test_a_killed_server_starts_again_with_every_answer(people):
    """kill -9 on one person's server: it comes back with the page, the others work on."""
    cyd, before = people[CYD], people[CYD].server()
    cyd.give(RELEASED, number("6"))
    kill(before)
    people[ADA].give(RELEASED, number("5"))
    cyd.come_back()
    cyd.shows(HELD, "13")
    cyd.shows(RELEASED, "6")
    assert cyd.server() != before
    cyd.give(OPEN, number("1"))
    nothing_is_lost(people)


def test_while_the_database_is_away_learners_notice_nothing(hub, people, handed_in):
    """Answers are saved and handed in; grading says a sentence, and is right once it is back."""
    hub.scores.stop("immediate")
    people[ADA].hand_in()
    refused = hub.tpiece("grade", "--course", hub.course.path)
    assert refused.returncode == 1
    assert "The gradebook cannot be used just now" in refused.stderr
    assert SCORES_PASSWORD not in refused.stderr + refused.stdout
    hub.scores.start()
    nothing_is_lost(people)


def test_what_three_people_handed_in_is_graded_into_postgresql_and_reported(hub, people, handed_in):
    """Collected from the exchange, scored as worth, and each person stands in the report."""
    for command in ("collect", "grade", "report"):
        done = hub.tpiece(command, "--course", hub.course.path)
        assert done.returncode == 0, done.stderr
    with Nbgrader(hub.course).gradebook() as book:
        assert {who: score for (who, _), score in totals(book).items()} == handed_in
    assert not (hub.course.path / "gradebook.db").exists()
    report = (hub.course.path / "report.html").read_text(encoding="utf-8")
    assert [name for name in NAMES if name in report] == list(NAMES)
    nothing_is_lost(people)


def test_a_second_attempt_is_handed_in_and_marked_by_its_own_case(hub, people, handed_in):
    """Begun by the button, collected by owner; the report keeps the first until it is graded."""
    cyd, course = people[CYD], hub.course.path
    before = hub.tpiece("grade", "--course", course, "--explain", CYD, UNIT).stdout
    cyd.begin_attempt(2)
    right = cyd.wanted(model_answers(cyd.drawn, hub.course.course.book), Kind.NUMBER)
    for question, value in right.items():
        cyd.give(question, value)
    cyd.hand_in()
    assert hub.tpiece("collect", "--course", course).returncode == 0
    assert hub.tpiece("grade", "--course", course, "--explain", CYD, UNIT).stdout == before
    assert hub.tpiece("grade", "--course", course).returncode == 0
    told = hub.tpiece("grade", "--course", course, "--explain", CYD, UNIT).stdout
    assert f"{UNIT}, {CYD}, attempt 2" not in before
    assert f"{UNIT}, {CYD}, attempt 2" in told
    with Nbgrader(hub.course).gradebook() as book:
        assert totals(book)[CYD, UNIT] == handed_in[CYD]
    cyd.come_back()
    nothing_is_lost(people)


# --- closed doors; what a learner could try is in hub_doors.py


def test_a_learners_own_code_reads_nothing_of_others(hub, people, handed_in):
    """Run in ada's own kernel: not others' files, nor the course's, nor the scores' password."""
    hub.tpiece("collect", "--course", hub.course.path)
    own, shut = doors.open_to(hub, people[ADA]), doors.shut_to(hub, people[BEA])
    assert [path for path in [*own, *shut] if not path.exists()] == []
    found = people[ADA].run(doors.look([*own, *shut]))
    assert found == {"account": ADA, "read": [str(path) for path in own]}
    places = [hub.out, hub.course.path, hub.folder / "closed", Path("/home"), Path("/proc")]
    searched = people[ADA].run(doors.search(places, SCORES_PASSWORD))
    assert searched["files"] > 100
    assert searched["found"] == []


def test_a_learners_own_code_is_turned_away_by_others_servers(hub, people):
    """Ada's key opens her own server, and neither bea's, nor bea's entry, nor the database."""
    told = people[ADA].run(doors.knock(hub, people[ADA], people[BEA]))
    assert told["own server"] == told["own entry"] == 200
    assert told["other's server"] in (403, 404)
    assert told["other's entry"] in (403, 404)
    assert "password authentication failed" in told["database"]
    page = people[ADA].page.context.new_page()
    reply = page.goto(people[BEA].unit)
    assert reply.status == 403
    page.close()


def test_work_handed_in_as_another_is_set_aside(hub, people, handed_in):
    """Ada's code can neither move bea's work away nor lay its own in bea's place."""
    inbound = hub.out / "exchange" / "may" / "inbound"
    (others, *_) = inbound.glob(f"{BEA}+*")
    told = people[ADA].run(doors.forge(inbound, others, BEA))
    assert told == {"renamed": False, "changed": False, "laid": True}
    done = hub.tpiece("collect", "--course", hub.course.path)
    assert f"under the name {BEA} was handed in by another account ({ADA})" in done.stderr
    collected = hub.course.submitted(BEA, UNIT) / f"{UNIT}.answers.jsonl"
    assert collected.read_bytes() == people[BEA].file.read_bytes()


# --- and marked at hand-in, for which the hub is started anew


def test_a_result_comes_to_the_page_without_the_coordinator(hub, people, handed_in):
    """Handed in, marked by the account that owns the course, shown; the score is in as well."""
    ada, course = people[ADA], hub.course
    assert hub.marking() == []
    given = hub.tpiece("assign", "--course", course.path, "--feedback", "at-hand-in")
    assert given.returncode == 0, given.stderr
    hub.kill()
    hub.start()
    until(hub.marking, PATIENCE / 1000)
    kill(ada.server())  # the next one lays the course's new settings
    ada.come_back()
    ada.begin_attempt(2)
    right = ada.wanted(model_answers(ada.drawn, course.course.book), Kind.CHOICE)
    for question, value in right.items():
        ada.give(question, value)
    ada.hand_in_and_see()
    worth = sum(points(UNIT)[question] for question in right)
    told = find(ada.file.parent.parent, "may", ADA, UNIT)
    assert told is not None
    assert (told.latest, told.result.attempt, told.result.earned) == (True, 2, worth)
    with Nbgrader(course).gradebook() as book:
        until(lambda: _score(book, ADA) == worth, PATIENCE / 1000)
    _sees_what_was_marked_before_the_page_asked(ada)
    (marking,) = hub.marking()
    hub.kill()
    until(lambda: marking not in hub.marking(), PATIENCE / 1000)
    hub.start()


def _sees_what_was_marked_before_the_page_asked(ada: Person) -> None:
    """A hand-in whose page asks late, as on a busy hub, shows the result that is there by then."""
    folder = ada.file.parent.parent
    ada.come_back()
    ada.begin_attempt(3)
    (question, value), *_ = ada.wanted(
        model_answers(ada.drawn, ada.hub.course.course.book), Kind.CHOICE
    ).items()
    ada.give(question, value)

    def late(route: Route) -> None:
        if route.request.method == "POST":
            until(lambda: marked(folder, read_course(folder), ADA, UNIT), PATIENCE / 1000)
        route.continue_()

    ada.page.route("**/tpiece/result?*", late)
    ada.hand_in_and_see()
    ada.page.unroute("**/tpiece/result?*")
    expect(ada.page.get_by_role("dialog")).to_have_count(0)


def _score(book, name: str) -> float:
    book.db.rollback()  # what another process wrote since is looked at, too
    return totals(book)[name, UNIT]
