"""A stand-in for CUPS's `lp` and `lpstat`: real programs on the PATH that note down what they were given."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

TAKES = 'echo "request id is $2-12 (1 file(s))"'
REFUSES = 'echo "lp: The printer or class does not exist." >&2; exit 1'
HANGS = "exec sleep 20"


@dataclass(frozen=True)
class FakeLp:
    """What the stand-in noted down."""

    folder: Path

    @property
    def times(self) -> int:
        """How often it was started."""
        log = self.folder / "log"
        return len(log.read_text().splitlines()) if log.exists() else 0

    @property
    def given(self) -> list[str]:
        """The arguments of its last start."""
        return (self.folder / "given").read_text().splitlines()

    @property
    def document(self) -> bytes:
        """What its last start read from its standard input."""
        return (self.folder / "document").read_bytes()


def put_on_path(
    folder: Path, monkeypatch: pytest.MonkeyPatch, *, does: str = TAKES, queues: str = "bench-roll office-laser"
) -> FakeLp:
    """Put `lp`, which *does* so, and an `lpstat` that lists *queues* first on the PATH. Nothing else is CUPS's."""
    note = f'cat > "{folder}/document"\necho one >> "{folder}/log"\nprintf "%s\\n" "$@" > "{folder}/given"\n'
    _program(folder / "lp", note + does)
    _program(folder / "lpstat", f'[ "$1" = -e ] && printf "%s\\n" {queues}' if queues else "exit 1")
    monkeypatch.setenv("PATH", os.pathsep.join((str(folder), os.environ["PATH"])))
    return FakeLp(folder)


def nothing_on_path(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave a computer on which there is no program at all."""
    monkeypatch.setenv("PATH", str(folder))


def _program(path: Path, script: str) -> None:
    assert sys.platform != "win32", "CUPS is not there on Windows, nor is sh."
    path.write_text(f"#!/bin/sh\n{script}\n")
    path.chmod(0o755)
