"""`benchproof backtest`: on a file, on the shop's own history, as a table, as JSON, as a picture."""

from __future__ import annotations

import gzip
import json
import xml.etree.ElementTree as ET
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from PIL import Image

from inventory.domain.catalogue import parts
from inventory.domain.common import clock
from inventory.domain.movements import pull, receive
from inventory.lab.backtest import OUR_METHOD
from inventory.lab.textbook import METHODS
from tests import DATA
from tests.command_line import run_command
from tests.factories import a_bin, a_job, a_part

CAR_PARTS = DATA / "car_parts_monthly.csv.gz"
HEADING = "part," + ",".join(f"2024-{month:02}" for month in range(1, 13))


def run(*arguments: object) -> Result:
    return run_command("backtest", *arguments)


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """A table of four parts over a year."""
    rows = [
        "A,0,2,0,1,0,0,3,0,0,1,0,0",
        "B,1,0,0,0,0,0,0,0,2,0,0,1",
        "C,0,0,0,0,0,0,0,0,0,0,0,0",
        "D,,,,4,0,1,0,0,0,2,0,0",
    ]
    path = tmp_path / "months.csv"
    path.write_text("\n".join([HEADING, *rows]))
    return path


# The figures of the method's first prototype on the car parts set (source beside the data file).
FIGURES = {0.90: (0.9343, 3.8470, 86869), 0.95: (0.9656, 5.1223, 115666), 0.98: (0.9837, 6.8915, 155617)}


@pytest.fixture(scope="module")
def car_parts() -> Any:
    """What a program reads of the backtest on the car parts."""
    return json.loads(run(CAR_PARTS, "--json").stdout)


@pytest.mark.parametrize("target", FIGURES)
def test_a_program_reads_the_published_figures(car_parts: Any, target: float) -> None:
    (score,) = [part for part in car_parts["scores"] if (part["method"], part["target"]) == (OUR_METHOD, target)]
    achieved, level, total = FIGURES[target]
    assert score["achieved"] == pytest.approx(achieved, abs=0.0005)
    assert score["mean_level"] == pytest.approx(level, abs=0.005)
    assert score["levels_sum"] == pytest.approx(total, abs=20)
    assert target <= score["stated"] < 1
    assert score["cases"] == 9 * 2509


def test_every_method_is_there_at_every_target(car_parts: Any) -> None:
    pairs = [(part["method"], part["target"]) for part in car_parts["scores"]]
    assert pairs == [(method, target) for method in (OUR_METHOD, *METHODS) for target in FIGURES]
    stock = car_parts["mean_level_for"]["methods"]
    assert stock[OUR_METHOD] == pytest.approx(4.32, abs=0.02)
    assert all(stock[method] > 1.25 * stock[OUR_METHOD] for method in METHODS)
    assert (car_parts["origins"][0]["months"], car_parts["origins"][-1]["months"]) == (24, 48)


def test_people_read_a_table_and_the_answer_is_alone_on_standard_output(small: Path) -> None:
    result = run(small)
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert lines[0] == "months.csv: 4 parts, 12 months"
    assert lines[1].startswith("2 origins after 6 to 9 months, each scored on the 3 months after it: 8 cases")
    assert [line.split("  ")[0] for line in lines if " 0.950 " in line] == ["ours", *METHODS]
    assert "Trying" not in result.stdout
    assert "Trying" in result.stderr


def test_the_rules_of_the_trial_can_be_chosen(small: Path) -> None:
    options = ("--targets", "80,.9", "--horizon", 1, "--first", 8, "--step", 2, "--json")
    data = json.loads(run(small, *options).stdout)
    assert (data["targets"], data["horizon"]) == ([0.8, 0.9], 1)
    assert [origin["months"] for origin in data["origins"]] == [8, 10]


def test_a_gzipped_file_and_one_with_a_byte_order_mark_read_the_same(small: Path, tmp_path: Path) -> None:
    plain = run(small, "--json").stdout
    packed, marked = tmp_path / "packed", tmp_path / "marked.csv"
    packed.write_bytes(gzip.compress(small.read_bytes()))
    marked.write_bytes(b"\xef\xbb\xbf" + small.read_bytes().replace(b"\n", b"\r\n"))
    for other in (packed, marked):
        assert json.loads(run(other, "--json").stdout)["scores"] == json.loads(plain)["scores"]


# ---- the picture -------------------------------------------------------------------------------------------


def test_the_picture_can_be_svg_with_its_story_in_words(small: Path, tmp_path: Path) -> None:
    path = tmp_path / "outcome.svg"
    assert run(small, "--picture", path).exit_code == 0
    svg = "{http://www.w3.org/2000/svg}"
    root = ET.fromstring(path.read_text())
    words = {element.text for element in root.iter(f"{svg}text")}
    assert {"ours", *METHODS, "promised", "achieved", "Tried on the past: months.csv"} <= words
    title = root.find(f"{svg}title")
    assert title is not None
    assert "95% promised" in str(title.text)
    assert len(root.findall(f"{svg}polyline")) > 20


