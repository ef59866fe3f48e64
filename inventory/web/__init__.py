"""What the API and the pages share: access, errors, idempotency, schemas and their fields."""
