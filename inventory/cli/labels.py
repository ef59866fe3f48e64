"""`benchproof labels`: sheets of labels without a browser, blank ones, and how well labels read."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from inventory.cli.common import CommandError, open_database, show_errors_as_sentences
from inventory.domain.catalogue.resolve import resolve_things
from inventory.domain.labelling import print_queue
from inventory.domain.labelling.label_sheet import MAX_COPIES, LabelSheet, blank_sheet, label_sheet
from inventory.domain.labelling.label_sizes import DEFAULT_DPI, DEFAULT_MEDIA, size_choices
from inventory.domain.labelling.print_offsets import offset_text, offsets
from inventory.settings import Settings

_OUT_ARGUMENT = click.argument("out", type=click.Path(path_type=Path, dir_okay=False))
_SUFFIXES = (".pdf", ".png", ".svg")
_PRINT_OPTIONS = (
    click.option(
        "--media", default=DEFAULT_MEDIA, show_default=True,
        help="A size by its key, of the shop's own too (`benchproof labels sizes`), or a roll such as 62x29 (mm).",
    ),
    click.option(
        "--start", type=click.IntRange(1), default=1, show_default=True, help="First free place of a half-used sheet."
    ),
    click.option(
        "--copies", type=click.IntRange(1, MAX_COPIES), default=1, show_default=True, help="Of each label."
    ),
    click.option(
        "--dpi", type=click.IntRange(150, 1200),
        help=f"Of the printer. Left out: as kept with the size, else {DEFAULT_DPI}.",
    ),
    click.option(
        "--printer", default="", metavar="QUEUE", help="Printed on which: what is kept of it moves the print."
    ),
    click.option(
        "--offset", type=(float, float), metavar="RIGHT DOWN",
        help="Millimetres that correct the printer. Left out: as kept of the size and the printer.",
    ),
    click.option("--dots", is_flag=True, help="As the printer's own dots instead of shapes."),
    click.option("--print", "prints", is_flag=True, help="Send it to the --printer, a CUPS queue, as well."),
)  # fmt: skip


def _print_options(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command the options that say how labels are drawn and printed."""
    for option in reversed(_PRINT_OPTIONS):
        command = option(command)
    return command


@click.group("labels")
def labels() -> None:
    """Draw labels, and see how well they read."""


@labels.command("sheet")
@_OUT_ARGUMENT
@click.argument("names", nargs=-1, required=True)
@_print_options
@show_errors_as_sentences
def labels_sheet(out: Path, names: Sequence[str], dots: bool, prints: bool, **how: Any) -> None:
    """Draw labels into OUT (.pdf; one: .png or .svg too).

    NAMES are codes of bins, lots, pieces and jobs, names of bins and pieces, numbers of jobs, or of parts (for the
    bins they are in).
    """
    settings = open_database()
    _check_queue(prints, how["printer"], settings)
    things = [thing for name in names for thing in resolve_things(name)]
    sheet = label_sheet(things, settings.label_url, **how)
    _check_file(out, len(sheet.faces))
    _write_sheet(sheet, out, dots)
    if prints:
        _print_sheet(sheet, how["printer"], settings)


@labels.command("blank")
@_OUT_ARGUMENT
@click.argument("number", type=click.IntRange(1, 500))
@_print_options
@show_errors_as_sentences
def labels_blank(out: Path, number: int, dots: bool, prints: bool, **how: Any) -> None:
    """Make NUMBER bin labels before there are bins, and draw them into OUT (.pdf).

    Stick them, scan one, and say what goes in.
    """
    settings = open_database()
    _check_queue(prints, how["printer"], settings)
    _check_file(out, number * how["copies"])
    sheet = blank_sheet(number, settings.label_url, **how)
    _write_sheet(sheet, out, dots)
    if prints:
        _print_sheet(sheet, how["printer"], settings)


