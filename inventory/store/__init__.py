"""What is remembered: tables, the database binding, the append-only ledger, numbered steps of the schema."""
