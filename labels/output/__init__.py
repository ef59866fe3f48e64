"""Labels as bitmaps, SVG and PDF, each symbol read back."""
