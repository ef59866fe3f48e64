"""Runs the benchproof command as a terminal would."""

from __future__ import annotations

from click.testing import CliRunner, Result

from inventory.cli import main


def run_command(*arguments: object, standard_input: str | None = None) -> Result:
    """Run ``benchproof`` with the arguments; return its exit code and output."""
    return CliRunner().invoke(main, [str(argument) for argument in arguments], input=standard_input)
