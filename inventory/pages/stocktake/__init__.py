"""Pages of count walks, levels and stock lists."""
