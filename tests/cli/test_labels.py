"""`benchproof labels`: a sheet by codes, blank labels, and the report of how well labels read."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
import zxingcpp
from click.testing import Result

from inventory.domain.labelling.label_sizes import add_label_size
from inventory.domain.labelling.print_offsets import save_offset
from inventory.lab import label_damage
from inventory.store import connection
from inventory.store.tables import Bin
from tests.command_line import run_command
from tests.factories import a_bin, a_job, a_part
from tests.fake_cups import put_on_path
from tests.proof_factories import a_piece

pytestmark = pytest.mark.usefixtures("own_bench")


def run(*arguments: object) -> Result:
    return run_command("labels", *arguments)


def codes_on(pdf: Path) -> list[str]:
    """Return what the symbols of a PDF say, by an independent renderer and decoder."""
    pictures = [page.render(scale=4).to_pil() for page in pypdfium2.PdfDocument(pdf)]
    barcodes = [barcode.text for picture in pictures for barcode in zxingcpp.read_barcodes(picture)]
    return sorted(text.rpartition("/")[2] for text in barcodes)


def test_a_sheet_has_the_labels_that_were_named(tmp_path: Path) -> None:
    named, out = [a_bin(), a_bin(), a_bin()], tmp_path / "three.pdf"
    answer = run("sheet", out, *[item.code for item in named], "--start", 5, "--offset", 1, -0.5)
    assert (answer.exit_code, answer.output) == (
        0, f"3 labels, each read back, in {out}, moved 1 mm right, 0.5 mm up\n"
    )  # fmt: skip
    assert codes_on(out) == sorted(item.code for item in named)


def first_ink(pdf: Path, dpi: int) -> tuple[int, int]:
    """Return column and row of the first dark dot of a PDF's first page."""
    document = pypdfium2.PdfDocument(pdf)
    dark = np.asarray(document[0].render(scale=dpi / 72).to_pil().convert("L")) < 128
    document.close()
    return int(np.flatnonzero(dark.any(axis=0))[0]), int(np.flatnonzero(dark.any(axis=1))[0])


def test_a_size_of_the_shops_own_is_printed_at_its_resolution_moved_by_what_is_kept_of_it(tmp_path: Path) -> None:
    size = add_label_size("https://bench.lan", name="Drawer fronts", label_width=76.2, label_height=25.4, dpi=203)
    save_offset(size.key, 1.5, -0.5)
    save_offset("", 0.0, 1.0, printer="bench-roll")
    code, out = a_bin().code, tmp_path / "own.pdf"
    corners = {}
    for move, more in {
        ", moved 1.5 mm right, 0.5 mm up": (),
        ", moved 1 mm down": ("--printer", "bench-roll"),
        "": ("--offset", 0, 0),
    }.items():
        answer = run("sheet", out, code, "--media", size.key, "--dots", *more)
        assert (answer.exit_code, answer.output) == (0, f"1 label, each read back, in {out}{move}\n")
        assert codes_on(out) == [code]
        corners[move] = first_ink(out, 203)
    still = corners.pop("")
    assert [(x - still[0], y - still[1]) for x, y in corners.values()] == [(12, -4), (0, 8)]  # dots of 0.125 mm
    (page,) = pypdfium2.PdfDocument(out)
    assert page.get_size() == pytest.approx((216, 72), abs=0.2)


def test_copies_stand_beside_each_other_and_blank_labels_know_own_sizes_too(tmp_path: Path) -> None:
    size = add_label_size("https://bench.lan", name="Small sheet", label_width=50, label_height=30, columns=2, rows=3)
    save_offset(size.key, 0.5, 0.5)
    out = tmp_path / "blank.pdf"
    answer = run("blank", out, 2, "--media", size.key, "--copies", 2, "--start", 4)
    assert answer.output == f"4 labels, each read back, in {out}, moved 0.5 mm right, 0.5 mm down\n"
    blank = [bin_.code for bin_ in Bin.select().where(Bin.name.is_null())]
    assert len(blank) == 2
    assert codes_on(out) == sorted(blank * 2)
    assert len(pypdfium2.PdfDocument(out)) == 2


