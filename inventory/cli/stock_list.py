"""`benchproof stock-list`: the bench's stock comes in from a spreadsheet's file, and goes out to one."""

from __future__ import annotations

from pathlib import Path

import click

from inventory.cli.common import CommandError, open_database, show_errors_as_sentences
from inventory.domain.stocktake import stock_list_import as domain
from inventory.domain.stocktake.stock_list_export import stock_list_csv
from inventory.domain.stocktake.stock_list_records import PreviewedStockList, StockListTotals
from inventory.domain.stocktake.stock_list_table import decode_file


@click.group("stock-list")
def stock_list() -> None:
    """The whole stock as a list for a spreadsheet: in, and out."""


@stock_list.command("in")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--look", is_flag=True, help="Only say what it would do. Nothing is written.")
@click.option("--leave-out", metavar="HEADING", multiple=True, help="A heading that is not known and left out.")
@click.option("--on-top", is_flag=True, help="Let stock come on top of what is in its bin already.")
@show_errors_as_sentences
def import_stock_list(file: Path, look: bool, leave_out: tuple[str, ...], on_top: bool) -> None:
    """Take in the list in FILE (CSV): one row is one part in one bin. All of it, or nothing.

    Exit status 1 if anything is wrong with it.
    """
    settings = open_database()
    text = decode_file(_read_file(file))
    preview = domain.preview_stock_list(text, settings.currency)
    _print_report(preview, look)
    if preview.wrong:
        raise click.exceptions.Exit(1)
    if not look:
        imported = domain.import_stock_list(text, settings.currency, leave_out=leave_out, on_top=on_top)
        click.echo(f"Taken in as list {imported.id}: {_totals_text(imported.totals)}")


def _read_file(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise CommandError(f"{file} cannot be read: {error.strerror}.") from None


def _print_report(preview: PreviewedStockList, everything: bool) -> None:
    for fault in preview.wrong:
        click.echo(f"WRONG  {fault}")
    for row in preview.minded if everything or preview.wrong else ():
        for warning in row.mind:
            click.echo(f"MIND   Row {row.row}: {warning}")
    for heading in preview.not_known if everything else ():
        click.echo(f"MIND   Not known here: {heading} (--leave-out leaves it out)")
    if everything or preview.wrong:
        click.echo(f"It would add {_totals_text(preview.totals)}")


def _totals_text(t: StockListTotals) -> str:
    return (
        f"{t.new_parts} parts, {t.new_bins} bins, {t.new_suppliers} suppliers, {t.new_offers} offers, {t.lots} lots "
        f"({t.pieces} pieces with their own label); {t.known_parts} parts and {t.known_bins} bins are known."
    )


@stock_list.command("out")
@click.argument("file", required=False, type=click.Path(path_type=Path, dir_okay=False))
@show_errors_as_sentences
def export_stock_list(file: Path | None) -> None:
    """Write the whole stock as a list (CSV) to FILE, or to standard output."""
    settings = open_database()
    text = stock_list_csv(settings.currency)
    if file is None:
        click.echo(text.encode(), nl=False)
        return
    try:
        file.write_bytes(text.encode())
    except OSError as error:
        raise CommandError(f"{file} cannot be written: {error.strerror}.") from None
    click.echo(f"{file}: {max(0, text.count(chr(10)) - 1)} lines")
