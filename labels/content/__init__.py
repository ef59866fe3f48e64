"""What a label says."""
