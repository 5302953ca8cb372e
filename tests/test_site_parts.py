"""What a site is made of: our wheel, the lock, and the sentences when it cannot be made."""

from __future__ import annotations

import base64
import hashlib
import subprocess
import sys
from pathlib import Path
from zipfile import ZipFile

import pytest

from graders.site import build, fetched, licences, own
from graders.site.fetched import SiteError
from graders.site.lock import sha256, write_lock
from workbook.course.settings import FILE, Course
from workbook.display.curves import Line, Panel, curves_picture

pytestmark = pytest.mark.slow

HEAVY = ("numpy", "scipy", "matplotlib", "pandas", "nbgrader", "msgspec", "click", "jinja2")
UNIT = "1_setup_order"


@pytest.fixture
def course(tmp_path: Path) -> Path:
    """Return a course that is settled but not given out."""
    (tmp_path / "may").mkdir()
    text = Course("may", "May", units=(UNIT,)).text()
    (tmp_path / "may" / FILE).write_text(text, encoding="utf-8")
    return tmp_path / "may"


def test_the_lock_names_each_wheel_by_its_own_hash(tmp_path):
    """The browser refuses a wheel whose hash differs; the hash is that of the file beside it."""
    wheel = own.write_wheel(tmp_path)
    (tmp_path / "old.json").write_text('{"info": {"arch": "wasm32"}, "packages": {"numpy": {}}}')
    names = write_lock(tmp_path / "old.json", [wheel], tmp_path / "new.json")
    assert names == ["tpiece-workbook"]
    text = (tmp_path / "new.json").read_text()
    assert hashlib.sha256(wheel.read_bytes()).hexdigest() in text
    assert '"workbook"' in text
    assert "numpy" not in text


def test_our_wheel_is_whole_and_the_same_each_time(tmp_path):
    """Each file stands in RECORD with its own hash, as the format of wheels asks (PEP 427)."""
    (tmp_path / "again").mkdir()
    wheel, again = own.write_wheel(tmp_path), own.write_wheel(tmp_path / "again")
    assert sha256(wheel) == sha256(again)
    with ZipFile(wheel) as held:
        (record,) = [name for name in held.namelist() if name.endswith("RECORD")]
        lines = held.read(record).decode().splitlines()
        assert len(lines) == len(held.namelist())
        for name, told, size in (line.rsplit(",", 2) for line in lines[:-1]):
            digest = base64.urlsafe_b64encode(hashlib.sha256(held.read(name)).digest())
            assert told == f"sha256={digest.decode().rstrip('=')}"
            assert int(size) == held.getinfo(name).file_size


def test_our_wheel_opens_a_unit_without_anything_heavy(tmp_path, course):
    """A learner's page needs none of the packages that a browser's Python cannot have."""
    unpacked = str(tmp_path / "site")
    with ZipFile(own.write_wheel(tmp_path)) as wheel:
        wheel.extractall(unpacked)
    code = f"""
import sys
from pathlib import Path
sys.modules.update(dict.fromkeys({HEAVY!r}))  # an import of any of these fails
sys.path.insert(0, {unpacked!r})
import workbook
assert workbook.__file__.startswith({unpacked!r}), workbook.__file__
from workbook.lesson.unit import control, open_unit
unit = open_unit({UNIT!r}, Path({str(course)!r}))
assert [control(question) for question in unit.case.questions]
unit.file.append("order", ["look"])
"""
    wheel_alone = [sys.executable, "-P", "-c", code]
    done = subprocess.run(wheel_alone, capture_output=True, text=True, cwd=tmp_path, check=False)
    assert done.returncode == 0, done.stderr


def test_a_picture_is_words_where_nothing_can_draw(monkeypatch):
    """Without matplotlib the same words stand in its place, and no error."""
    panels = [Panel("pressure", [Line("gauge", [0.0, 1.0], [5.0, 20.0])])]
    drawn = curves_picture("A rise", "time", panels)
    monkeypatch.setattr("workbook.display.plots.find_spec", lambda name: None)
    told = curves_picture("A rise", "time", panels)
    assert told.figure is None
    assert told.text == drawn.text
    html = told._repr_mimebundle_()["text/html"]
    assert "A rise" in html
    assert "<img" not in html
    with pytest.raises(RuntimeError, match="no matplotlib"):
        told.png()


def test_a_course_that_is_not_given_out_makes_no_site(course, tmp_path):
    """One sentence says what to run first."""
    with pytest.raises(SiteError, match="Run first: tpiece assign"):
        build.build_site(course, tmp_path / "out", tmp_path / "cache")


def test_a_folder_that_is_not_a_site_is_left_alone(course, tmp_path):
    """What somebody keeps there is never replaced."""
    kept = tmp_path / "out" / "thesis.txt"
    kept.parent.mkdir()
    kept.write_text("mine")
    with pytest.raises(SiteError, match="holds something that is not a site"):
        build.build_site(course, kept.parent, tmp_path / "cache")
    assert kept.read_text() == "mine"


FAILURES = {
    "npm error network request failed": "reaches the network",
    "ERROR: No matching distribution": "reaches the network",
    "npm error ENOSPC: no space left": "Free some space",
    "ERROR: [Errno 28] No space left on device": "Free some space",
}


@pytest.mark.parametrize("said", FAILURES)
def test_what_cannot_be_fetched_is_one_sentence(tmp_path, monkeypatch, said):
    """The program's own reason, and what to do."""
    program = [sys.executable, "-c", f"import sys; sys.exit({said!r})"]
    monkeypatch.setattr(fetched, "npm", lambda: program)
    with pytest.raises(SiteError, match="cannot be fetched by npm") as caught:
        fetched.core(tmp_path)
    assert said in str(caught.value)
    assert FAILURES[said] in str(caught.value)


def test_without_npm_the_extra_is_named(monkeypatch):
    """No program of that name anywhere."""
    monkeypatch.setattr(fetched, "find_spec", lambda name: None)
    monkeypatch.setattr(fetched, "which", lambda name: None)
    with pytest.raises(SiteError, match=r"tpiece-workbook\[site\]"):
        fetched.npm()


def test_every_wheel_is_pinned_by_one_version_and_hash():
    """What is fetched is what was tried."""
    for name, digest in fetched.pins().items():
        assert "==" in name
        assert len(bytes.fromhex(digest)) == hashlib.sha256().digest_size


SAID = {
    "License-Expression: MIT\nLicense: gone": "MIT",
    "License: BSD\nClassifier: License :: OSI Approved :: BSD License": "BSD License",
    "License: Apache 2.0\n": "Apache 2.0",
    "Classifier: Topic :: Education": "see the text in its archive",
}


@pytest.mark.parametrize("said", SAID)
def test_each_part_of_others_is_named_with_its_licence(tmp_path, said):
    """By the fields that hold it (Core metadata 2.4: the expression goes before the others)."""
    wheel = tmp_path / "thing-1.0-py3-none-any.whl"
    with ZipFile(wheel, "w") as made:
        made.writestr("thing-1.0.dist-info/METADATA", f"Name: thing\nVersion: 1.0\n{said}\n")
    text = licences.licences([wheel, own.write_wheel(tmp_path)])
    assert f"thing 1.0: {SAID[said]}\n" in text
    assert "Redistribution and use in source and binary forms" in text
    assert "Pyodide" in text


def test_where_a_log_was_written_is_no_reason():
    """Npm ends with that line, whatever failed."""
    said = (
        "npm error code X\nnpm error no certificate\nnpm error A complete log of this run is in: x"
    )
    assert fetched.reason(said) == "npm error no certificate"
