"""Tests read as specifications of the trade, on a real database through the real app."""

from pathlib import Path

ROOT = Path(__file__).parent.parent
DATA = ROOT / "tests" / "data"
ORACLES = DATA / "oracles"
