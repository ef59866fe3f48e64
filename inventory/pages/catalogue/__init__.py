"""Pages of parts, bins, lots, unit models, search and photos of codes."""
