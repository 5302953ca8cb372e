"""Pseudonyms: what a learner is called in everything that leaves the course folder.

A pseudonym is a keyed hash of the learner id (HMAC-SHA-256, RFC 2104). The key is made once,
kept in the course folder for its owner alone, and never handed over: without it nobody can tell
who a pseudonym is, nor try out ids they guess.
"""

from __future__ import annotations

import csv
import hashlib
import hmac
import os
import re
import secrets
from collections.abc import Mapping
from pathlib import Path

from graders.core.spreadsheet import ENCODING, harmless
from graders.course.coursefolder import Person
from graders.handover.files import OWNER_ONLY, HandoverError, not_written, replaced

KEY = "pseudonym.key"
TABLE = "pseudonyms.csv"
SIZE = 32  # bytes of the key: as long as the hash
LETTERS = 32  # hexadecimal digits of a pseudonym: 128 bits, so no two learners ever share one

_KEY_TEXT = re.compile(rf"[0-9a-f]{{{2 * SIZE}}}")


def pseudonym(learner: str, key: bytes) -> str:
    """Return a learner's pseudonym: a letter, so that no program takes it for a number, and hex."""
    made = hmac.new(key, learner.encode(), hashlib.sha256).hexdigest()
    return f"p{made[:LETTERS]}"


def course_key(folder: Path) -> bytes:
    """Return the key of a course, made at the first call.

    Raises HandoverError when the file is no key: another key would give everyone a new name.
    """
    path = folder / KEY
    try:
        if not path.exists():
            _make(path)
        path.chmod(OWNER_ONLY)
        text = path.read_text(encoding="ascii", errors="replace").strip()
    except OSError as error:
        raise not_written(path, error) from error
    if not _KEY_TEXT.fullmatch(text):
        raise HandoverError(
            f"{path} is not a key: it was cut short or edited. Put back your copy of it; without "
            "one, delete it, and every learner gets a new pseudonym from now on."
        )
    return bytes.fromhex(text)


def _make(path: Path) -> None:
    """Write a new key, whole; of two programs that make one at once the first one's stays."""
    draft = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, OWNER_ONLY)
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(f"{secrets.token_hex(SIZE)}\n")
        os.link(draft, path)
    except FileExistsError:
        pass  # the other program's key is as good
    finally:
        draft.unlink(missing_ok=True)


def write_table(folder: Path, pseudonyms: Mapping[str, str], people: Mapping[str, Person]) -> Path:
    """Write who each pseudonym is, for the coordinator alone, and return the path.

    ``pseudonyms`` are by learner id. The table belongs in the course folder and nowhere else.
    """
    path = folder / TABLE
    with replaced([path], encoding=ENCODING, mode=OWNER_ONLY) as (file,):
        writer = csv.writer(file)
        writer.writerow(("pseudonym", "learner", "name", "role", "ward"))
        for learner in sorted(pseudonyms):
            person = people.get(learner, Person(learner))
            cells = (learner, person.name, person.role, person.ward)
            writer.writerow((pseudonyms[learner], *map(harmless, cells)))
    return path
