"""docs/api-guide.md as a specification: its commands run one after the other, and answer what the guide says."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests import ROOT
from tests.conftest import skip_or_fail

GUIDE = (ROOT / "docs/api-guide.md").read_text()
EXAMPLE = re.compile(
    r"```sh\n(?P<commands>.*?)```\n\nAnswer (?P<status>\d{3})[.:](?:\n\n```json\n(?P<answer>.*?)```)?", re.S
)
LEFT_OUT = "..."
COMMAND = (sys.executable, "-c", "from inventory.cli import main; main()")
SHELL = """
set -e
curl() { command curl -sS -w '%{stderr}HTTP %{http_code}\\n' "$@"; }
benchproof() { "$PYTHON" -c 'from inventory.cli import main; main()' "$@"; }
"""


@dataclass(frozen=True)
class Ran:
    """What the commands of one example gave: the statuses of its requests in order, and the last answer."""

    statuses: list[int]
    answer: str


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, str]]:
    """The demo bench as `make run` serves it; gives the environment in which the guide's commands find it."""
    if not (shutil.which("curl") and shutil.which("bash")):
        skip_or_fail("No curl or bash to run the guide's commands with: install them.")
    folder = tmp_path_factory.mktemp("guide")
    environment = {
        **os.environ, "DATA_DIR": str(folder), "PORT": "0", "PYTHON": sys.executable, "PYTHONPATH": str(ROOT),
        "NO_PROXY": "localhost",
    }  # fmt: skip
    with subprocess.Popen(
        (*COMMAND, "serve", "--demo"), env=environment, cwd=ROOT, stdout=subprocess.PIPE, text=True
    ) as running:
        try:
            yield {**environment, "RUNS_AT": _address(running)}
        finally:
            running.terminate()
            running.wait(10)


def _address(running: subprocess.Popen[str]) -> str:
    assert running.stdout is not None
    for line in running.stdout:
        match = re.search(r"runs at (http://\S+)", line)
        if match:
            return match[1]
    raise AssertionError("the service did not start")


def run(examples: list[str], environment: dict[str, str], folder: Path, shell: str = SHELL) -> list[Ran]:
    """Run the commands of all *examples* in one shell, as somebody does who reads from top to bottom."""
    marked = "".join(
        f"exec >out-{number} 2>err-{number}\n{commands.replace('http://localhost:8017', environment['RUNS_AT'])}\n"
        for number, commands in enumerate(examples)
    )
    ended = subprocess.run(("bash", "-c", shell + marked), env=environment, cwd=folder, check=False, timeout=60)
    reached = [number for number in range(len(examples)) if (folder / f"err-{number}").exists()]
    assert ended.returncode == 0, (examples[reached[-1]], (folder / f"err-{reached[-1]}").read_text())
    return [
        Ran(
            [int(status) for status in re.findall(r"HTTP (\d{3})", (folder / f"err-{number}").read_text())],
            (folder / f"out-{number}").read_text(),
        )
        for number in reached
    ]


def shows(printed: Any, answer: Any) -> bool:
    """Tell whether an answer is what the guide shows of it: keys and items of a list may be left out there."""
    if isinstance(printed, dict):
        left_out = printed.get(LEFT_OUT) == LEFT_OUT
        printed_part = {key: value for key, value in printed.items() if key != LEFT_OUT}
        whole = left_out or set(printed_part) == set(answer)
        return whole and all(key in answer and shows(value, answer[key]) for key, value in printed_part.items())
    if isinstance(printed, list):
        return len(printed) <= len(answer) and all(
            shows(item, other) for item, other in zip(printed, answer, strict=False)
        )
    return bool(printed == answer)


def hold_the_guide(environment: dict[str, str], folder: Path, shell: str = SHELL) -> None:
    """Run every command of the guide, and fail where an answer is not what it says."""
    examples = list(EXAMPLE.finditer(GUIDE))
    ran_all = run([example["commands"] for example in examples], environment, folder, shell)
    for printed, ran in zip(examples, ran_all, strict=True):
        assert ran.statuses[-1] == int(printed["status"]), (printed["commands"], ran.answer)
        assert all(status < 400 for status in ran.statuses[:-1]), printed["commands"]
        if printed["answer"]:
            answer = json.loads(ran.answer)
            assert shows(json.loads(printed["answer"]), answer), (printed["answer"], answer)


def test_every_command_in_the_guide_is_an_example_with_its_answer() -> None:
    assert len(EXAMPLE.findall(GUIDE)) == GUIDE.count("```sh\n") > 15


def test_the_guides_commands_answer_what_it_says(service: dict[str, str], tmp_path: Path) -> None:
    hold_the_guide(service, tmp_path)


@pytest.mark.parametrize(
    ("printed", "answer"),
    [({"a": 1}, {"a": 2}), ({"a": 1}, {"a": 1, "b": 2}), ({"a": 1, "...": "..."}, {"b": 1}), ([1, 2], [1])],
)
def test_an_answer_that_differs_from_the_guide_is_noticed(printed: Any, answer: Any) -> None:
    assert not shows(printed, answer)
