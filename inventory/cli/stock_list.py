"""`benchproof stock-list`: the bench's stock comes in from a spreadsheet's file, and goes out to one."""

from __future__ import annotations

from pathlib import Path

import click

from inventory.cli.common import Trouble, open_bench, plain_errors
from inventory.domain.stocktake import stock_list_import as stock
from inventory.domain.stocktake.stock_list_export import stock_list_csv
from inventory.domain.stocktake.stock_list_records import LookedAt, Totals
from inventory.domain.stocktake.stock_list_table import text_of


@click.group("stock-list")
def stock_list() -> None:
    """The whole stock as a list for a spreadsheet: in, and out."""


@stock_list.command("in")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--look", is_flag=True, help="Only say what it would do. Nothing is written.")
@click.option("--leave-out", metavar="HEADING", multiple=True, help="A heading that is not known and left out.")
@click.option("--on-top", is_flag=True, help="Let stock come on top of what is in its bin already.")
@plain_errors
def stock_list_in(file: Path, look: bool, leave_out: tuple[str, ...], on_top: bool) -> None:
    """Take in the list in FILE (CSV): one row is one part in one bin. All of it, or nothing.

    Exit status 1 if anything is wrong with it.
    """
    settings = open_bench()
    text = text_of(_bytes(file))
    looked = stock.look(text, settings.currency)
    _say(looked, look)
    if looked.wrong:
        raise click.exceptions.Exit(1)
    if not look:
        taken = stock.take_in(text, settings.currency, leave_out=leave_out, on_top=on_top)
        click.echo(f"Taken in as list {taken.id}: {_counted(taken.totals)}")


def _bytes(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise Trouble(f"{file} cannot be read: {error.strerror}.") from None


def _say(looked: LookedAt, everything: bool) -> None:
    for fault in looked.wrong:
        click.echo(f"WRONG  {fault}")
    for one in looked.minded if everything or looked.wrong else ():
        for said in one.mind:
            click.echo(f"MIND   Row {one.row}: {said}")
    for heading in looked.not_known if everything else ():
        click.echo(f"MIND   Not known here: {heading} (--leave-out leaves it out)")
    if everything or looked.wrong:
        click.echo(f"It would add {_counted(looked.totals)}")


def _counted(t: Totals) -> str:
    return (
        f"{t.new_parts} parts, {t.new_bins} bins, {t.new_suppliers} suppliers, {t.new_offers} offers, {t.lots} lots "
        f"({t.pieces} pieces with their own label); {t.known_parts} parts and {t.known_bins} bins are known."
    )


@stock_list.command("out")
@click.argument("file", required=False, type=click.Path(path_type=Path, dir_okay=False))
@plain_errors
def stock_list_out(file: Path | None) -> None:
    """Write the whole stock as a list (CSV) to FILE, or to standard output."""
    settings = open_bench()
    text = stock_list_csv(settings.currency)
    if file is None:
        click.echo(text.encode(), nl=False)
        return
    try:
        file.write_bytes(text.encode())
    except OSError as error:
        raise Trouble(f"{file} cannot be written: {error.strerror}.") from None
    click.echo(f"{file}: {max(0, text.count(chr(10)) - 1)} lines")
