"""Pages of the shop's settings, and the way to all others."""
