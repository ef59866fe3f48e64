"""Demand, lead times, stock levels and order quantities."""
