"""`benchproof backtest`: would the promise have held? On a file of month totals, or on the shop's own history."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from inventory.cli.common import BadInputFile, open_database, show_errors_as_sentences
from inventory.domain.common.errors import DomainError
from inventory.lab.shop_backtest import (
    USUAL_HORIZON,
    USUAL_STEP,
    USUAL_TARGETS,
    Rules,
    Tried,
    backtest_file,
    backtest_own,
)

COMPARED_SHARE = 0.95  # the share at which the stock of methods is compared


def _parse_targets(_context: click.Context, _option: click.Parameter, text: str) -> tuple[float, ...]:
    """Read targets as typed: "90, 95" or ".9,.95"."""
    try:
        shares = tuple(share / 100 if share > 1 else share for share in map(float, text.split(",")))
    except ValueError:
        raise click.BadParameter("write shares such as 0.90,0.95,0.98.") from None
    if not shares or not all(0 < share < 1 for share in shares):
        raise click.BadParameter("a target lies between 0 and 1, both left out: nothing holds for certain.")
    return tuple(sorted(set(shares)))


@click.command("backtest")
@click.argument("file", required=False)
@click.option("--own", is_flag=True, help="Try it on the shop's own history instead of a file.")
@click.option(
    "--targets",
    default=",".join(map(str, USUAL_TARGETS)),
    show_default=True,
    callback=_parse_targets,
    help="Promised shares, with commas between.",
)
@click.option(
    "--horizon",
    type=click.IntRange(1, 60),
    default=USUAL_HORIZON,
    show_default=True,
    help="Months that a level has to last.",
)
@click.option(
    "--first", type=click.IntRange(1, 1200), help="Months known at the first origin (left out: 24, less if short)."
)
@click.option(
    "--step", type=click.IntRange(1, 120), default=USUAL_STEP, show_default=True, help="Months between origins."
)
@click.option(
    "--picture", type=click.Path(path_type=Path, dir_okay=False), help="Draw the outcome to this .svg or .png file."
)
@click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
@show_errors_as_sentences
def backtest(
    file: str | None, own: bool, targets: tuple[float, ...], horizon: int, first: int | None, step: int,
    picture: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Try the reorder advice on the past, beside four textbook methods.

    FILE is a month matrix in CSV (also gzipped): a heading (part, then one column a month, oldest first), then one
    line a part with the pieces used. At each origin only the months before it are known; levels are then held
    against the demand of the months after it.
    """
    if own == (file is not None):
        raise click.ClickException("Name a file of month totals, or say --own for the shop's own history.")
    _check_picture_path(picture)
    rules = Rules(targets, horizon, first, step)
    tried = _with_progress(lambda progress: _run_backtest(file, rules, progress))
    if picture is not None:
        _write_picture(tried, picture)
    click.echo(
        json.dumps(_as_dict(tried), ensure_ascii=False, indent=2) if as_json else "\n".join(_table_lines(tried))
    )


def _run_backtest(file: str | None, rules: Rules, progress: Callable[[int, int], None]) -> Tried:
    if file is not None:
        try:
            return backtest_file(file, rules, progress)
        except DomainError as refused:
            raise BadInputFile(refused.sentence) from None
    open_database()
    return backtest_own(rules, progress)


def _with_progress(work: Callable[[Callable[[int, int], None]], Tried]) -> Tried:
    """Show on standard error how far it is, so that standard output holds the answer alone."""
    bar: Any = click.progressbar(length=1, label="Trying", file=sys.stderr, show_eta=True)
    with bar:

        def progress(done: int, total: int) -> None:
            bar.length = total
            bar.update(done - bar.pos)

        return work(progress)


# ---- how it is said --------------------------------------------------------------------------------------


def _as_dict(tried: Tried) -> dict[str, Any]:
    return {
        "source": tried.source,
        "parts": tried.parts,
        "months": tried.months,
        "horizon": tried.rules.horizon,
        "targets": list(tried.rules.targets),
        "origins": [asdict(origin) for origin in tried.outcome.origins],
        "scores": [asdict(score) for score in tried.scores],
        "mean_level_for": {
            "share": COMPARED_SHARE,
            "methods": {method: tried.level_for(method, COMPARED_SHARE) for method in tried.methods},
        },
    }


def _table_lines(tried: Tried) -> Iterator[str]:
    origins = tried.outcome.origins
    yield f"{tried.source}: {tried.parts:,} parts, {tried.months} months"
    yield (
        f"{len(origins)} origins after {origins[0].months} to {origins[-1].months} months, each scored on the "
        f"{tried.rules.horizon} months after it: {tried.scores[0].cases:,} cases"
    )
    yield ""
    yield f"{'method':38} {'promised':>9} {'achieved':>9} {'stated':>9} {'mean stock':>11} {'sum of levels':>14}"
    for score in tried.scores:
        yield (
            f"{_method_label(score.method):38} {score.target:9.3f} {score.achieved:9.4f} {score.stated:9.4f} "
            f"{score.mean_level:11.4f} "
            f"{score.levels_sum:14,}"
        )
    yield ""
    yield f"Mean stock with which each achieves {COMPARED_SHARE:.0%}:"
    for method in tried.methods:
        level = tried.level_for(method, COMPARED_SHARE)
        yield f"{_method_label(method):38} {'not within what was tried' if level is None else f'{level:9.2f}'}"


def _method_label(method: str) -> str:
    return "ours" if method == "this" else method


# ---- the picture -----------------------------------------------------------------------------------------


def _check_picture_path(path: Path | None) -> None:
    """Refuse before the work what could not be written after it."""
    if path is None:
        return
    if path.suffix.lower() not in (".svg", ".png"):
        raise click.ClickException(f"{path.name} should end in .svg or .png: name the picture so.")
    if not path.parent.is_dir():
        raise click.ClickException(f"There is no folder {path.parent}: make it first, or choose another.")


def _write_picture(tried: Tried, path: Path) -> None:
    from inventory.lab.backtest_picture import backtest_picture
    from inventory.lab.plotting import WRITERS

    try:
        path.write_bytes(WRITERS[path.suffix.lower()](backtest_picture(tried)))
    except OSError as error:
        raise click.ClickException(f"{path} cannot be written: {error.strerror}.") from None
    click.echo(f"The picture is in {path}.", err=True)
