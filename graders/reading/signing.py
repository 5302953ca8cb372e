"""Files what people of a site read in print: signatures into its protocol, names beside it."""

from __future__ import annotations

import csv
import io
import tempfile
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from graders.core.replaced import replace_files
from graders.core.spreadsheet import harmless
from graders.reading.sheet import COLUMNS
from graders.reading.signed import Entry, SignedSheet, SignError
from workbook.course.settings import FILE, PROTOCOL, Course
from workbook.rules.reader.rulefile import RuleFileError
from workbook.rules.signed import Signature
from workbook.rules.site.protocol import Protocol
from workbook.rules.site.protocolfile import read_protocol
from workbook.rules.site.signedfile import signature_lines, toml_lines

NAMES = "signed-by.csv"  # stays in the course folder: learners receive the protocol, never this
MARK = "# --- Read in print: written by tpiece rules signed, from here to the end of the file. ---"
_NO_NAMES = f"# Who read it stands in {NAMES} only: learners receive this file."
_YEARS = 1  # until a new protocol is reviewed; its file may say otherwise


@dataclass(frozen=True, slots=True)
class Signing:
    """What taking a sheet in did."""

    new: int
    again: int
    corrected: tuple[Signature, ...]
    protocol: Path
    names: Path


def sign(path: Path, course: Course, made: SignedSheet, today: date) -> Signing:
    """Take a sheet into the protocol of a course folder; every file is replaced whole, or none.

    A later signature of the same rule takes the place of the earlier. Raises SignError when the
    protocol there cannot be used.
    """
    target, names = path / PROTOCOL, path / NAMES
    old = _old(target, course)
    kept = {signature.key: signature for signature in old.signed} if old else {}
    again = sum(signature.key in kept for signature in made.signatures)
    joined = tuple({**kept, **{each.key: each for each in made.signatures}}.values())
    text = f"{_head(target, course, made, today)}\n\n{_signed(joined)}"
    _check(text, target, joined)
    files = {names: _names(names, made.entries, today), target: text.encode()}
    if not course.protocol:
        files[path / FILE] = replace(course, protocol=PROTOCOL).text().encode()
    replace_files(files)
    corrected = tuple(each for each in made.signatures if each.numbers is not None)
    return Signing(len(made.entries) - again, again, corrected, target, names)


def _old(target: Path, course: Course) -> Protocol | None:
    if not course.protocol:
        if target.is_file():
            raise SignError(
                f"{target} lies there, but the course does not use it: give it out with tpiece "
                "assign --protocol, or take it away, and try again. Nothing was taken in."
            )
        return None
    try:
        return read_protocol(target)
    except RuleFileError as error:
        raise SignError(f"The site's protocol must be mended first. {error}") from None


def _head(target: Path, course: Course, made: SignedSheet, today: date) -> str:
    """Return the protocol's text before the signatures, as it is, or of a new protocol."""
    if course.protocol:
        text = target.read_text(encoding="utf-8")
        head = text.partition(MARK)[0].rstrip()
        if "signed" in tomllib.loads(head):
            raise SignError(
                f"{target} has [[signed]] above the line {MARK!r}; take it out, and try again. "
                "Nothing was taken in."
            )
        return head
    roles = sorted({signature.read.role for signature in made.signatures})
    new: dict[str, object] = {
        "title": "Numbers read in print at this site",
        "edition": course.edition,
        "source": "the signed sheets of this site",
        "approved_by": ", ".join(roles),
        "review_by": _later(today),
    }
    return "\n".join(["[protocol]", *toml_lines(new)])


def _later(today: date) -> date:
    return date(today.year + _YEARS, today.month, min(today.day, 28))


def _signed(signatures: Sequence[Signature]) -> str:
    lines = [MARK, _NO_NAMES, *(line for each in signatures for line in signature_lines(each))]
    return "\n".join(lines) + "\n"


def _check(text: str, target: Path, signatures: tuple[Signature, ...]) -> None:
    """Read what is to be written before any file is touched."""
    with tempfile.TemporaryDirectory() as folder:
        draft = Path(folder) / target.name
        draft.write_text(text, encoding="utf-8")
        try:
            made = read_protocol(draft)
        except RuleFileError as error:
            raise SignError(f"The protocol would not be readable. {error}") from None
    if made.signed != signatures:
        raise SignError("The protocol would not say what the sheet says; nothing was taken in.")


def _names(path: Path, entries: Sequence[Entry], today: date) -> bytes:
    """Return the record of who signed what, with the new lines at its end."""
    before = path.read_bytes() if path.is_file() else b""
    file = io.StringIO(newline="")
    writer = csv.writer(file)
    if not before:
        writer.writerow(("taken", *COLUMNS))
    for entry in entries:
        writer.writerow([harmless(cell) for cell in (today.isoformat(), *entry.cells)])
    return before + file.getvalue().encode("utf-8" if before else "utf-8-sig")
