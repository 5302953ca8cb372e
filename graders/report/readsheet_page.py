"""The sheet of what is to be read in print: one HTML page to fill in by hand."""

from __future__ import annotations

from datetime import datetime

from graders.reading.sheet import FILLED, Publication, Sheet
from graders.report.frame import environment

READ_PAGE = "rules-sheet.html"
READ_TABLE = "rules-sheet.csv"
READ_PDF = "rules-sheet-{paper}.pdf"
COMMAND = f"tpiece rules signed {READ_TABLE}"
HOW = (
    "Take one publication. Write your name, your role and the date above its list.",
    "Find each number. Does the page say the same? Tick Same, and write the page.",
    "Does it print another number? Leave the box empty. Write the page, and what it prints, as "
    "the sheet writes it: 20 to 25, up to 30, 30 or more, below 750, or one number.",
    "Found only one end of a band? Tick Same and write low or high beside the box. Only that part "
    "counts as read.",
    "Not found? Leave the line empty. It goes on to say that it is from memory.",
)
MEMORY = "From memory: read by nobody yet"
COPIES = "Read in a copy only"
_MEMORY_SAYS = "Nobody has seen these on a printed page. Begin here."
_COPIES_SAYS = "These were read in a copy or a table of others, not in the publication itself."


def parts(made: Sheet) -> tuple[tuple[str, str, tuple[Publication, ...]], ...]:
    """Return the two parts of the sheet, each with its title, a sentence and its publications."""
    return (MEMORY, _MEMORY_SAYS, made.memory), (COPIES, _COPIES_SAYS, made.copies)


def summary(made: Sheet) -> str:
    """Return in a sentence or two what is to be read, and what has been."""
    memory, copies = (sum(len(p.lines) for p in part) for part in (made.memory, made.copies))
    if not memory + copies:
        return "Everything that this course uses has been read in print."
    places = len({p.source.key for p in (*made.memory, *made.copies)})
    where = "one publication" if places == 1 else f"{places} publications"
    says = f"{memory} numbers and sentences are from memory, {copies} were read in a copy only: "
    done = f" {made.done} have been read in print here." if made.done else ""
    return f"{says}{where}.{done}"


def derived(made: Sheet, learners: int) -> str:
    """Return how it was found out what the course uses."""
    return (
        f"The course was run through: cases of {learners} invented learners were drawn and marked, "
        f"every lesson was opened. It asked for {made.asked} rules; this sheet has those that "
        "nobody has read in the source."
    )


def sheet_text(made: Sheet, learners: int, *, made_at: datetime, version: str) -> str:
    """Return the sheet as one HTML page."""
    book = made.course.book
    page = environment().get_template("readsheet.html.jinja")
    return page.render(
        course=made.course,
        edition=book.edition,
        protocol=book.protocol,
        made_at=made_at,
        version=version,
        summary=summary(made),
        how=HOW,
        parts=parts(made),
        table=READ_TABLE,
        command=COMMAND,
        columns=FILLED,
        derived=derived(made, learners),
    )
