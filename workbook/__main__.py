"""`python3 -m workbook`: set up what is missing, then open the workbook."""

from __future__ import annotations

import subprocess
import sys

from workbook import bootstrap


def main() -> int:
    """Open the workbook with the given options of `tpiece open`."""
    if (bootstrap.ROOT / "pyproject.toml").is_file():
        bootstrap.prepare()
        command = [bootstrap.program("tpiece"), "open", *sys.argv[1:]]
    else:  # installed as a package: the environment is the one at work
        command = [sys.executable, "-m", "graders.cli", "open", *sys.argv[1:]]
    try:
        return subprocess.run(command, check=False).returncode  # noqa: S603
    except KeyboardInterrupt:
        return 0


if __name__ == "__main__":
    sys.exit(main())
