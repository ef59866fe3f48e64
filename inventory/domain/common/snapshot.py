"""One consistent view of the bench for several questions and acts of a page."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from inventory.store.connection import transaction
from inventory.store.ledger import ledger_transaction


@contextmanager
def snapshot(*, stock: bool = False) -> Iterator[None]:
    """Run the block as one transaction, joining an outer one: all that it does is kept, or nothing.

    *stock*: nobody else moves stock meanwhile, so what the block reads of it stays true until its end.
    """
    with ledger_transaction() if stock else transaction():
        yield
