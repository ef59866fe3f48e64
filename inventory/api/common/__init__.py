"""The shop's settings and default figures over REST."""
