"""Count walks, levels and stock lists over REST."""