@labels.command("sizes")
@show_errors_as_sentences
def labels_sizes() -> None:
    """List the sheets and rolls to print on, each with its key, and how far off print is kept to be."""
    open_database()
    for key, name in size_choices():
        click.echo(f"{key:12} {name}")
    for offset in offsets(limit=200).items:
        printer = f" on {offset.printer}" if offset.printer else ""
        click.echo(
            f"{offset.size or 'whatever':12} moved "
            f"{offset_text((offset.right, offset.down)) or 'by nothing'}{printer}"
        )


@labels.command("check")
@click.option("--labels", "count", type=click.IntRange(1, 500), default=20, show_default=True, help="A series.")
@click.option("--seed", type=int, default=1, show_default=True, help="Of the chance in the photographs.")
@click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
@show_errors_as_sentences
def labels_read_test(count: int, seed: int, as_json: bool) -> None:
    """Photograph labels as a phone would (synthetically), read them, and hold the share read against the bars.

    Size, turn, tilt, contrast, blur, noise and soiling. Exit status 1 if a bar is not met.
    """
    from inventory.lab import label_damage

    results = []
    for measured in label_damage.measure_series(count, seed):
        results.append(measured)
        click.echo(
            f"\r{len(results)} series, {sum(result.tried for result in results)} photographs ...", err=True, nl=False
        )
    click.echo("", err=True)
    if as_json:
        click.echo(
            json.dumps([{**asdict(result), "rate": result.rate, "ok": result.is_ok} for result in results], indent=1)
        )
    else:
        click.echo(label_damage.format_report(results))
    sys.exit(0 if all(result.is_ok for result in results) else 1)


# ---- a sheet, a file, a queue ------------------------------------------------------------------------------


def _write_sheet(sheet: LabelSheet, out: Path, as_dots: bool) -> None:
    ways: dict[str, Callable[[], bytes]] = {
        ".pdf": lambda: sheet.pdf(as_dots=as_dots),
        ".png": lambda: sheet.png(1),
        ".svg": lambda: sheet.svg(1).encode(),
    }
    data = ways[out.suffix.lower()]()
    try:
        out.write_bytes(data)
    except OSError as bad:
        raise _cannot_write(out, bad.strerror or "") from None
    by = offset_text(sheet.offset) if out.suffix.lower() == ".pdf" else ""
    click.echo(f"{_label_count_text(len(sheet.faces))}, each read back, in {out}{f', moved {by}' if by else ''}")


def _print_sheet(sheet: LabelSheet, printer: str, settings: Settings) -> None:
    done = sheet.print_on(printer, settings.printers)
    click.echo(f"{done.printer} has the labels{f' ({done.request})' if done.request else ''}")


def _check_queue(prints: bool, printer: str, settings: Settings) -> None:
    """Refuse to print nowhere, before anything is made."""
    if not prints:
        return
    if not printer:
        known = ", ".join(print_queue.queues(settings.printers)) or "none is set up here, see BENCHPROOF_PRINTERS"
        raise CommandError(f"Say where with --printer: {known}.")
    print_queue.check_queue(printer, settings.printers)


def _check_file(out: Path, number: int) -> None:
    """Refuse a file that cannot be written, before anything is made."""
    ending = out.suffix.lower()
    if ending not in _SUFFIXES:
        raise CommandError(f"{out.name} must end in .pdf, .png or .svg.")
    if ending != ".pdf" and number > 1:
        raise CommandError(f"{ending[1:].upper()} holds one label: name a .pdf for {number}.")
    if not out.absolute().parent.is_dir():
        raise CommandError(f"There is no folder {out.parent}: make it first, or choose another place.")
    if not os.access(out if out.exists() else out.absolute().parent, os.W_OK):
        raise _cannot_write(out, "not allowed")


def _cannot_write(out: Path, why: str) -> CommandError:
    return CommandError(f"{out} cannot be written ({why}): choose another place.")


def _label_count_text(number: int) -> str:
    return f"{number} {'label' if number == 1 else 'labels'}"
