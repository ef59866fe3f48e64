"""The docs say everything: each setting and command is in docs/running.md, and links lead somewhere."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path

import click
import pytest

from inventory.cli import main
from inventory.settings import Settings
from shared.gs1 import has_valid_check_digit
from tests import ROOT

PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]


def _commands(group: click.Group, before: str = "benchproof") -> Iterator[tuple[str, click.Command]]:
    for name, command in group.commands.items():
        if isinstance(command, click.Group):
            yield from _commands(command, f"{before} {name}")
        else:
            yield f"{before} {name}", command


@pytest.mark.parametrize("name", [field.name for field in fields(Settings)])
def test_each_setting_is_in_the_docs_with_what_it_does(name: str) -> None:
    about = next(field for field in fields(Settings) if field.name == name).metadata["about"]
    line = next(
        line for line in (ROOT / "docs/running.md").read_text().splitlines() if f"`BENCHPROOF_{name.upper()}`" in line
    )
    assert about.split(";")[0].split(":")[0].split("(")[0].rstrip(". ") in line.replace("`", "")


@pytest.mark.parametrize(("name", "command"), list(_commands(main)))
def test_each_command_has_help_and_is_in_the_docs(name: str, command: click.Command) -> None:
    assert command.help
    assert name in (ROOT / "docs/running.md").read_text()


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_every_link_in_the_docs_leads_somewhere(page: Path) -> None:
    links = re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", page.read_text())
    missing = [link for link in links if "://" not in link and not (page.parent / link).exists()]
    assert not missing


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_no_page_names_a_path_of_somebodys_machine(page: Path) -> None:
    assert not re.search(r"(^|[\s(`])/(work|root|home)/", page.read_text())


def test_no_example_is_the_article_number_of_a_real_firm() -> None:
    """GTINs begin with GS1's demonstration prefix 952, or with 04: for use inside one firm."""
    endings = {".csv", ".html", ".js", ".json", ".md", ".py"}
    folders = ("docs", "inventory", "labels", "seed", "shared", "tests")
    paths = [path for folder in folders for path in (ROOT / folder).rglob("*.*") if path.suffix in endings]
    numbers = {number for path in paths for number in re.findall(r"(?<![\d.])\d{12,14}(?!\d)", path.read_text())}
    gtins = {number.zfill(14)[1:] for number in numbers if has_valid_check_digit(number)}
    assert gtins
    assert [gtin for gtin in gtins if not gtin.startswith(("952", "04"))] == []
    assert [path.name for path in paths if re.search(r"[A-Z0-9]-N[D]\b", path.read_text())] == []


def test_the_makefile_names_modules_and_tests_that_exist() -> None:
    text = (ROOT / "Makefile").read_text()
    modules = [name.replace(".", "/") + ".py" for name in re.findall(r"/python -m ([\w.]+)", text)]
    paths = modules + re.findall(r"\btests/[\w/.]+", text)
    assert len(paths) > 6
    assert [path for path in paths if not (ROOT / path).exists()] == []


def test_the_map_of_the_house_names_files_that_exist() -> None:
    rows = [line for line in (ROOT / "DEVELOPERS.md").read_text().splitlines() if line.startswith("|")]
    paths = re.findall(r"`((?:domain|reckoning|store|shared|web|pages|tests|inventory)/[\w/]+\.py)`", "\n".join(rows))
    assert len(paths) > 8
    assert [path for path in paths if not any((root / path).exists() for root in (ROOT, ROOT / "inventory"))] == []
