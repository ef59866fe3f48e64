"""A real browser at a phone's size, and the real service behind it with the demo bench."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests import ROOT
from tests.conftest import skip_or_fail

PHONE = {"width": 390, "height": 844}
PICTURES = ROOT / "docs" / "pictures"
QUIET = (
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync"),
)
COMMAND = (sys.executable, "-c", "from inventory.cli import main; main()")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test of this folder, so that the browser can be left out."""
    for item in items:
        if Path(__file__).parent in Path(item.path).parents:
            item.add_marker("browser")


@dataclass(frozen=True)
class Site:
    """The running service: where it is, and the codes that the demo names."""

    address: str
    codes: dict[str, str]  # what a code is on, as the demo says it -> the code
    people: dict[str, str]  # name -> passphrase

    def code(self, start: str) -> str:
        """Return the code of what the demo calls so."""
        return next(code for what, code in self.codes.items() if what.startswith(start))


@dataclass(frozen=True)
class Demo:
    """A data folder with the demo bench freshly loaded, and what loading it said."""

    folder: Path
    said: str


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Demo:
    """The demo bench, loaded once; every file of tests works on a copy of its own."""
    folder = tmp_path_factory.mktemp("demo")
    environment = {**os.environ, "DATA_DIR": str(folder)}
    loaded = subprocess.run((*COMMAND, "demo"), env=environment, cwd=ROOT, capture_output=True, text=True, check=True)
    return Demo(folder, loaded.stdout)


@pytest.fixture(scope="module")
def site(demo_folder: Demo, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """The service on waitress in a process of its own, on a demo bench that no other file of tests has touched."""
    folder = tmp_path_factory.mktemp("site")
    shutil.copytree(demo_folder.folder, folder, dirs_exist_ok=True)
    codes = {what: code for code, what in re.findall(r"^  ([0-9A-Z-]{11})  (.+)$", demo_folder.said, re.MULTILINE)}
    people = dict(re.findall(r"^  (\w+) +(\S.*?\S) +\(", demo_folder.said, re.MULTILINE))
    environment = {**os.environ, "DATA_DIR": str(folder), "PORT": "0"}
    with subprocess.Popen(
        (*COMMAND, "serve", "--demo"), env=environment, cwd=ROOT, stdout=subprocess.PIPE, text=True
    ) as service:
        try:
            yield Site(_address(service), codes, people)
        finally:
            service.terminate()
            service.wait(10)


def _address(service: subprocess.Popen[str]) -> str:
    assert service.stdout is not None
    for line in service.stdout:
        match = re.search(r"runs at (http://\S+)", line)
        if match:
            return match[1]
    raise AssertionError("the service did not start")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """A headless Chromium."""
    from playwright.sync_api import Error, sync_playwright

    program = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    with sync_playwright() as playwright:
        try:
            browser = playwright.chromium.launch(executable_path=program, args=list(QUIET))
        except Error as missing:
            skip_or_fail(
                f"No Chromium to drive: install it, or name it in CHROMIUM. ({str(missing).splitlines()[0]})"
            )
        yield browser
        browser.close()


OpenPhone = Callable[..., Any]


@pytest.fixture
def phone(chromium: Any, site: Site) -> Iterator[OpenPhone]:
    """Open a phone on which somebody of the demo has signed in; fail when its page logged an error."""
    opened: list[Any] = []
    errors: list[str] = []

    def open_phone(name: str = "ines", browser: Any = chromium, **more: Any) -> Any:
        context = browser.new_context(viewport=PHONE, base_url=site.address, has_touch=True, is_mobile=True, **more)
        opened.append(context)
        page = context.new_page()
        page.set_default_timeout(10_000)
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.goto("/sign-in")
        page.get_by_label("Name").fill(name)
        page.get_by_label("Passphrase").fill(site.people[name])
        page.get_by_role("button", name="Sign in").click()
        page.get_by_role("heading", level=1, name="Today").wait_for()
        return page

    yield open_phone
    for context in opened:
        context.close()
    assert not errors


@pytest.fixture
def picture(request: pytest.FixtureRequest) -> Callable[[Any, str], None]:
    """Save what a page shows for the docs, when the tests are run with --pictures."""

    def save(page: Any, name: str) -> None:
        if request.config.getoption("--pictures"):
            PICTURES.mkdir(parents=True, exist_ok=True)
            page.screenshot(path=PICTURES / f"{name}.png", animations="disabled")

    return save
