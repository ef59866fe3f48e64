"""What several files of these tests use."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from inventory.domain.common import clock
from tests.reorder_factories import TODAY


@pytest.fixture
def made_up_day() -> Iterator[None]:
    """Let the whole test happen on the one day of tests.making_reorder."""
    with clock.set_to(TODAY):
        yield
