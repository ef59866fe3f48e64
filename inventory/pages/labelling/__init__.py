"""Pages of labels."""
