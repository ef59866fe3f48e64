"""`benchproof labels`: a sheet by codes, blank labels, and the report of how well labels read."""

from __future__ import annotations

import json
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp
from click.testing import CliRunner, Result

from inventory.cli import main
from inventory.store import binding
from inventory.store.tables import Bin
from labels import robustness
from tests.making import a_bin, a_part


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, ["labels", *map(str, arguments)])


@pytest.fixture(autouse=True)
def own_bench(bench: None, database_url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The commands look at this test's bench."""
    monkeypatch.setenv("BENCHPROOF_DATABASE_URL", database_url)


def codes_on(pdf: Path) -> list[str]:
    """Return what the symbols of a PDF say, by an independent renderer and decoder."""
    pictures = [page.render(scale=4).to_pil() for page in pypdfium2.PdfDocument(pdf)]
    found = [one.text for picture in pictures for one in zxingcpp.read_barcodes(picture)]
    return sorted(text.rpartition("/")[2] for text in found)


def test_a_sheet_has_the_labels_that_were_named(tmp_path: Path) -> None:
    named, out = [a_bin(), a_bin(), a_bin()], tmp_path / "three.pdf"
    answer = run("sheet", out, *[one.code for one in named], "--start", 5, "--offset", 1, -0.5)
    assert (answer.exit_code, answer.output) == (0, f"3 labels, each read back, in {out}\n")
    assert codes_on(out) == sorted(one.code for one in named)


def test_bins_are_named_as_the_bench_calls_them_or_by_the_part_that_is_in_them(tmp_path: Path) -> None:
    part, out = a_part(number="HS-0412"), tmp_path / "named.pdf"
    named, one, other = a_bin(name="A-14"), a_bin(part, name="B-01"), a_bin(part, name="B-02")
    answer = run("sheet", out, "a-14", "hs-0412")
    assert (answer.exit_code, answer.output) == (0, f"3 labels, each read back, in {out}\n")
    assert codes_on(out) == sorted(each.code for each in (named, one, other))


def test_what_means_nothing_and_a_part_without_a_bin_are_said(tmp_path: Path) -> None:
    part = a_part()
    for name, sentence in ((part.number, f"Part {part.number} has no bin of its own"), ("Z-99", "")):
        answer = run("sheet", tmp_path / "none.pdf", name)
        assert answer.exit_code != 0
        assert sentence in answer.output
        assert "Traceback" not in answer.output
    assert not (tmp_path / "none.pdf").exists()


def test_a_command_leaves_no_bench_open(tmp_path: Path) -> None:
    """Nor the one that this process had open before: PostgreSQL would keep a connection for each."""
    before = binding.database.obj
    assert run("sheet", tmp_path / "one.pdf", a_bin().code).exit_code == 0
    assert before is not binding.database.obj
    assert before.is_closed()
    assert binding.database.is_closed()


@pytest.mark.parametrize("ending", ["png", "svg"])
def test_one_label_is_a_picture(tmp_path: Path, ending: str) -> None:
    out = tmp_path / f"one.{ending}"
    assert run("sheet", out, a_bin().code, "--media", "62x29", "--dpi", 203).exit_code == 0
    assert out.read_bytes()[:4] in (b"\x89PNG", b"<svg", b"<?xm")


def test_blank_labels_are_bins_to_be_named_by_their_first_scan(tmp_path: Path) -> None:
    out = tmp_path / "blank.pdf"
    assert run("blank", out, 7).exit_code == 0
    blank = [one.code for one in Bin.select().where(Bin.name.is_null())]
    assert (len(blank), codes_on(out)) == (7, sorted(blank))


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("blank", "x.pdf", 3, "--media", "9x"), "No label size '9x'"),
        (("blank", "x.png", 3), "PNG holds one label: name a .pdf for 3."),
        (("blank", "x.doc", 3), "x.doc must end in .pdf, .png or .svg."),
        (("blank", "no/such/place/x.pdf", 1), "There is no folder no/such/place"),
    ],
)
def test_what_cannot_be_is_a_sentence_and_makes_no_label(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: tuple[object, ...], sentence: str
) -> None:
    monkeypatch.chdir(tmp_path)
    answer = run(*arguments)
    assert answer.exit_code == 1
    assert sentence in answer.output
    assert Bin.select().count() == 0


def test_a_code_that_is_none_is_named(tmp_path: Path) -> None:
    answer = run("sheet", tmp_path / "x.pdf", "B-000-000")
    assert answer.exit_code == 1
    assert answer.output.startswith("Error: ")


def test_the_report_holds_what_was_read_against_the_bars() -> None:
    answer = run("check", "--labels", 1, "--json")
    found = json.loads(answer.stdout)
    barred = [one for one in found if one["bar"] is not None]
    assert len(barred) == 8
    assert all(one["ok"] for one in barred)
    assert answer.exit_code == 0
    assert "0.50 mm a module, 6.4 px/mm" in run("check", "--labels", 1).stdout


def test_the_report_says_short_and_exits_1_when_labels_do_not_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(robustness, "read_symbols", lambda grey, formats: ([], grey))  # a reader that sees nothing
    answer = run("check", "--labels", 1)
    assert answer.exit_code == 1
    assert answer.stdout.count("short") == 8
