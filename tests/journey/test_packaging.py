"""What is handed out: a wheel that needs nothing else, and a source archive that makes it again."""

from __future__ import annotations

import shutil
import subprocess
import sys
import venv
from pathlib import Path
from zipfile import ZipFile

import pytest
import yaml
from packaging.licenses import canonicalize_license_expression

from graders.tasks.demo import LEARNERS
from workbook import __version__

ROOT = Path(__file__).parents[2]
KEPT_BACK = ("pictures", "__pycache__")  # the README's; Python's own
LAB = "share/jupyter/labextensions/tpiece-workbook"


def built(project: Path, kind: str, out: Path) -> Path:
    """Build a project with the backend it names; return the one file made."""
    command = [sys.executable, "-m", "hatchling", "build", "--target", kind, "--directory", out]
    done = subprocess.run(command, cwd=project, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    (path,) = out.iterdir()
    return path


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory) -> Path:
    """Build the source archive and return the folder it unpacks to."""
    out = tmp_path_factory.mktemp("unpacked")
    path = built(ROOT, "sdist", tmp_path_factory.mktemp("archive"))
    shutil.unpack_archive(path, out)
    (folder,) = out.iterdir()
    return folder


@pytest.fixture(scope="module")
def wheel(unpacked, tmp_path_factory) -> Path:
    """Build the wheel from the source archive alone, as `python -m build` does."""
    return built(unpacked, "wheel", tmp_path_factory.mktemp("wheel"))


def ours(*folders: str, home: Path = ROOT) -> set[str]:
    """Return every file of the project's own in some folders."""
    paths = (path for folder in folders for path in (home / folder).rglob("*") if path.is_file())
    places = (path.relative_to(home) for path in paths)
    return {place.as_posix() for place in places if not set(place.parts) & set(KEPT_BACK)}


def in_wheel(place: str) -> str:
    """Return where a file of the project belongs in the wheel."""
    if place.startswith("source_exercises/"):
        return f"graders/{place}"
    return place.replace("workbook/labextension", f"tpiece_workbook-{__version__}.data/data/{LAB}")


def test_the_wheel_holds_every_file_and_no_other(wheel):
    """Lessons, rules, scripts, templates, exercises, the extension: none left out, none twice."""
    expected = {in_wheel(place) for place in ours("workbook", "graders", "source_exercises")}
    names = set(ZipFile(wheel).namelist())
    about = {name for name in names if ".dist-info/" in name}
    assert names - about == expected
    assert any(name.endswith("licenses/LICENSE") for name in about)


def test_the_source_archive_holds_the_whole_project(unpacked):
    """Whoever has it can run the tests."""
    parts = ("workbook", "graders", "source_exercises", "tests", ".ci")
    assert ours(*parts) == ours(*parts, home=unpacked)
    top = {path.name for path in unpacked.iterdir()}
    assert {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml"} <= top


def test_the_source_archive_says_how_to_cite_it(unpacked):
    """The four keys the Citation File Format 1.2.0 requires, a known licence, no person."""
    told = yaml.safe_load((unpacked / "CITATION.cff").read_text(encoding="utf-8"))
    assert {"cff-version", "message", "title", "authors"} <= set(told)
    assert told["cff-version"] == "1.2.0"
    assert told["authors"] == [{"name": "The T-piece workbook developers"}]
    assert canonicalize_license_expression(told["license"]) == "BSD-3-Clause"
    assert not (ROOT / "CITATION.cff").exists()


@pytest.fixture(scope="module")
def alone(wheel, tmp_path_factory) -> Path:
    """Install the wheel, with what it asks for, where nothing else is; return the programs."""
    home = tmp_path_factory.mktemp("alone") / "environment"
    venv.create(home, with_pip=True)
    programs = home / "bin"
    pip = [programs / "python", "-m", "pip", "install", "--quiet", wheel]
    done = subprocess.run(pip, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return programs


def run(programs: Path, home: Path, *words: str | Path) -> str:
    """Run a program of that environment, with no other program to be found, git among them."""
    bare = {"HOME": str(home), "PATH": str(programs)}
    command = [programs / words[0], *words[1:]]
    done = subprocess.run(command, env=bare, cwd=home, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout + done.stderr


def test_the_wheel_alone_runs_the_demo(alone, tmp_path):
    """Without git, without the checkout: the invented cohort is graded and reported."""
    said = run(alone, tmp_path, "tpiece", "demo", "--course", tmp_path / "cohort")
    assert f"Written: {tmp_path / 'cohort' / 'report.html'}" in said
    table = (tmp_path / "cohort" / "report.csv").read_text(encoding="utf-8-sig")
    assert len({line.split(",")[0] for line in table.splitlines()[1:]}) == LEARNERS


def test_the_wheel_alone_brings_its_extension_and_lessons(alone, tmp_path):
    """JupyterLab sees the extension; every lesson is where `tpiece open` takes it from."""
    assert "tpiece-workbook" in run(alone, tmp_path, "jupyter-labextension", "list")
    code = "import workbook.start.launch as at; from pathlib import Path; "
    code += (
        "print(*sorted(p.name for p in (Path(at.__file__).parents[1] / 'lessons').glob('*.ipynb')))"
    )
    lessons = sorted(path.name for path in (ROOT / "workbook" / "lessons").glob("*.ipynb"))
    assert run(alone, tmp_path, "python", "-c", code).split() == lessons
