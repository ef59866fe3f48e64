"""`benchproof stock-list`: the stock comes in from a file, and goes out to one."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import Result

from inventory.store import connection
from inventory.store.tables import Part
from tests.command_line import run_command
from tests.factories import a_stocked_part

LIST = "number;name;colour;bin;quantity\r\nX-1;header;rot;A-1;12\r\nX-2;Lüfter;;A-2;3\r\n"

pytestmark = pytest.mark.usefixtures("own_bench")


def run(*arguments: object) -> Result:
    answer = run_command("stock-list", *arguments)
    connection.connect()
    return answer


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A shop's list as its spreadsheet saved it."""
    path = tmp_path / "shop.csv"
    path.write_bytes(LIST.encode("cp1252"))
    return path


def test_it_looks_then_takes_in(file: Path) -> None:
    looked = run("in", file, "--look")
    assert (looked.exit_code, "MIND   Not known here: colour" in looked.output) == (0, True)
    assert "It would add 2 parts, 2 bins, 0 suppliers, 0 offers, 2 lots" in looked.output
    assert Part.select().count() == 0
    refused = run("in", file)
    assert (refused.exit_code, "Not known here: colour." in refused.output) == (1, True)
    result = run("in", file, "--leave-out", "colour")
    assert (result.exit_code, result.output.startswith("Taken in as list 1: 2 parts, 2 bins")) == (0, True)
    assert Part.get(Part.number == "X-2").name == "Lüfter"
    assert "Just this list was taken in" in run("in", file, "--leave-out", "colour").output
    assert run("in", file, "--leave-out", "colour", "--on-top").exit_code == 0


def test_what_is_wrong_is_named_and_nothing_is_taken_in(file: Path) -> None:
    file.write_text("number,name,bin,quantity\nX-1,header,A-1,many\n")
    answer = run("in", file)
    assert answer.exit_code == 1
    assert "WRONG  Row 2, quantity: 'many' is not a quantity, such as 12." in answer.output
    assert Part.select().count() == 0


def test_what_goes_out_comes_in_again(tmp_path: Path) -> None:
    part, bin_, _ = a_stocked_part(5)
    path = tmp_path / "out.csv"
    assert run("out", path).output == f"{path}: 1 lines\n"
    assert path.read_bytes() == run("out").stdout_bytes
    assert f"Bin {bin_.name} holds 5 pieces already" in run("in", path, "--look").output
    assert path.read_text(encoding="utf-8-sig").splitlines()[1].startswith(part.number)


def test_a_file_there_is_not_is_said_in_a_sentence(tmp_path: Path) -> None:
    assert "cannot be read: No such file" in run("in", tmp_path / "none.csv").output
    assert "cannot be written" in run("out", tmp_path / "none" / "out.csv").output
