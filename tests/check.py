"""All checks in one: style, types, tests. Exit status 0 only if every one passes."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
CHECKS = (
    ("style", ["ruff", "check", "."]),
    ("format", ["ruff", "format", "--check", "."]),
    ("types", ["mypy"]),
    ("tests", ["pytest"]),
)


def main() -> int:
    failed = []
    for name, command in CHECKS:
        print(f"== {name}", flush=True)
        if subprocess.run(
            [sys.executable, "-m", *command, *(sys.argv[1:] if name == "tests" else [])], cwd=ROOT
        ).returncode:
            failed.append(name)
    print(f"== {'failed: ' + ', '.join(failed) if failed else 'all checks passed'}", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
