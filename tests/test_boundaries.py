"""The arrows between the folders point one way."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "journal_server"

ALLOWED = {
    "domain": {"domain"},
    "measurement": {"measurement", "domain"},
    "analysis": {"analysis", "measurement", "domain"},
    "figures": {"figures", "analysis", "measurement", "domain"},
    "storage": {"storage", "domain"},
    "printing": {"printing", "figures", "domain"},
    "services": {"services", "storage", "analysis", "figures", "printing", "measurement", "domain"},
    "api": {"api", "services", "storage", "measurement", "domain"},
    "serving": {"serving", "services", "domain"},
}
SHARED = {"errors", "settings", "packaged", "__init__"}


def imports_of(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
    return found


@pytest.mark.parametrize("folder", ALLOWED)
def test_arrows_point_one_way(folder: str) -> None:
    for path in (PACKAGE / folder).rglob("*.py"):
        for module in imports_of(path):
            parts = module.split(".")
            if parts[0] == "journal_server" and len(parts) > 1 and parts[1] not in SHARED:
                assert parts[1] in ALLOWED[folder], f"{path.relative_to(PACKAGE)} imports {module}"


def test_domain_uses_the_standard_library_only() -> None:
    for path in (PACKAGE / "domain").rglob("*.py"):
        for module in imports_of(path):
            top = module.split(".")[0]
            assert top in sys.stdlib_module_names or top == "journal_server", f"{path.name} imports {module}"


@pytest.mark.parametrize("module", ["journal_server.measurement.measure", "journal_server.analysis.summary"])
def test_measuring_loads_neither_web_nor_database(module: str) -> None:
    """In a fresh process, so that what other tests imported does not count."""
    code = f"import sys, {module}; print([m for m in ('flask', 'sqlalchemy', 'torch') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_pure_folders_read_no_clock_locale_or_environment() -> None:
    for folder in ("domain", "analysis", "figures", "measurement"):
        for path in (PACKAGE / folder).rglob("*.py"):
            if {"training", "benchmark"} & set(path.parts):
                continue
            assert not imports_of(path) & {"time", "locale", "random", "secrets", "socket"}, path
            text = path.read_text(encoding="utf-8")
            assert not [word for word in ("os.environ", "getenv", ".now(", ".today()", "utcnow") if word in text], path
