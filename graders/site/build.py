"""Builds the static site of a course: one folder that any web server can hand out.

JupyterLite puts its pages together; what is ours is laid beside them: the course's units and
lessons, Pyodide with its wheels, the page a learner starts at, and the settings that keep every
request on the site itself.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import Any

from jupyter_core.paths import jupyter_path

from graders.course.coursefolder import CourseFolder
from graders.site import fetched, licences, own
from graders.site.lock import write_lock
from graders.site.page import lessons, start_page
from workbook.core.language import N_, _, direction, speaking, tag
from workbook.course.settings import FILE, PROTOCOL
from workbook.start import launch

HERE = Path(__file__).parent
MARK = "tpiece-site.json"  # says that a folder is a site of ours, which may be replaced
EXTENSIONS = (
    "anywidget",
    "tpiece-workbook",
    "@jupyter-widgets/jupyterlab-manager",
    "@jupyterlite/pyodide-kernel-extension",
)
KERNEL = "@jupyterlite/pyodide-kernel-extension"
TURNED_OFF = (
    *launch.TURNED_OFF,
    "@jupyterlab/apputils-extension:splash",  # words say that the page opens, not a turning mark
    "@jupyterlite/application-extension:logo",
    "@jupyterlite/services-extension:drive-download",
)
HOOK = "  // hoist to cache\n"
LIGHT_OR_DARK = {"@jupyterlab/apputils-extension:themes": {"adaptive-theme": True}}
OPENING = N_("The page is opening. On an old computer this takes a minute or more.")
SECONDS = 300


@dataclass(frozen=True, slots=True)
class Site:
    """A site as built: where it lies, its units and its size in bytes."""

    folder: Path
    units: tuple[str, ...]
    size: int


def build_site(course: Path, out: Path, cache: Path, *, send_to: str = "") -> Site:
    """Build the site of a course into a folder, replacing an earlier site there.

    ``send_to`` is a sentence of the educator's on where the downloaded file goes.
    Raises SiteError or CourseError.
    """
    folder = CourseFolder(course)
    units = folder.course.units
    _refuse(folder, out)
    try:
        cache.mkdir(parents=True, exist_ok=True)
        parts = fetched.core(cache), fetched.wheels(cache)
        with tempfile.TemporaryDirectory(prefix="tpiece-site-") as scratch:
            lite = Path(scratch)
            packages = _lay_pyodide(lite, *parts, folder.course.language)
            _lay_files(folder, lite / "files")
            _write_json(lite / "jupyter-lite.json", _settings(folder, packages, send_to))
            _run_jupyterlite(lite, lite / "site")
            _finish(folder, lite / "site", send_to)
            _replace(lite / "site", out)
    except OSError as error:
        raise fetched.SiteError(
            f"{error.filename or out} cannot be written ({error.strerror}). "
            "Free some space, or choose another folder."
        ) from None
    return Site(out, units, sum(path.stat().st_size for path in out.rglob("*") if path.is_file()))


def _refuse(folder: CourseFolder, out: Path) -> None:
    if out.exists() and not (out / MARK).is_file() and any(out.iterdir()):
        raise fetched.SiteError(
            f"{out} holds something that is not a site. Choose a new or an empty folder."
        )
    for unit in folder.course.units:
        if not (folder.path / "release" / unit / f"{unit}.ipynb").is_file():
            raise fetched.SiteError(f"{unit} is not given out yet. Run first: tpiece assign")


def _lay_pyodide(lite: Path, core: Path, wheels: Iterable[Path], language: str) -> list[str]:
    """Lay Pyodide, the wheels and a lock for them; return the names of the packages."""
    target = lite / "static" / "pyodide"
    target.mkdir(parents=True)
    for name in fetched.CORE:
        shutil.copyfile(core / name, target / name)
    kernels = (_extension(KERNEL) / "static" / "pypi").glob("*.whl")
    chosen = [path for path in kernels if not path.name.startswith("widgetsnbextension-3")]
    for wheel in (*wheels, *chosen):
        shutil.copyfile(wheel, target / wheel.name)
    own.write_wheel(target, language)
    return write_lock(core / fetched.LOCK, sorted(target.glob("*.whl")), target / fetched.LOCK)


def _extension(name: str) -> Path:
    """Return where an extension of JupyterLab is installed, wherever Jupyter looks for it."""
    homes = [Path(home) / name for home in jupyter_path("labextensions")]
    found = next((home for home in homes if (home / "package.json").is_file()), None)
    if found is None:
        raise fetched.SiteError(
            f"{name} is not installed: install it with pip install 'tpiece-workbook[site]'."
        )
    return found


def _lay_files(folder: CourseFolder, files: Path) -> None:
    """Lay the lessons, the units as they were given out, and the settings they are drawn by."""
    files.mkdir()
    for name, text in lessons(folder.course.language).items():
        (files / name).write_text(text, encoding="utf-8")
    for unit in folder.course.units:
        shutil.copytree(folder.path / "release" / unit, files / unit)
    for home in (files, *(files / unit for unit in folder.course.units)):
        for name in (FILE, PROTOCOL):
            if (folder.path / name).is_file():
                shutil.copyfile(folder.path / name, home / name)


def _settings(folder: CourseFolder, packages: list[str], send_to: str) -> dict[str, Any]:
    """Return JupyterLite's settings: everything from the site, nothing from elsewhere."""
    kernel = {
        "disablePyPIFallback": True,
        "loadPyodideOptions": {"packages": packages, "env": {"HOME": "/home/pyodide"}},
    }
    return {
        "jupyter-lite-schema-version": 0,
        "jupyter-config-data": {
            "appName": folder.course.title,
            "disabledExtensions": list(TURNED_OFF),
            "litePluginSettings": {f"{KERNEL}:kernel": kernel},
            "settingsOverrides": {**launch.DEFAULTS, **LIGHT_OR_DARK},
            "tpieceSite": folder.course.id,
            "tpieceSendTo": send_to,
        },
    }


