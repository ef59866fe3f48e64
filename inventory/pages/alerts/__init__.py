"""Pages of today, alerts and backups."""
