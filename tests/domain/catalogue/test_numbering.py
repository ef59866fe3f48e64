"""A new part's number goes on from those of its kind, as the bench writes them, and is always free."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.domain.catalogue.numbering import next_number
from inventory.domain.common.errors import Refused
from inventory.domain.common.validation import KINDS
from inventory.store.connection import database
from tests.factories import a_part

pytestmark = pytest.mark.usefixtures("bench")


def test_the_first_of_a_kind_has_a_letter_and_a_thousand() -> None:
    assert next_number("connector") == "C-1001"
    assert len({next_number(kind) for kind in KINDS}) == len(KINDS)


def test_it_goes_on_as_the_bench_writes_them() -> None:
    for number, following in (("CN-104", "CN-105"), ("HDR 0099", "HDR 0100"), ("7", "8"), ("A9", "A10")):
        a_part(number=number)
        assert next_number("connector") == following
    assert next_number("fan") == "F-1001"


def test_a_number_that_counts_nothing_is_passed_over_and_a_taken_one_too() -> None:
    a_part(number="CN-104")
    a_part(number="the odd one")
    a_part(number="x" * 59 + "9")
    a_part(number="cn-105", kind="fan")
    assert next_number("connector") == "CN-106"
    a_part(number="H-1001", kind="other")
    assert next_number("hardware") == "H-1002"


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.text(min_size=1, max_size=12), max_size=8), st.sampled_from(KINDS))
def test_what_it_suggests_is_always_free(numbers: list[str], kind: str) -> None:
    with database.atomic() as everything:
        for number in numbers:
            try:
                with database.atomic():
                    a_part(number=number, kind=kind)
            except Refused:
                continue
        for _ in range(3):
            a_part(number=next_number(kind), kind=kind)
        everything.rollback()
