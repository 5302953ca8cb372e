"""What a command says: cleaned of whatever would steer a terminal, and mistakes as sentences."""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import Any

import click

from workbook.core.errors import PlainError

TRACE = "TPIECE_TRACE"  # set it to see where the program itself failed
_SIGN = "\ufffd"
# Control characters but for tab and new line, halves of characters, signs that part lines or
# turn the direction of what follows: none is a letter of any language.
STEERING: Mapping[int, str] = dict.fromkeys(
    [
        *range(9), 11, 12, *range(13, 32), *range(127, 160), *range(0xD800, 0xE000),
        0x2028, 0x2029, *range(0x202A, 0x202F), *range(0x2066, 0x206A), 0xFEFF,
    ],
    _SIGN,
)  # fmt: skip


def printable(text: str) -> str:
    """Return a text with a sign in place of each character that steers instead of being read."""
    return text.translate(STEERING)


def in_one_line(text: str) -> str:
    """Return the same in one line, for what others named: a file, a learner."""
    return printable(text.replace("\n", _SIGN).replace("\t", _SIGN))


def echo(text: object = "", *, err: bool = False) -> None:
    """Print a line."""
    click.echo(printable(str(text)), err=err)


def tell(problem: str) -> None:
    """Print a line about something that is wrong."""
    echo(f"  {problem}", err=True)


class Commands(click.Group):
    """The group of all commands: a mistake of any of them is a sentence and a non-zero exit."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; what it writes is about people, so it is for its owner alone."""
        before = os.umask(0o077)
        try:
            return self._invoke(ctx)
        finally:
            os.umask(before)

    def _invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except click.ClickException as error:
            if isinstance(error, click.UsageError) or printable(error.message) == error.message:
                raise  # click prints what was typed by the one who reads it
            raise click.ClickException(printable(error.message)) from error
        except (click.Abort, click.exceptions.Exit):
            raise
        except (PlainError, ValueError, OSError) as error:
            raise click.ClickException(printable(_said(error))) from error
        except Exception as error:
            if os.environ.get(TRACE):
                raise
            raise click.ClickException(
                printable(
                    f"The program itself failed ({type(error).__name__}: {str(error)[:200]}). "
                    f"Nothing more was done. Please report this; with {TRACE}=1 set it says where."
                )
            ) from error


def _said(error: Exception) -> str:
    if type(error) in (PlainError, ValueError) or not isinstance(error, OSError):
        return str(error)
    if error.filename is None or error.strerror is None:
        return str(error)
    return f"{error.filename} cannot be used ({error.strerror})."
