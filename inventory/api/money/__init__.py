"""Money and customer notices over REST."""
