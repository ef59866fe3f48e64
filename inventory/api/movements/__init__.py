"""What moves stock, over REST."""
