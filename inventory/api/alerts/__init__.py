"""Today, alerts and backups over REST."""
