"""Suppliers, orders and bag codes over REST."""
