"""A learner's own page, and the same as data to keep."""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import datetime
from typing import Any

from markupsafe import Markup

from graders.learner.page import LearnerView, Part, Told
from graders.learner.standing import Status
from graders.marks.little_trace import traces
from graders.marks.verdict import Verdict
from graders.report.frame import drawn
from workbook.cases import title
from workbook.core.language import N_, _, beware, speaking
from workbook.rules import superseded

FOLDER = "pages"


def learner_text(view: LearnerView, *, made_at: datetime, version: str) -> str:
    """Return a learner's page as HTML, in the language of the course."""
    with speaking(view.course.language):
        return drawn(
            "learner.html.jinja",
            view=view,
            book=view.course.book,
            newer=superseded(view.course.book.edition),
            says=summary(view),
            beware=beware(),
            status=status,
            title=title,
            needle=needle,
            heading=heading,
            made_at=made_at,
            version=version,
        )


def learner_data(view: LearnerView, *, made_at: datetime, version: str) -> str:
    """Return a learner's own results as JSON, for the learner to keep; ``status`` in English."""
    units = [_unit(part) for part in view.parts]
    with speaking(view.course.language):
        found = {
            "learner": view.learner, "course": view.course.id, "edition": view.course.edition,
            "made_at": made_at.isoformat(timespec="seconds"), "version": version,
            "says": summary(view), "next": view.next, "retest": view.retest.says, "lab": view.lab,
            "units": units,
        }  # fmt: skip
    return json.dumps(found, ensure_ascii=False, indent=1)


def summary(view: LearnerView) -> str:
    """Return where the learner stands in a sentence."""
    count, ready = len(view.parts), sum(part.ready for part in view.parts)
    if view.unsafe:
        return _("Something here could harm a baby. That comes first; everything else can wait.")
    if view.overlooked:
        return _("Something was overlooked in a colleague's set-up. Look at that first.")
    if view.ready:
        return _("You are ready for the skills lab. Well prepared is the best way to arrive there.")
    open_ = [part for part in view.parts if part.work is None]
    if len(open_) == count:
        return _("Nothing is marked yet.")
    says = _("{ready} of {count} units are ready for the lab. Here is what is left, one by one.")
    return says.format(ready=ready, count=count)


def status(part: Part) -> Status:
    """Return where the learner stands in a unit."""
    if part.work is None:
        return Status.MISSING
    if not part.work.digest:
        return Status.UNMARKED
    if part.unsafe:
        return Status.UNSAFE
    return Status.READY if part.ready else Status.NOT_YET


HEADINGS = {
    "hands": N_("What your hands did here could harm a baby"),
    "act": N_("This could harm a baby"),
    "others": N_("Look again at what your colleague did"),
}


def heading(told: Told) -> str:
    """Return what stands over a grave finding: whose act it speaks of; nothing over another."""
    return _(HEADINGS[told.whose]) if told.grave else ""


def needle(told: Told) -> Markup:
    """Return the little trace of a finding; nothing where it has none."""
    return Markup(traces(Verdict("", (told.finding,))))  # noqa: S704  # made and escaped there


def _unit(part: Part) -> dict[str, Any]:
    work = part.work
    if work is None:
        return {"unit": part.unit, "status": status(part).value, "next": part.next}
    return {
        "unit": part.unit, "status": status(part).value, "next": part.next,
        "handed_in": work.handed_in, "score": part.score, "possible": work.possible,
        "problems": list(work.problems), "attempt": work.attempt,
        "hand_ins": [asdict(one) for one in part.tries],
        "questions": [
            {"question": q.id, "asks": q.asks, "said": q.said, "earned": q.verdict.earned,
             "possible": q.verdict.possible,
             "findings": [{"met": t.finding.met, "says": t.finding.says, "rule": t.rule,
                           "source": t.finding.source} for t in q.told]}
            for q in part.questions
        ],
    }  # fmt: skip
