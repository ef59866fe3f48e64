"""What to order, how many and why: use, stock levels, forecasts and their scores, dates."""
