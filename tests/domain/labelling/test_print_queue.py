"""Printing through CUPS: which queues there are, what lp is given, and what is said when it does not take it."""

from __future__ import annotations

from pathlib import Path

import pytest

from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.labelling import print_queue
from tests.fake_cups import HANGS, REFUSES, nothing_on_path, put_on_path

A4 = (210.0, 297.0)


@pytest.mark.parametrize(
    ("setting", "queues"),
    [
        ("", ()),
        (" , ", ()),
        ("office-laser", ("office-laser",)),
        ("office-laser, bench-roll,office-laser", ("office-laser", "bench-roll")),
        ("attic-plotter, bench-roll", ("bench-roll",)),
        ("all", ("bench-roll", "office-laser")),
        ("-o,../etc,a b", ()),
    ],
)
def test_it_offers_the_queues_that_are_named_and_known(
    setting: str, queues: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put_on_path(tmp_path, monkeypatch)
    assert print_queue.queues(setting) == queues


def test_it_offers_none_where_there_is_no_lp(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    nothing_on_path(tmp_path, monkeypatch)
    assert print_queue.queues("all") == ()
    assert print_queue.queues("bench-roll") == ()


def test_it_believes_the_setting_where_nobody_can_be_asked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    put_on_path(tmp_path, monkeypatch, queues="")
    assert print_queue.queues("all, bench-roll") == ("bench-roll",)


@pytest.mark.parametrize(
    ("page", "paper"), [(A4, "A4"), ((215.9, 279.4), "Letter"), ((62.0, 29.5), "Custom.62x29.5mm")]
)
def test_it_hands_lp_the_document_at_true_size(
    page: tuple[float, float], paper: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lp = put_on_path(tmp_path, monkeypatch)
    result = print_queue.submit_print("bench-roll", b"%PDF-1.4 of labels", title="Labels, 3", page_mm=page)
    assert (result.printer, result.request) == ("bench-roll", "bench-roll-12")
    assert lp.document == b"%PDF-1.4 of labels"
    options = ["-o", f"media={paper}", "-o", "print-scaling=none", "-o", "sides=one-sided"]
    assert lp.given == ["-d", "bench-roll", "-t", "Labels, 3", *options, "-"]


def test_what_looks_like_a_command_stays_a_word(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    lp = put_on_path(tmp_path, monkeypatch)
    title = f"; touch {tmp_path}/broken $(touch {tmp_path}/broken)"
    print_queue.submit_print("bench-roll", b"", title=title, page_mm=A4)
    assert lp.given[3] == title
    assert not (tmp_path / "broken").exists()


def test_it_says_why_lp_refuses(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    put_on_path(tmp_path, monkeypatch, does=REFUSES)
    with pytest.raises(Conflict) as refusal:
        print_queue.submit_print("bench-roll", b"", title="Labels", page_mm=A4)
    assert refusal.value.sentence == (
        "bench-roll did not take the labels: lp: The printer or class does not exist. "
        "Look at the printer, or open the PDF and print that."
    )


def test_it_waits_for_a_dead_spooler_no_longer_than_it_says(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    put_on_path(tmp_path, monkeypatch, does=HANGS)
    monkeypatch.setattr(print_queue, "SUBMIT_TIMEOUT", 0.2)
    with pytest.raises(Conflict, match=r"^bench-roll did not answer within 0\.2 seconds\. Look at the printer"):
        print_queue.submit_print("bench-roll", b"", title="Labels", page_mm=A4)


def test_it_says_so_when_lp_cannot_be_started(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    nothing_on_path(tmp_path, monkeypatch)
    with pytest.raises(Conflict, match=r"^lp could not be started"):
        print_queue.submit_print("bench-roll", b"", title="Labels", page_mm=A4)


def test_it_prints_on_no_queue_that_was_not_offered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    put_on_path(tmp_path, monkeypatch)
    print_queue.check_queue("bench-roll", "bench-roll")
    for wrong in ("office-laser", "", "-d", "bench-roll "):
        with pytest.raises(Invalid, match="That printer is not here"):
            print_queue.check_queue(wrong, "bench-roll")
