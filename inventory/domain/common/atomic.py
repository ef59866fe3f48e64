"""Several questions and acts of a page, all kept or none."""

from __future__ import annotations

from contextlib import AbstractContextManager

from inventory.store.connection import transaction
from inventory.store.ledger import ledger_transaction


def atomic(*, lock_stock: bool = False) -> AbstractContextManager[None]:
    """Run the block as one transaction, joining an outer one: all that it does is kept, or nothing.

    *lock_stock*: nobody else moves stock meanwhile, so what the block reads of it stays true until its end.
    """
    return ledger_transaction() if lock_stock else transaction()