def _run_jupyterlite(lite: Path, site: Path) -> None:
    named = [f"--LiteBuildConfig.federated_extensions={_extension(e)}" for e in EXTENSIONS]
    command = [
        sys.executable, "-m", "jupyterlite_core", "build", f"--lite-dir={lite}",
        f"--output-dir={site}", f"--contents={lite / 'files'}", "--apps=lab",
        "--no-sourcemaps", "--no-unused-shared-packages", "--no-libarchive",
        "--ignore-sys-prefix", *named,
    ]  # fmt: skip
    try:
        done = subprocess.run(  # noqa: S603  (our own command, no shell)
            command, cwd=lite, capture_output=True, text=True, timeout=SECONDS, check=False
        )
    except subprocess.TimeoutExpired:
        raise fetched.SiteError("JupyterLite took too long to build the site.") from None
    if done.returncode:
        raise fetched.SiteError(
            f"JupyterLite could not build the site ({fetched.reason(done.stderr)})."
        )


def _finish(folder: CourseFolder, site: Path, send_to: str) -> None:
    """Lay our own page and script over what JupyterLite made, and drop what nobody asks for."""
    for path in site.rglob("*.map"):
        path.unlink()
    (site / "tpiece").mkdir()
    for path in (HERE / "browser").iterdir():
        shutil.copyfile(path, site / "tpiece" / path.name)
    _patch(
        site / "config-utils.js", HOOK, f"  finalConfig = await tpieceSettled(finalConfig);\n{HOOK}"
    )
    with speaking(folder.course.language):
        _patch_page(site / "lab" / "index.html", folder.course.title)
    (site / "index.html").write_text(start_page(folder, send_to), encoding="utf-8")
    wheels = sorted((site / "static" / "pyodide").glob("*.whl"))
    (site / licences.FILE).write_text(licences.licences(wheels), encoding="utf-8")
    _write_json(site / MARK, {"course": folder.course.id, "edition": folder.course.edition})


def _patch_page(page: Path, title: str) -> None:
    """Let our script run before all others, and words stand there until the page is open."""
    script = '<script src="../tpiece/settled.js"></script>\n    <script id="jupyter-config-data"'
    _patch(page, '<script id="jupyter-config-data"', script)
    _patch(page, "<title>JupyterLite</title>", f"<title>{escape(title)}</title>")
    told = f'<p id="tpiece-opening" role="status" lang="{tag()}" dir="{direction()}">'
    words = f"{told}{escape(_(OPENING))}</p>\n    "
    _patch(
        page,
        '<div id="jupyterlite-loading-indicator"',
        f'{words}<div id="jupyterlite-loading-indicator"',
    )


def _patch(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    if text.count(old) != 1:
        raise fetched.SiteError(
            f"This JupyterLite is not one the workbook knows ({path.name} differs): install the "
            "version it asks for with pip install 'tpiece-workbook[site]'."
        )
    path.write_text(text.replace(old, new), encoding="utf-8")


def _replace(made: Path, out: Path) -> None:
    """Put a whole site where an earlier one was; nobody meets half of one for long."""
    if out.exists():
        shutil.rmtree(out)
    shutil.move(made, out)


def _write_json(path: Path, value: Mapping[str, Any]) -> None:
    path.write_text(json.dumps(value, indent=1, sort_keys=True) + "\n", encoding="utf-8")
