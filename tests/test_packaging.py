"""What the project asks of other packages, and the versions last known to pass together."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
EXTRAS = PROJECT["optional-dependencies"]
APART = ("fuzz",)  # has no wheel for every Python, and no test of the usual run needs it


def pinned() -> dict[str, str]:
    """Return the version of each package in the list, which holds nothing but such lines."""
    text = (ROOT / ".ci" / "constraints.txt").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    assert all(re.fullmatch(r"[\w.-]+==[\w.+!]+", line) for line in lines)
    return {canonicalize_name(name): at for name, at in (line.split("==") for line in lines)}


def asked() -> list[Requirement]:
    """Return all that the project and its extras ask for."""
    extras = [one for extra, some in EXTRAS.items() if extra not in APART for one in some]
    every = [Requirement(one) for one in [*PROJECT["dependencies"], *extras]]
    return [one for one in every if one.name != "pip"]  # which never lists itself


@pytest.mark.parametrize("need", asked(), ids=str)
def test_every_need_has_a_known_version_in_its_range(need):
    """A range that leaves out what the tests passed with would be a slip."""
    assert need.specifier.contains(pinned()[canonicalize_name(need.name)])


def test_no_pin_is_the_project_itself():
    """The list is for `pip install -c`, which would then refuse the checkout."""
    assert canonicalize_name(PROJECT["name"]) not in pinned()
