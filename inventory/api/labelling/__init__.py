"""Labels over REST."""