def test_the_picture_can_be_png(small: Path, tmp_path: Path) -> None:
    path = tmp_path / "outcome.PNG"
    assert run(small, "--picture", path).exit_code == 0
    with Image.open(path) as image:
        assert (image.format, image.size) == ("PNG", (1800, 940))
        assert len(image.getcolors(100_000) or ()) > 20


# ---- what cannot be tried ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "bad.csv: The first line must be a heading: the word part, then one column a month."),
        (HEADING.encode(), "bad.csv: The file has a heading but no parts: add one line a part."),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "bad.csv: The file cannot be read after line 0"),
        (f"{HEADING}\nA,0,1".encode(), "bad.csv: Line 2 has 3 columns where the heading has 13"),
        (f"{HEADING}\nA{',0' * 11},lots".encode(), "bad.csv: Line 2 has 'lots' where a whole number of pieces"),
        (gzip.compress(HEADING.encode())[:20], "bad.csv: The file cannot be read after line"),
        (b"part,a,b\nA,1,2", "There is nothing to try: 3 months to learn from and 3 to test on need a table"),
        (b"x" * 2_100_000, "bad.csv: The file is too large to be a table of month totals: split it."),
    ],
    ids=["empty", "no parts", "picture", "short line", "word", "cut archive", "two months", "one endless line"],
)  # fmt: skip
def test_a_corrupt_file_is_refused_with_a_sentence(tmp_path: Path, content: bytes, sentence: str) -> None:
    path = tmp_path / "bad.csv"
    path.write_bytes(content)
    result = run(path)
    assert result.exit_code == 2
    assert sentence in result.stderr
    assert result.stdout == ""


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ((), "Name a file of month totals, or say --own"),
        (("x.csv", "--own"), "Name a file of month totals, or say"),
        (("/no/such/file.csv",), "cannot be read: No such file or directory."),
        (("x.csv", "--targets", "0"), "a target lies between 0 and 1, both left out"),
        (("x.csv", "--targets", "1"), "a target lies between 0 and 1, both left out"),
        (("x.csv", "--targets", "often"), "write shares such as 0.90,0.95,0.98."),
        (("x.csv", "--picture", "out.pdf"), "out.pdf should end in .svg or .png"),
        (("x.csv", "--picture", "/no/such/out.svg"), "There is no folder /no/such: make it first"),
        (("x.csv", "--horizon", "0"), "Invalid value for '--horizon'"),
    ],
)  # fmt: skip
def test_what_cannot_be_asked_is_refused_with_a_sentence(arguments: tuple[str, ...], sentence: str) -> None:
    result = run(*arguments)
    assert result.exit_code != 0
    assert sentence in result.stderr


# ---- the shop's own history --------------------------------------------------------------------------------


@pytest.mark.usefixtures("own_bench")
def test_the_shops_own_history_is_tried_from_its_dated_jobs() -> None:
    today = datetime.now(UTC)
    with clock.freeze_at(today - timedelta(days=400)):
        stock_parts = [a_part() for _ in range(6)]
        for part in stock_parts:
            receive.receive(part.id, 1000, a_bin(part).id)
        parts.edit_part(stock_parts[5].id, retired=True)
    for month in range(12):
        with clock.freeze_at(today - timedelta(days=380 - 30 * month)):
            for number, part in enumerate(stock_parts[:4]):
                if month % (number + 1) == 0:
                    pull.pull(1 + number, part_id=part.id, job_id=a_job().id)
            pull.pull(50, part_id=stock_parts[4].id, job_id=a_job().id, one_off=True)
    result = run("--own", "--json")
    assert result.exit_code == 0, result.stderr
    data = json.loads(result.stdout)
    assert (data["source"], data["parts"], data["months"]) == ("the shop's own history", 5, 13)
    by_method = {score["method"]: score for score in data["scores"] if score["target"] == 0.95}
    assert set(by_method) == {OUR_METHOD, *METHODS}
    assert by_method[OUR_METHOD]["cases"] == 10
    assert by_method[OUR_METHOD]["achieved"] == 1
    assert by_method[OUR_METHOD]["mean_level"] < 20  # the one-off fifties are nothing to lay in for


@pytest.mark.usefixtures("own_bench")
def test_a_shop_without_history_is_told_what_it_takes() -> None:
    result = run("--own")
    assert result.exit_code == 1
    assert "3 months to learn from and 3 to test on need a table of at least 6 months, and one part" in result.stderr
