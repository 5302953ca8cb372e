"""Files that somebody else may have made: read whole, bounded, and never through a link.

A name can be a link, a pipe, a device without an end, or become one between a look and the
reading. So a file is opened first, without following and without waiting, and what was opened
is looked at.
"""

from __future__ import annotations

import codecs
import errno
import os
import stat
from pathlib import Path

_OPEN = (
    os.O_RDONLY
    | getattr(os, "O_NOFOLLOW", 0)
    | getattr(os, "O_NONBLOCK", 0)
    | getattr(os, "O_CLOEXEC", 0)
    | getattr(os, "O_BINARY", 0)
)
_OTHER = {codecs.BOM_UTF16_LE: "utf-16-le", codecs.BOM_UTF16_BE: "utf-16-be"}


class NotPlainError(OSError):
    """What bears the name is a folder, a link, a pipe or a device."""


class TooLargeError(OSError):
    """The file has more than the bytes asked for; ``size`` says how many."""

    def __init__(self, path: Path, size: int) -> None:
        super().__init__(errno.EFBIG, os.strerror(errno.EFBIG), str(path))
        self.size = size


def read_plain(path: Path, most: int, *, follow: bool = False, within: int | None = None) -> bytes:
    """Return a file's bytes; ``follow`` also takes a link, which the caller's own files may be.

    ``within`` is an open folder that ``path`` is relative to: it cannot become a link meanwhile.

    Raises FileNotFoundError, NotPlainError, TooLargeError for more than ``most`` bytes, or
    another OSError.
    """
    flags = _OPEN & ~getattr(os, "O_NOFOLLOW", 0) if follow else _OPEN
    if within is None and (path.is_dir() or (not follow and path.is_symlink())):
        raise NotPlainError(errno.ELOOP, "it is no plain file", str(path))
    try:
        handle = os.open(path, flags, dir_fd=within)
    except OSError as error:
        if error.errno in (errno.ELOOP, errno.ENXIO, errno.EISDIR, errno.EMLINK):
            raise NotPlainError(error.errno, "it is no plain file", str(path)) from None
        raise
    try:
        found = os.fstat(handle)
        if not stat.S_ISREG(found.st_mode):
            raise NotPlainError(errno.EINVAL, "it is no plain file", str(path))
        if found.st_size > most:
            raise TooLargeError(path, found.st_size)
        data = _read(handle, most + 1)  # it may grow meanwhile
    finally:
        os.close(handle)
    if len(data) > most:
        raise TooLargeError(path, len(data))
    return data


def _read(handle: int, most: int) -> bytes:
    parts, left = [], most
    while left and (part := os.read(handle, min(left, 2**20))):
        parts.append(part)
        left -= len(part)
    return b"".join(parts)


def in_utf8(data: bytes) -> bytes:
    """Return text in UTF-8 where it is UTF-16 with its mark, as some editors save it."""
    for mark, encoding in _OTHER.items():
        if data.startswith(mark):
            return data[len(mark) :].decode(encoding, errors="replace").encode()
    return data


def refusal(path: Path, error: OSError, most: int) -> str:
    """Return in a sentence why a file that somebody named cannot be read."""
    if isinstance(error, FileNotFoundError):
        return f"There is no file {path}. Look for it where it was saved."
    if isinstance(error, NotPlainError):
        return f"{path} is no file but a folder, a pipe or a device. Name a file."
    if isinstance(error, TooLargeError):
        return f"{path} is larger than {most // 2**20} MB, so it is probably another file."
    return f"{path} cannot be read ({error.strerror or error})."
