"""What every room shares: clock, errors, validation, records, paging, code look-up, idempotency, the shop."""
