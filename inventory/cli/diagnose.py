"""`benchproof diagnose`: works out a case from a file as a what-if. Opens no database and changes nothing."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

import click

from inventory.cli.common import BadInputFile
from inventory.domain.common.errors import DomainError
from inventory.lab.case_file import FileStep, WhatIf, what_if
from inventory.reckoning.diagnosis.next_step import LOOKED_AHEAD

MAX_CASE_BYTES = 2_000_000  # bytes; a case file of more is something else


@click.command("diagnose")
@click.argument("case", metavar="CASE.json", type=click.Path(path_type=Path, allow_dash=True))
@click.option("--advice", is_flag=True, help='Say the next step too; the case needs an "advice" entry.')
@click.option("--one-step", is_flag=True, help="Advise by one step of lookahead only, as the worked examples do.")
@click.option("--json", "as_json", is_flag=True, help="Answer in JSON.")
def diagnose(case: Path, advice: bool, one_step: bool, as_json: bool) -> None:
    """Work out a case from a file (or - for standard input) as a what-if, touching no data."""
    text = _read_case(case)
    try:
        with click.progressbar(
            what_if(text, advice=advice, looked_ahead=0 if one_step else LOOKED_AHEAD),
            label="Cases",
            file=sys.stderr,
            hidden=_is_quiet(),
        ) as cases:
            results = list(cases)
    except DomainError as refused:
        raise BadInputFile(refused.sentence) from None
    if as_json:
        click.echo(json.dumps([asdict(result) for result in results], ensure_ascii=False, indent=2))
        return
    click.echo("\n\n".join("\n".join(_report_lines(result)) for result in results))


def _is_quiet() -> bool:
    return not sys.stderr.isatty()


def _read_case(path: Path) -> str:
    try:
        with click.open_file(str(path), "rb") as file:
            read = file.read(MAX_CASE_BYTES + 1)
        if len(read) > MAX_CASE_BYTES:
            raise BadInputFile("The file is too large to be a case: give a smaller one.")
        return str(read.decode())
    except OSError as error:
        raise BadInputFile(f"{path} cannot be read: {error.strerror}.") from None
    except UnicodeDecodeError:
        raise BadInputFile(f"{path} is no text in UTF-8.") from None


def _report_lines(result: WhatIf) -> Iterator[str]:
    yield result.name
    width = max(len(name) for name in result.p_bad)
    for name, share in sorted(result.p_bad.items(), key=lambda pair: -pair[1]):
        yield f"  {name:<{width}}  {share:8.4%} bad{_fitted_in_text(result, name)}"
    if result.fault_sets:
        yield "  most likely bad, of what is fitted now:"
        for names, share in result.fault_sets[:4]:
            yield f"    {share:8.4%}  {' + '.join(names) or 'nothing'}"
    if result.p_evidence is not None:
        yield f"  chance of this whole log beforehand: {result.p_evidence:.6g}"
    for step in result.repeats:
        yield f"  step {step} repeats the run before and counts once"
    yield from _step_lines(result.steps)


def _fitted_in_text(result: WhatIf, name: str) -> str:
    place = next((place for place, thing in result.fitted.items() if thing == name and place != name), "")
    return f"  (fitted in place of {place})" if place else ""


def _step_lines(steps: tuple[FileStep, ...]) -> Iterator[str]:
    if not steps:
        return
    yield "  next step: cost now + expected afterwards = total, and the chance that it ends the job"
    width = max(len(f"{step.action} {step.node}") for step in steps)
    for step in steps:
        words = f"{step.action} {step.node}".strip()
        money = f"{step.cost_now:9.2f} + {step.cost_after:9.2f} = {step.total:9.2f}"
        yield f"    {words:<{width}}  {money}  {step.p_ends:8.4%}"
