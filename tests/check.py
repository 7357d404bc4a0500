"""All checks in one: style, types, tests. Exit status 0 only if every one passes."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import postgresql

ROOT = Path(__file__).resolve().parent.parent
ON_POSTGRESQL = (
    "tests/storage",
    "tests/services/test_apply_changes.py",
    "tests/services/test_take_in_photo.py",
    "tests/services/test_claims.py",
    "tests/services/test_measuring.py",
    "tests/api/test_api.py",
    "tests/api/test_from_phone.py",
)
"""Where the database counts most; every other test of tests/services and tests/api runs on it too (--on postgresql)."""
CHECKS = (
    ("style", ["ruff", "check", "."]),
    ("format", ["ruff", "format", "--check", "."]),
    ("types", ["mypy"]),
    ("tests", ["pytest"]),
    ("tests on PostgreSQL", ["pytest", "--on", "postgresql", *ON_POSTGRESQL]),
)


def main() -> int:
    failed = []
    for name, command in CHECKS:
        if "postgresql" in command and not os.environ.get("CI") and postgresql.programs() is None:
            print(f"== {name}: left out, since PostgreSQL is not installed", flush=True)
            continue
        print(f"== {name}", flush=True)
        if subprocess.run(
            [sys.executable, "-m", *command, *(sys.argv[1:] if name == "tests" else [])], cwd=ROOT
        ).returncode:
            failed.append(name)
    print(f"== {'failed: ' + ', '.join(failed) if failed else 'all checks passed'}", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
