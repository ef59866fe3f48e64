"""Shapes, pictures and text in whole printer dots."""