def test_it_prints_what_it_drew_on_a_queue(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    lp, out, code = put_on_path(tmp_path, monkeypatch), tmp_path / "one.pdf", a_bin().code
    monkeypatch.setenv("BENCHPROOF_PRINTERS", "bench-roll")
    answer = run("sheet", out, code, "--media", "62x29", "--printer", "bench-roll", "--print")
    assert answer.output.splitlines()[1:] == ["bench-roll has the labels (bench-roll-12)"]
    assert lp.given[:2] == ["-d", "bench-roll"]
    (tmp_path / "printed.pdf").write_bytes(lp.document)
    assert codes_on(tmp_path / "printed.pdf") == [code]


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        (("--print",), "Say where with --printer: bench-roll."),
        (("--print", "--printer", "attic"), "That printer is not here: choose one from the list"),
        (("--media", "own-77"), "No label size 'own-77'"),
        (("--media", "9x9"), "the label needs at least"),
        (("--start", 25), "Position 25 is not on the sheet: it has 24 labels, counted from 1."),
        (("--offset", 11, 0), "An offset of 11 and 0 mm is too much: at most 10 mm each way."),
        (("--copies", 80), "That makes 1040 labels"),
    ],
)
def test_what_cannot_be_printed_is_said_before_a_label_is_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, more: tuple[object, ...], sentence: str
) -> None:
    put_on_path(tmp_path, monkeypatch)
    monkeypatch.setenv("BENCHPROOF_PRINTERS", "bench-roll")
    answer = run("blank", tmp_path / "x.pdf", 13, *more)
    assert answer.exit_code == 1
    assert sentence in answer.output
    assert Bin.select().count() == 0
    assert not (tmp_path / "x.pdf").exists()


def test_it_lists_the_sizes_and_what_is_kept_of_them() -> None:
    size = add_label_size("https://bench.lan", name="Drawer fronts", label_width=76.2, label_height=25.4)
    save_offset(size.key, 1.5, -1.0, printer="bench-roll")
    save_offset("", 0.0, 1.0, printer="office-laser")
    lines = run("sizes").output.splitlines()
    assert lines[0].split(None, 1) == [size.key, "Drawer fronts"]
    assert f"{'roll-62x29':12} Roll, 62 x 29 mm" in lines
    assert lines[-2:] == [
        f"{size.key:12} moved 1.5 mm right, 1 mm up on bench-roll",
        f"{'whatever':12} moved 1 mm down on office-laser",
    ]


def test_bins_are_named_as_the_bench_calls_them_or_by_the_part_that_is_in_them(tmp_path: Path) -> None:
    part, out = a_part(number="HS-0412"), tmp_path / "named.pdf"
    named, first, other = a_bin(name="A-14"), a_bin(part, name="B-01"), a_bin(part, name="B-02")
    answer = run("sheet", out, "a-14", "hs-0412")
    assert (answer.exit_code, answer.output) == (0, f"3 labels, each read back, in {out}\n")
    assert codes_on(out) == sorted(each.code for each in (named, first, other))


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
    before = connection.database.obj
    assert run("sheet", tmp_path / "one.pdf", a_bin().code).exit_code == 0
    assert before is not connection.database.obj
    assert before.is_closed()
    assert connection.database.is_closed()


@pytest.mark.parametrize("ending", ["png", "svg"])
def test_one_label_is_a_picture(tmp_path: Path, ending: str) -> None:
    out = tmp_path / f"one.{ending}"
    assert run("sheet", out, a_bin().code, "--media", "62x29", "--dpi", 203).exit_code == 0
    assert out.read_bytes()[:4] in (b"\x89PNG", b"<svg", b"<?xm")


def test_blank_labels_are_bins_to_be_named_by_their_first_scan(tmp_path: Path) -> None:
    out = tmp_path / "blank.pdf"
    assert run("blank", out, 7).exit_code == 0
    blank = [bin_.code for bin_ in Bin.select().where(Bin.name.is_null())]
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
    data = json.loads(answer.stdout)
    barred = [symbol for symbol in data if symbol["bar"] is not None]
    assert len(barred) == 8
    assert all(symbol["ok"] for symbol in barred)
    assert answer.exit_code == 0
    assert "0.50 mm a module, 6.4 px/mm" in run("check", "--labels", 1).stdout


def test_the_report_says_short_and_exits_1_when_labels_do_not_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(label_damage, "read_symbols", lambda grey, formats: ([], grey))  # a reader that sees nothing
    answer = run("check", "--labels", 1)
    assert answer.exit_code == 1
    assert answer.stdout.count("short") == 8


def test_a_piece_is_named_as_the_bench_calls_it_and_a_job_by_its_number(tmp_path: Path) -> None:
    piece, job, out = a_piece("C-07"), a_job(number="J-7"), tmp_path / "two.pdf"
    assert run("sheet", out, "c-07", "J-7").exit_code == 0
    assert codes_on(out) == sorted((piece.code, job.code))
    a_piece("C-07")
    refused = run("sheet", tmp_path / "none.pdf", "C-07")
    assert refused.exit_code == 1
    assert "Several pieces are called C-07: give the code of the one you mean." in refused.output
