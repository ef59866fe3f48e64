"""Suppliers, offers, orders and their lead times; reading the codes on suppliers' bags."""
