"""Evidence, diagnosis and spares over REST."""
