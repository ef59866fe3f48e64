"""Pages of money and customer notices."""
