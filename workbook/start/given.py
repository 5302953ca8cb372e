"""A course as a learner's machine meets it: a folder on a share, or one file that was sent.

What a coordinator gives out lies in ``EXCHANGE/COURSE/outbound``, one folder a unit, the course's
settings in each. ``NAME.course`` is the same as one file (a ZIP archive of these folders), for
those who share no folder with the coordinator.
"""

from __future__ import annotations

import io
import re
import shutil
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from workbook.core.plainfile import read_plain
from workbook.course.laying import files, lay
from workbook.course.settings import FILE, PROTOCOL, CourseError, parsed
from workbook.start import launch

SUFFIX = ".course"
LARGEST = 64 * 2**20  # bytes of a course file, and of all that is in it
MOST = 2000  # files
_ADDRESS = re.compile(r"https?://", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Given:
    """A course that was given out: through which folder, and under which id."""

    exchange: Path
    course_id: str
    by_file: bool = False  # what is handed in leaves as a file to send

    @property
    def outbound(self) -> Path:
        """Return where its units lie."""
        return self.exchange / self.course_id / "outbound"

    @property
    def settings(self) -> Path:
        """Return the course's settings, which travel with every unit.

        Raises LaunchError when nothing is given out.
        """
        found = sorted(self.outbound.glob(f"*/{FILE}"))
        if not found:
            raise launch.LaunchError(
                f"Nothing is given out in {self.outbound} yet. "
                "Ask the coordinator to run: tpiece assign"
            )
        return found[-1]

    def lay(self, folder: Path, learner: str, extensions: Sequence[str] = ()) -> Path:
        """Make a learner's folder ready from what was given out, and return it.

        ``extensions`` are modules that its server loads besides the room. Raises LaunchError.
        """
        settings = self.settings
        launch.prepare_learner(
            folder,
            learner=learner,
            course_id=self.course_id,
            exchange=self.exchange,
            lessons=Path(launch.__file__).parents[1] / "lessons",
            course_text=settings.read_text(encoding="utf-8"),
            by_file=self.by_file,
            extensions=extensions,
        )
        protocol = settings.with_name(PROTOCOL)
        if protocol.is_file():
            shutil.copyfile(protocol, folder / PROTOCOL)
        return folder


def is_address(place: str) -> bool:
    """Say whether a place is one that a browser opens."""
    return bool(_ADDRESS.match(place))


def given_at(place: Path, home: Path) -> Given:
    """Return the course at a place: a course's folder, what it gives out, or a course file.

    ``home`` is where a course file is unpacked. Raises LaunchError, in a sentence, where there is
    no course or more than one.
    """
    place = place.expanduser().absolute()
    if place.is_file():
        return _unpacked(place, home)
    if (place / "exchange").is_dir():  # the coordinator's own folder
        place = place / "exchange"
    if (place / "outbound").is_dir():
        return Given(place.parent, place.name)
    found = sorted(each.parent for each in place.glob("*/outbound") if each.is_dir())
    if not place.is_dir():
        raise launch.LaunchError(
            f"{place} is not there, or may not be read. Name a folder, a {SUFFIX} file, or an "
            "address that begins with https."
        )
    if not found:
        raise launch.LaunchError(
            f"No course is given out in {place}. Ask the coordinator for the folder that "
            "tpiece assign names."
        )
    if len(found) > 1:
        names = ", ".join(each.name for each in found)
        raise launch.LaunchError(
            f"{place} holds {len(found)} courses: {names}. Name one: tpiece open {found[0]}"
        )
    return Given(place, found[0].name)


def write_course_file(given: Given, target: Path) -> None:
    """Write what a course gives out as one file, whole or not at all; the same bytes each time."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in files(given.outbound):
            name = path.relative_to(given.outbound).as_posix()
            archive.writestr(zipfile.ZipInfo(name), path.read_bytes(), zipfile.ZIP_DEFLATED)
    lay(made.getvalue(), target)


def _unpacked(file: Path, home: Path) -> Given:
    try:
        with zipfile.ZipFile(io.BytesIO(read_plain(file, LARGEST, follow=True))) as archive:
            parts = {info.filename: archive.read(info) for info in _safe(archive, file)}
    except (OSError, zipfile.BadZipFile, RuntimeError, NotImplementedError) as error:
        raise launch.LaunchError(
            f"{file} is not a course file, or was damaged on its way ({error}). "
            "Ask the coordinator to send it again."
        ) from None
    settings = next((name for name in sorted(parts) if name.endswith(f"/{FILE}")), "")
    try:
        course = parsed(parts[settings].decode("utf-8-sig"), file.parent, file)
    except (KeyError, UnicodeDecodeError, CourseError):
        raise launch.LaunchError(
            f"{file} holds no course. Ask the coordinator for the file that tpiece assign wrote."
        ) from None
    given = Given(home / "given", course.id, by_file=True)
    for name, data in parts.items():
        lay(data, given.outbound / name)
    return given


def _safe(archive: zipfile.ZipFile, file: Path) -> list[zipfile.ZipInfo]:
    """Return what may be unpacked: files of a unit's folder, none anywhere else."""
    found = [info for info in archive.infolist() if not info.is_dir()]
    size = sum(info.file_size for info in found)
    paths = [PurePosixPath(info.filename) for info in found]
    stray = any(
        path.is_absolute() or ".." in path.parts or len(path.parts) < 2 or "\\" in str(path)
        or ":" in str(path) for path in paths
    )  # fmt: skip
    if stray or size > LARGEST or len(found) > MOST:
        raise launch.LaunchError(
            f"{file} was not written by tpiece assign, so nothing of it was unpacked. "
            "Ask the coordinator to send the course again."
        )
    return found
