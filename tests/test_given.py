"""How a learner's machine gets a course: a folder on a share, one file, an address."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from graders.cli import main
from graders.course.coursefolder import CourseFolder
from graders.tasks import opening, work
from workbook.start import launch
from workbook.start.given import Given, given_at, is_address, write_course_file
from workbook.start.launch import LaunchError

pytestmark = pytest.mark.slow

UNIT, LEARNER = "1_setup_order", "nurse.one"
PAGE = f"{UNIT}/{UNIT}.ipynb"


@pytest.fixture(scope="module")
def course(tmp_path_factory: pytest.TempPathFactory) -> CourseFolder:
    """Return a course that a coordinator made somewhere else."""
    path = tmp_path_factory.mktemp("coordinator") / "spring"
    return work.assign(path, course_id="may", title="May course", units=[UNIT])


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Path, dict[str, Any]]]:
    """Return what was opened; nothing is really started."""
    seen: list[tuple[Path, dict[str, Any]]] = []
    monkeypatch.setattr(launch, "launch", lambda own, **how: seen.append((own, how)) or 0)
    return seen


@pytest.mark.parametrize("place", ["", "exchange", "exchange/may", "may.course"])
def test_every_way_to_name_a_course_opens_it(
    course: CourseFolder, tmp_path: Path, opened: list[Any], place: str
) -> None:
    """The course's folder, what it gives out, one of several there, and the file it wrote."""
    told = ["open", str(course.path / place), "--folder", str(tmp_path), "--learner", LEARNER]
    done = CliRunner().invoke(main, [*told, "--no-browser"])
    assert done.exit_code == 0, done.output
    ((own, how),) = opened
    assert own == tmp_path / "courses" / "may" / LEARNER
    assert (own / PAGE).is_file()
    assert (own / "start_here.ipynb").is_file()
    assert 'title = "May course"' in (own / "course.toml").read_text(encoding="utf-8")
    assert how["learner"] == LEARNER
    assert not (tmp_path / "course").exists()  # no demo is made instead


def test_a_second_opening_keeps_the_answers(
    course: CourseFolder, tmp_path: Path, opened: list[Any]
) -> None:
    """By the share first, by the sent file later: the same folder, nothing written over."""
    how: dict[str, Any] = {"browser": False, "port": None, "say": print}
    opening.open_given(tmp_path, str(course.exchange), LEARNER, **how)
    own = opened[0][0]
    answers = own / UNIT / f"{UNIT}.answers.jsonl"
    answers.write_text("{}\n", encoding="utf-8")
    opening.open_given(tmp_path, str(course.course_file), LEARNER, **how)
    assert opened[1][0] == own
    assert answers.read_text(encoding="utf-8") == "{}\n"


def test_an_address_is_opened_in_the_browser(
    tmp_path: Path, opened: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A hub's pages need nothing here."""
    seen: list[str] = []
    monkeypatch.setattr(opening.webbrowser, "open", seen.append)
    assert is_address("https://hub.example/may")
    done = CliRunner().invoke(main, ["open", "https://hub.example/may"])
    assert done.exit_code == 0
    assert seen == ["https://hub.example/may"]
    assert opened == []


def test_a_place_without_a_course_is_one_sentence(course: CourseFolder, tmp_path: Path) -> None:
    """Nothing there, nothing given out, more than one, another file: each says what to do."""
    with pytest.raises(LaunchError, match=r"is not there, or may not be read"):
        given_at(tmp_path / "nowhere", tmp_path)
    with pytest.raises(LaunchError, match=r"No course is given out in"):
        given_at(tmp_path, tmp_path)
    for name in ("may", "june"):
        (tmp_path / "share" / name / "outbound").mkdir(parents=True)
    with pytest.raises(LaunchError, match=r"holds 2 courses: june, may\. Name one"):
        given_at(tmp_path / "share", tmp_path)
    with pytest.raises(LaunchError, match="Nothing is given out"):
        given_at(tmp_path / "share" / "may", tmp_path).lay(tmp_path / "own", LEARNER)
    letter = tmp_path / "letter.course"
    letter.write_text("Dear all", encoding="utf-8")
    with pytest.raises(LaunchError, match="is not a course file, or was damaged"):
        given_at(letter, tmp_path)


def archive(parts: dict[str, bytes]) -> bytes:
    """Return a ZIP archive."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as file:
        for name, data in parts.items():
            file.writestr(name, data)
    return made.getvalue()


@pytest.mark.parametrize(
    "name", ["../out.txt", "/etc/out.txt", "a/../../out.txt", "loose.txt", "c:/x/out.txt", "a\\b/c"]
)
def test_a_file_made_by_another_hand_writes_nowhere_else(tmp_path: Path, name: str) -> None:
    """What was mailed may have been made to overwrite something: nothing of it is unpacked."""
    settings = b'id = "may"\n'
    file = tmp_path / "in" / "may.course"
    file.parent.mkdir()
    file.write_bytes(archive({f"{UNIT}/course.toml": settings, name: b"x"}))
    with pytest.raises(LaunchError, match="nothing of it was unpacked"):
        given_at(file, tmp_path / "home")
    assert [path.name for path in tmp_path.rglob("*") if path.is_file()] == ["may.course"]


def test_a_cut_or_empty_course_file_is_one_sentence(course: CourseFolder, tmp_path: Path) -> None:
    """Mail can cut a file short; an archive without a course is none."""
    whole = course.course_file.read_bytes()
    file = tmp_path / "may.course"
    for size in range(0, len(whole), max(1, len(whole) // 20)):
        file.write_bytes(whole[:size])
        with pytest.raises(LaunchError, match=r"was damaged on its way|holds no course"):
            given_at(file, tmp_path / "home")
    for parts in ({}, {"a/b.txt": b"x"}, {"a/course.toml": b'id = "../x"\n'}):
        file.write_bytes(archive(parts))
        with pytest.raises(LaunchError, match="holds no course"):
            given_at(file, tmp_path / "home")


def test_the_same_course_gives_the_same_file(course: CourseFolder, tmp_path: Path) -> None:
    """Whoever compares two of them sees whether the course changed; nobody's answers are in it."""
    again = tmp_path / "again.course"
    write_course_file(Given(course.exchange, "may"), again)
    assert again.read_bytes() == course.course_file.read_bytes()
    with zipfile.ZipFile(again) as made:
        assert {Path(name).parts[0] for name in made.namelist()} == {UNIT}
        assert not [name for name in made.namelist() if "answers" in name or "key" in name]
