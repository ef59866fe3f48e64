"""Pages of pieces, spares and procedures."""
