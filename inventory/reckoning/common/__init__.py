"""Checks of values, odds, and default figures that several parts of the reckoning share."""
