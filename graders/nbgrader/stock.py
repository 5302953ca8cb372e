"""Stock autograding beside ours: runs the learners' notebooks in a sandbox, compares the scores.

The notebooks are run on a copy of the course, with no network, no other processes in sight and
nothing to write but that copy. Nothing it says changes a score.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

from graders.course.coursefolder import CONFIG, CourseFolder
from graders.nbgrader.gradebook import Nbgrader
from graders.nbgrader.scores import totals
from workbook.core.whose import learner_id
from workbook.course.settings import CourseError

LONGEST = 600  # s for one submission
MEMORY = 4 * 2**30  # bytes
NOT_FOUND = (
    "Stock autograding runs what learners hand in, and bubblewrap, which would shut it in, is not "
    "installed (on Debian: apt install bubblewrap). Nothing was run. tpiece grade needs no "
    "sandbox: it only reads."
)


def differences(path: Path, work: Sequence[tuple[str, str]]) -> Iterator[str]:
    """Autograde (unit, learner) pairs in the sandbox; yield a sentence for each difference.

    Raises CourseError when there is no sandbox to run them in.
    """
    bwrap = shutil.which("bwrap")
    if bwrap is None:
        raise CourseError(NOT_FOUND)
    with Nbgrader(CourseFolder(path)).gradebook() as book:
        ours = totals(book)
    for unit, learner in work:
        score, reason = _autograde(bwrap, path, unit, learner)
        mine = ours.get((learner, unit), 0.0)
        if score is None or abs(score - mine) > 1e-9:
            stock = "none" if score is None else f"{score:g}"
            yield f"{learner}, {unit}: stock {stock}, tpiece grade {mine:g}. {reason}".strip()


def _autograde(bwrap: str, path: Path, unit: str, learner: str) -> tuple[float | None, str]:
    """Return the stock score of one submission, or none with the reason."""
    with tempfile.TemporaryDirectory(prefix="tpiece-stock-") as place:
        copy = _copy(path, Path(place) / "course", unit, learner)
        command = [
            *_sandbox(bwrap, copy), sys.executable, "-m", "nbgrader", "autograde", unit,
            "--student", learner, "--force", "--create",
        ]  # fmt: skip
        try:
            done = subprocess.run(  # noqa: S603
                command, capture_output=True, text=True, timeout=LONGEST, check=False, cwd=copy
            )
        except subprocess.TimeoutExpired:
            return None, f"It was still running after {LONGEST} s."
        if done.returncode:
            return None, (done.stderr.strip().splitlines() or ["It gave no reason."])[-1][:200]
        with Nbgrader(CourseFolder(copy)).gradebook() as book:
            return totals(book).get((learner, unit), 0.0), ""


def _copy(path: Path, copy: Path, unit: str, learner: str) -> Path:
    """Return a course with one submission in it and a gradebook of its own."""
    copy.mkdir()
    shutil.copyfile(path / CONFIG, copy / CONFIG)
    for name in ("source_exercises", "release"):
        shutil.copytree(path / name / unit, copy / name / unit)
    for settings in path.glob("*.toml"):
        shutil.copyfile(settings, copy / settings.name)
    there = CourseFolder(copy).submitted(learner_id(learner), unit)
    shutil.copytree(path / "submitted" / learner / unit, there, symlinks=True)
    Nbgrader(CourseFolder(copy)).generate(unit)
    return copy


def _sandbox(bwrap: str, copy: Path) -> list[str]:
    """Return the command that shuts a program in: it reads the system, and writes its copy."""
    own = str(Path(sys.executable).parent)
    base = str(Path(sys.base_prefix))
    shown = [place for place in ("/usr", "/lib", "/lib64", "/bin", "/etc") if Path(place).exists()]
    ours = {str(Path(place).resolve()) for place in (sys.prefix, base, *_imports())}
    return [
        bwrap, "--unshare-all", "--die-with-parent", "--new-session", "--clearenv",
        "--proc", "/proc", "--dev", "/dev", "--tmpfs", "/tmp",  # noqa: S108
        *(part for place in [*shown, *sorted(ours)] for part in ("--ro-bind", place, place)),
        "--bind", str(copy), str(copy), "--chdir", str(copy),
        "--setenv", "PATH", f"{own}:/usr/bin:/bin", "--setenv", "HOME", str(copy),
        "--setenv", "PYTHONPATH", os.pathsep.join(_imports()),
        "prlimit", f"--as={MEMORY}", "--nproc=256", "--fsize=1073741824",
    ]  # fmt: skip


def _imports() -> list[str]:
    """Return where the workbook and the graders are imported from."""
    return sorted({str(Path(__file__).resolve().parents[2])})
