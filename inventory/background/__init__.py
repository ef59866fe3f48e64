"""Threads that work while the service runs: sending alerts, nightly backups."""
