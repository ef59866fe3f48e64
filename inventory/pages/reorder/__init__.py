"""Pages of what to order, forecasts and dates."""
