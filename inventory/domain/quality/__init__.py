"""Incoming checks, holds and recalls, where stock came from and went, what goes back to suppliers."""
