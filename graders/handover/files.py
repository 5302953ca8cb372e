"""Files of a hand-over: written as drafts, which replace what was there all together."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TextIO

from workbook.core.errors import PlainError

OWNER_ONLY = 0o600
AS_USUAL = 0o666  # the system takes away what the user's settings do not allow


class HandoverError(PlainError, ValueError):
    """A hand-over that cannot be made; the message says what, where, and what to do."""


@contextmanager
def replaced(
    paths: Sequence[Path], *, encoding: str = "utf-8", mode: int = AS_USUAL
) -> Iterator[list[TextIO]]:
    """Give a draft to write for each path; at the end all replace their files, or none does.

    Lines end as they are written. Raises HandoverError when a file cannot be written; the
    earlier ones are then still there.
    """
    drafts = {path: path.with_name(f".{path.name}.{os.getpid()}.part") for path in paths}
    try:
        with ExitStack() as stack:
            for folder in {path.parent for path in paths}:
                folder.mkdir(parents=True, exist_ok=True)
            yield [stack.enter_context(_opened(d, encoding, mode)) for d in drafts.values()]
        for path, draft in drafts.items():
            draft.replace(path)
    except OSError as error:
        if error.filename and not _ours(error.filename, drafts):
            raise  # something else could not be read while the drafts were open
        raise not_written(paths[0], error) from error
    finally:
        for draft in drafts.values():
            draft.unlink(missing_ok=True)


def not_written(path: Path, error: OSError) -> HandoverError:
    """Return the sentence for a file that cannot be written."""
    return HandoverError(
        f"{path} cannot be written ({error.strerror or error}): close it if it is open in another "
        "program, check the folder and the space left, or choose another folder with --out."
    )


def _opened(draft: Path, encoding: str, mode: int) -> TextIO:
    draft.unlink(missing_ok=True)  # left by a run that was killed; its mode must not be kept
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode)
    return os.fdopen(handle, "w", encoding=encoding, errors="replace", newline="")


def _ours(name: str | bytes | int, drafts: dict[Path, Path]) -> bool:
    about = Path(os.fsdecode(name)) if isinstance(name, str | bytes) else None
    folders = {path.parent for path in drafts}
    return about in {*drafts.values(), *folders} or any(about in f.parents for f in folders)
