"""What the commands share: where a course lies, what is said below each, mistakes as sentences."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps
from pathlib import Path
from typing import Any, ClassVar

import click

from graders.nbgrader.gradebook import GradebookError
from workbook.core.errors import PlainError
from workbook.core.language import languages
from workbook.start.launch import LaunchError

HOME = Path("~/tpiece-workbook").expanduser()
SAFETY = (
    "For education only; not a medical device. Local protocol, the device's own instructions "
    "and licensed practice come first."
)
DESK_SAFETY = (
    "For education only; not a medical device. Ready for the lab is not competent. Local "
    "protocol, the device's own instructions and licensed practice come first."
)
NOT_FOR_ALL = 3  # the exit code of what was done, but not for everybody
MISTAKES = (PlainError, GradebookError, LaunchError, ValueError, OSError)

Mistakes = tuple[type[Exception], ...]


@contextmanager
def as_sentence(*mistakes: type[Exception]) -> Iterator[None]:
    """Turn a user's mistake into its sentence and a non-zero exit."""
    try:
        yield
    except mistakes as error:
        raise click.ClickException(str(error)) from error


def kindly(command: Callable[..., None]) -> Callable[..., None]:
    """Turn any mistake of a command's user into one sentence and a non-zero exit."""

    @wraps(command)
    def run(*args: Any, **kwargs: Any) -> None:
        with as_sentence(*MISTAKES):
            command(*args, **kwargs)

    return run


class Kindly(click.Group):
    """A group whose commands turn a user's mistake into one sentence and a non-zero exit."""

    mistakes: ClassVar[Mistakes] = (PlainError, ValueError, OSError)

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command."""
        with as_sentence(*self.mistakes):
            return super().invoke(ctx)


course_option = click.option(
    "--course",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=lambda: Path("~/tpiece-workbook/course").expanduser(),
    show_default="~/tpiece-workbook/course",
    help="The course folder.",
)

language_option = click.option(
    "--language",
    type=click.Choice(sorted(languages())),
    help="What learners read; Spanish is a machine's draft that nobody has reviewed.",
)
