"""Files that are replaced all together or not at all."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from workbook.core.errors import PlainError


class ReportError(PlainError, OSError):
    """A report that could not be written; the message is one sentence."""


def replace_files(files: Mapping[Path, bytes]) -> None:
    """Write every draft before the first file is replaced, so a full disk replaces none.

    Raises ReportError when one cannot be written; the earlier file is then still there.
    """
    drafts = {path: path.with_name(f".{path.name}.{os.getpid()}.part") for path in files}
    path = next(iter(files))
    try:
        for path, data in files.items():
            drafts[path].write_bytes(data)
        for path, draft in drafts.items():
            draft.replace(path)
    except OSError as error:
        raise ReportError(
            f"{path} cannot be written ({error.strerror or error}): close it if it is open in "
            "another program, check that the folder may be written to, and try again."
        ) from error
    finally:
        for draft in drafts.values():
            if draft.is_file():  # left over when the writing stopped half-way
                draft.unlink()
