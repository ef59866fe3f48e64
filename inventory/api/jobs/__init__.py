"""Jobs, needs, suspects, people and tokens over REST."""
