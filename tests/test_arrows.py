"""The house keeps its arrows: pages, api, cli call domain; domain calls store and reckoning; the pure call nobody."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests import ROOT

WEB = ("flask", "flask_smorest", "flask_wtf", "werkzeug", "marshmallow")
DATABASE = ("peewee", "playhouse", "psycopg", "sqlite3")

FORBIDDEN = {
    "shared": ("inventory", "labels", "seed", *WEB, *DATABASE),
    "labels": ("inventory", "seed", *WEB, *DATABASE),
    "inventory/reckoning": (
        *("inventory.store", "inventory.domain", "inventory.api", "inventory.pages", "inventory.app"),
        *("inventory.settings", "inventory.web", "labels", "seed", "requests", "scipy.stats", *WEB, *DATABASE),
    ),
    "inventory/store": (
        "inventory.domain",
        "inventory.api",
        "inventory.pages",
        "inventory.app",
        "labels",
        "seed",
        *WEB,
    ),
    "inventory/domain": (
        "inventory.api",
        "inventory.pages",
        "inventory.app",
        "inventory.web",
        "seed",
        "flask",
        "werkzeug",
    ),
    "inventory/api": ("inventory.store", "inventory.pages", "inventory.reckoning", "seed", *DATABASE),
    "inventory/pages": ("inventory.store", "inventory.reckoning", *DATABASE),
}


def _modules() -> Iterator[tuple[str, Path]]:
    for folder in FORBIDDEN:
        for path in sorted((ROOT / folder).rglob("*.py")):
            yield folder, path


def _imports(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module or ""
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


@pytest.mark.parametrize(("folder", "path"), list(_modules()), ids=lambda value: str(value).removeprefix(f"{ROOT}/"))
def test_it_imports_nobody_it_should_not_know(folder: str, path: Path) -> None:
    wrong = {name for name in _imports(path) for no in FORBIDDEN[folder] if name == no or name.startswith(f"{no}.")}
    assert not wrong, f"{path.relative_to(ROOT)} imports {', '.join(sorted(wrong))}"


def test_starting_the_service_imports_no_heavy_statistics() -> None:
    import subprocess
    import sys

    code = "import sys, inventory.app, inventory.cli; print('scipy.stats' in sys.modules)"
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert result.stdout.strip() == "False"
