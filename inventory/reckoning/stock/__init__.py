"""Shelf life, counting, lot costs and substitutes."""
