"""Persistence: tables, the database connection, the append-only ledger, schema migrations."""
