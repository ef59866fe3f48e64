"""What every test of a command may use."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture
def own_bench(bench: None, database_url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The commands look at this test's bench."""
    monkeypatch.setenv("BENCHPROOF_DATABASE_URL", database_url)
    monkeypatch.setenv("DATA_DIR", str(tmp_path))
