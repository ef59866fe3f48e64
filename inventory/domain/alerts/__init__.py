"""Today, alerts and the messages about them; backups and their restore."""
