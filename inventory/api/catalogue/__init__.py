"""Parts, bins, lots and search over REST."""
