"""nbgrader is imported without building a grammar, and the check that needs it still works."""

from __future__ import annotations

import subprocess
import sys

import pytest

pytestmark = pytest.mark.slow

ASKS = """
import sys
from graders.nbgrader import scores
from jsonschema import Draft202012Validator as Draft
print("rfc3987_syntax" in sys.modules)
check = Draft({"format": "iri"}, format_checker=Draft.FORMAT_CHECKER)
print(check.is_valid("http://example.invalid/caf\u00e9"), check.is_valid("no address at all"))
print("rfc3987_syntax" in sys.modules)
"""


def test_the_grammar_is_built_when_it_is_first_asked_for() -> None:
    """Not at import; and then a right address passes and a wrong one does not."""
    done = subprocess.run([sys.executable, "-c", ASKS], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "True", "False", "True"]
