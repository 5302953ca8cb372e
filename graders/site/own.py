"""Our own wheel, for the browser's Python: what a learner's page imports, and no key to answers.

It is packed from the files of this installation, the same bytes each time.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterator
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

import workbook
from workbook.core.language import ENGLISH

NAME = "tpiece_workbook"
KINDS = (".py", ".toml", ".js", ".css")
LEFT_OUT = ("labextension", "pictures", "__pycache__", "replays")  # a server's, or for educators
LOCALE = "locale"
MADE_AT = (2020, 1, 1, 0, 0, 0)  # the same for every file, so that a wheel is the same each time


def files(language: str = ENGLISH) -> Iterator[tuple[str, bytes]]:
    """Yield each file of the package that a page in a language needs, with its path in the wheel.

    English stands in the code; another language brings its one catalogue.
    """
    home = Path(workbook.__file__).parent
    for path in sorted(home.rglob("*")):
        place = path.relative_to(home)
        ours = path.suffix in KINDS and not set(place.parts) & set(LEFT_OUT)
        if ours or (path.suffix == ".mo" and place.parts[:2] == (LOCALE, language)):
            yield f"workbook/{place.as_posix()}", path.read_bytes()


def write_wheel(folder: Path, language: str = ENGLISH) -> Path:
    """Write the wheel into a folder and return its path."""
    version = workbook.__version__
    about = f"{NAME}-{version}.dist-info"
    held = dict(files(language))
    held[f"{about}/METADATA"] = _metadata(version)
    held[f"{about}/WHEEL"] = b"Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n"
    record = "".join(f"{name},{_hash(data)},{len(data)}\n" for name, data in held.items())
    held[f"{about}/RECORD"] = f"{record}{about}/RECORD,,\n".encode()
    path = folder / f"{NAME}-{version}-py3-none-any.whl"
    with ZipFile(path, "w", ZIP_DEFLATED) as wheel:
        for name, data in held.items():
            wheel.writestr(ZipInfo(name, MADE_AT), data, ZIP_DEFLATED)
    return path


def _metadata(version: str) -> bytes:
    return f"Metadata-Version: 2.1\nName: tpiece-workbook\nVersion: {version}\n".encode()


def _hash(data: bytes) -> str:
    digest = base64.urlsafe_b64encode(hashlib.sha256(data).digest())
    return f"sha256={digest.rstrip(b'=').decode()}"
