"""Rooms stay small enough to know: few modules in a folder, short views. The arrows are in pyproject.toml."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests import ROOT

MAX_MODULES, MAX_VIEW_LINES = 16, 15
GROWING = "migrations"  # one file for every change of a table
PACKAGES = ("inventory", "labels", "shared", "seed")
FOLDERS = sorted({path.parent for package in PACKAGES for path in (ROOT / package).rglob("*.py")})
VIEW_FILES = sorted(path for layer in ("api", "pages") for path in (ROOT / "inventory" / layer).rglob("*.py"))


def _name(path: Path) -> str:
    return str(path.relative_to(ROOT))


@pytest.mark.parametrize("folder", [folder for folder in FOLDERS if folder.name != GROWING], ids=_name)
def test_a_room_holds_at_most_sixteen_modules(folder: Path) -> None:
    modules = [path.name for path in folder.glob("*.py") if path.name != "__init__.py"]
    assert len(modules) <= MAX_MODULES, f"{_name(folder)} has {len(modules)}: find what belongs together"


def _views(path: Path) -> Iterator[ast.FunctionDef]:
    """Yield the functions of a file that a route decorates."""
    for node in ast.parse(path.read_text()).body:
        if isinstance(node, ast.FunctionDef) and any(_is_route(decorator) for decorator in node.decorator_list):
            yield node


def _is_route(decorator: ast.expr) -> bool:
    called = decorator.func if isinstance(decorator, ast.Call) else None
    return isinstance(called, ast.Attribute) and called.attr in {"get", "post", "put", "patch", "delete", "route"}


def test_there_are_views_to_measure() -> None:
    assert sum(1 for path in VIEW_FILES for _ in _views(path)) > 200


@pytest.mark.parametrize("path", VIEW_FILES, ids=_name)
def test_a_view_parses_calls_the_domain_and_renders_in_fifteen_lines(path: Path) -> None:
    long = {view.name: view.end_lineno - view.lineno + 1 for view in _views(path) if view.end_lineno}
    assert {name: lines for name, lines in long.items() if lines > MAX_VIEW_LINES} == {}


def test_starting_the_service_imports_no_heavy_statistics() -> None:
    code = "import sys, inventory.app, inventory.cli; print('scipy.stats' in sys.modules)"
    output = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert output.stdout.strip() == "False"
