"""`benchproof labels`: sheets of labels without a browser, blank ones, and how well labels read."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from inventory.cli_ground import Trouble, open_bench, plain_errors
from inventory.stock.choosing import things_named
from inventory.stock.labelling import blank_labels, labelled
from labels import draw
from labels.errors import LabelError
from labels.face import LabelFace
from labels.media import MEDIA, Media, find_media

_MEDIA = click.option(
    "--media", default="a4-3x8", show_default=True, help=f"{', '.join(MEDIA)}, or a roll such as 62x29 (mm)."
)
_DPI = click.option("--dpi", type=click.IntRange(150, 1200), default=300, show_default=True, help="Of the printer.")
_START = click.option(
    "--start", type=click.IntRange(1), default=1, show_default=True, help="First free place of a half-used sheet."
)
_OFFSET = click.option(
    "--offset", type=(float, float), default=(0.0, 0.0), help="Millimetres right and down that correct the printer."
)
_DOTS = click.option("--dots", is_flag=True, help="As the printer's own dots instead of shapes.")
_OUT = click.argument("out", type=click.Path(path_type=Path, dir_okay=False))


@click.group("labels")
def labels() -> None:
    """Draw labels, and see how well they read."""


@labels.command("sheet")
@_OUT
@click.argument("names", nargs=-1, required=True)
@_MEDIA
@_DPI
@_START
@_OFFSET
@_DOTS
@plain_errors
def labels_sheet(out: Path, names: Sequence[str], **how: Any) -> None:
    """Draw labels into OUT (.pdf; one: .png or .svg too).

    NAMES are codes of bins, lots, pieces and jobs, names of bins, or numbers of parts (for the bins they are in).
    """
    settings = open_bench()
    wanted = labelled([one for name in names for one in things_named(name)], settings.label_url)
    _write(out, [one.face for one in wanted], **how)


@labels.command("blank")
@_OUT
@click.argument("number", type=click.IntRange(1, 500))
@_MEDIA
@_DPI
@_START
@_OFFSET
@_DOTS
@plain_errors
def labels_blank(out: Path, number: int, **how: Any) -> None:
    """Make NUMBER bin labels before there are bins, and draw them into OUT (.pdf).

    Stick them, scan one, and say what goes in.
    """
    settings = open_bench()
    _drawn(lambda: find_media(how["media"]))  # a wrong size is said before any label is made
    _check_file(out, number)
    wanted = labelled(blank_labels(number), settings.label_url)
    _write(out, [one.face for one in wanted], **how)


@labels.command("check")
@click.option("--labels", "count", type=click.IntRange(1, 500), default=20, show_default=True, help="A series.")
@click.option("--seed", type=int, default=1, show_default=True, help="Of the chance in the photographs.")
@click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
@plain_errors
def labels_check(count: int, seed: int, as_json: bool) -> None:
    """Photograph labels as a phone would (synthetically), read them, and hold the share read against the bars.

    Size, turn, tilt, contrast, blur, noise and soiling. Exit status 1 if a bar is not met.
    """
    from labels import robustness

    found = []
    for one in robustness.series(count, seed):
        found.append(one)
        click.echo(f"\r{len(found)} series, {sum(each.tried for each in found)} photographs ...", err=True, nl=False)
    click.echo("", err=True)
    if as_json:
        click.echo(json.dumps([{**asdict(one), "rate": one.rate, "ok": one.is_ok} for one in found], indent=1))
    else:
        click.echo(robustness.report(found))
    sys.exit(0 if all(one.is_ok for one in found) else 1)


def _write(
    out: Path,
    faces: Sequence[LabelFace],
    *,
    media: str,
    dpi: int,
    start: int,
    offset: tuple[float, float],
    dots: bool,
) -> None:
    _check_file(out, len(faces))
    on: Media = _drawn(lambda: find_media(media))
    ways: dict[str, Callable[[], bytes | str]] = {
        ".pdf": lambda: draw.draw_pdf(faces, on, start, dpi, offset_mm=offset, as_dots=dots),
        ".png": lambda: draw.draw_png(faces[0], on, dpi),
        ".svg": lambda: draw.draw_svg(faces[0], on, dpi),
    }
    made = _drawn(ways[out.suffix.lower()])
    try:
        out.write_bytes(made.encode() if isinstance(made, str) else made)
    except OSError as bad:
        raise Trouble(f"{out} cannot be written ({bad.strerror}): choose another place.") from None
    click.echo(f"{len(faces)} {'label' if len(faces) == 1 else 'labels'}, each read back, in {out}")


def _check_file(out: Path, number: int) -> None:
    ending = out.suffix.lower()
    if ending not in (".pdf", ".png", ".svg"):
        raise Trouble(f"{out.name} must end in .pdf, .png or .svg.")
    if ending != ".pdf" and number > 1:
        raise Trouble(f"{ending[1:].upper()} holds one label: name a .pdf for {number}.")
    if not out.absolute().parent.is_dir():
        raise Trouble(f"There is no folder {out.parent}: make it first, or choose another place.")


def _drawn(draws: Callable[[], Any]) -> Any:
    """Draw; say as a sentence why it cannot be done."""
    try:
        return draws()
    except LabelError as bad:
        raise Trouble(str(bad)) from None
