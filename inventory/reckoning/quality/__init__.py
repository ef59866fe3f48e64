"""How many of a lot to test, and what the results say."""
