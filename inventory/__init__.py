"""Benchproof: the stock and proved-spares service of an electronics repair bench."""
