"""Draws labels: symbol, face, media, sheet, proofread. Knows nothing of the database."""
