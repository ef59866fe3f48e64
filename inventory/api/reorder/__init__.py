"""What to order, forecasts and dates over REST."""
